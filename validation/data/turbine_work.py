"""Ideal work of the burnt gas of a rich petrol mixture in a turbine: writes turbine_work.csv.

    python3 turbine_work.py > turbine_work.csv      (needs numpy and cantera)

Burnt gas of CH1.85 at an equivalence ratio of 1/0.85: Heywood, Internal Combustion Engine Fundamentals (1988), section 4.9.2, with 3.5 for the
constant of the water-gas reaction, so that no oxygen is left; its composition then stays as it is. Enthalpy and entropy over temperature from
the data of GRI-Mech 3.0 by Cantera; the expansion keeps the entropy. gamma_mean is that at the mean temperature of the expansion.
"""

import cantera
import numpy

HYDROGEN, RICHNESS, WATER_GAS, NITROGEN = 1.85, 1.0 / 0.85, 3.5, 3.773
STATES = [(1053.15, 140e3, 105e3), (1173.15, 300e3, 120e3), (1223.15, 205e3, 120e3), (1223.15, 222e3, 130e3), (1223.15, 350e3, 115e3)]


def burnt():
    carbon = 4.0 / (4.0 + HYDROGEN)
    square = WATER_GAS - 1.0
    linear = WATER_GAS * (2.0 * (RICHNESS - 1.0) + carbon * RICHNESS) + 2.0 * (1.0 - carbon * RICHNESS)
    constant = 2.0 * WATER_GAS * carbon * RICHNESS * (RICHNESS - 1.0)
    monoxide = (linear - numpy.sqrt(linear**2 - 4.0 * square * constant)) / (2.0 * square)
    return {
        "CO2": carbon * RICHNESS - monoxide,
        "H2O": 2.0 * (1.0 - carbon * RICHNESS) + monoxide,
        "CO": monoxide,
        "H2": 2.0 * (RICHNESS - 1.0) - monoxide,
        "N2": NITROGEN,
    }


gas = cantera.Solution("gri30.yaml")
print("# Ideal work of burnt gas of constant composition from p03, T03 to p4: CH1.85, equivalence ratio 1/0.85, by Heywood (1988), section 4.9.2;")
print("# enthalpy and entropy from GRI-Mech 3.0 by Cantera 3.2. Written by turbine_work.py. SI units.")
print("case,T03_K,p03_Pa,p4_Pa,R_J_kg_K,gamma_mean,w_is_J_kg")
for number, (temperature, before, behind) in enumerate(STATES, 1):
    gas.TPX = temperature, before, burnt()
    enthalpy, constant = gas.enthalpy_mass, cantera.gas_constant / gas.mean_molecular_weight
    gas.SP = gas.entropy_mass, behind
    work, end = enthalpy - gas.enthalpy_mass, gas.T
    gas.TP = 0.5 * (temperature + end), behind
    print(f"{number},{temperature},{before},{behind},{constant:.9g},{gas.cp_mass / gas.cv_mass:.9g},{work:.9g}")
