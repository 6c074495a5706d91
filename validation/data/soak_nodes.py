"""A hot part, a part bolted to it and a shield that warm up and soak in a bay of given temperature: writes soak_nodes.csv.

    python3 soak_nodes.py > soak_nodes.csv      (needs numpy and scipy)

Three lumped bodies, by equations written here from the literature, integrated by scipy's Radau (implicit Runge-Kutta of order 5) to a
relative tolerance of 1e-10. Films: natural convection on an upright plate as long as the root of its area, Churchill and Chu 1975, Int. J.
Heat Mass Transfer 18, 1323, with properties at the mean temperature. Radiation: grey, diffuse faces in an enclosure, radiosities solved
anew at each instant (Incropera et al., 7th ed. 2011, section 13.3); what closes it is ten times as large as all faces, of emissivity 0.9, at
the temperature of the bay. For twenty minutes hot gas heats the first body, then it cools. Sizes are invented.
"""

import numpy as np
from scipy.integrate import solve_ivp

SIGMA = 5.670374419e-8
GRAVITY = 9.80665
GAMMA, GAS_CONSTANT, VISCOSITY, PRANDTL = 1.4, 287.05, 2e-5, 0.71
PRESSURE, BAY = 1e5, 330.0
CP = GAMMA / (GAMMA - 1.0) * GAS_CONSTANT
CONDUCTIVITY = VISCOSITY * CP / PRANDTL

# Turbine (cast iron), housing (aluminium) and shield (aluminium sheet of 0.8 mm): area [m2], heat capacity [J/K], emissivity.
TURBINE = (0.08, 8.0 * 490.0, 0.7)
HOUSING = (0.02, 2.0 * 875.0, 0.15)
SHIELD = (0.035, 0.035 * 0.8e-3 * 2770.0 * 875.0, 0.15)
GAS, GAS_CONDUCTANCE, HEATED_FOR = 1100.0, 6.0, 1200.0
CONTACT = 0.5
SEES_SHIELD = 0.2
START = 300.0
TIMES = np.arange(0.0, 2401.0, 120.0)


def film(surface, area):
    mean, length = 0.5 * (surface + BAY), area**0.5
    kinematic = VISCOSITY * GAS_CONSTANT * mean / PRESSURE
    rayleigh = GRAVITY * abs(surface - BAY) / mean * length**3 * PRANDTL / kinematic**2
    resistance = (1.0 + (0.492 / PRANDTL) ** (9.0 / 16.0)) ** (8.0 / 27.0)
    return (0.825 + 0.387 * rayleigh ** (1.0 / 6.0) / resistance) ** 2 * CONDUCTIVITY / length


# Faces: turbine, housing, front and back of the shield, and what closes the enclosure.
AREAS = np.array([TURBINE[0], HOUSING[0], SHIELD[0], SHIELD[0], 0.0])
AREAS[4] = 10.0 * AREAS.sum()
EMISSIVITIES = np.array([TURBINE[2], HOUSING[2], SHIELD[2], SHIELD[2], 0.9])


def views():
    factors = np.zeros((5, 5))
    factors[0, 2] = SEES_SHIELD
    factors[2, 0] = SEES_SHIELD * AREAS[0] / AREAS[2]
    for face in range(4):
        factors[face, 4] = 1.0 - factors[face].sum()
        factors[4, face] = factors[face, 4] * AREAS[face] / AREAS[4]
    factors[4, 4] = 1.0 - factors[4, :4].sum()
    return factors


FACTORS = views()


def radiated(temperatures):
    """Net heat that each face loses [W]."""
    emitted = SIGMA * temperatures**4
    matrix = np.eye(5) - (1.0 - EMISSIVITIES)[:, None] * FACTORS
    radiosity = np.linalg.solve(matrix, EMISSIVITIES * emitted)
    return AREAS * (radiosity - FACTORS @ radiosity)


def rates(time, state, conductance):
    turbine, housing, shield = state
    lost = radiated(np.array([turbine, housing, shield, shield, BAY]))
    contact = CONTACT * (turbine - housing)
    heat = np.array(
        [
            conductance * (GAS - turbine) - contact - film(turbine, TURBINE[0]) * TURBINE[0] * (turbine - BAY) - lost[0],
            contact - film(housing, HOUSING[0]) * HOUSING[0] * (housing - BAY) - lost[1],
            -2.0 * film(shield, SHIELD[0]) * SHIELD[0] * (shield - BAY) - lost[2] - lost[3],
        ]
    )
    return heat / np.array([TURBINE[1], HOUSING[1], SHIELD[1]])


def main():
    heated = TIMES[TIMES <= HEATED_FOR]
    cooled = TIMES[TIMES >= HEATED_FOR]
    options = {"method": "Radau", "rtol": 1e-10, "atol": 1e-9}
    first = solve_ivp(rates, (0.0, HEATED_FOR), [START] * 3, t_eval=heated, args=(GAS_CONDUCTANCE,), **options)
    second = solve_ivp(rates, (HEATED_FOR, TIMES[-1]), first.y[:, -1], t_eval=cooled, args=(0.0,), **options)
    print("# Hot part, part bolted to it and shield in a bay of 330 K, heated for 1200 s and left to cool. Written by soak_nodes.py")
    print("# (scipy Radau, rtol 1e-10). Material values are those of the program's table when it was written.")
    print("time_s,turbine_K,housing_K,shield_K")
    for time, state in [*zip(heated, first.y.T), *zip(cooled[1:], second.y.T[1:])]:
        print(f"{time:.0f}," + ",".join(f"{value:.8f}" for value in state))


main()
