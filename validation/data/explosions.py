"""Cylindrical and spherical explosions in a still gas: writes explosions.csv.

    python3 explosions.py > explosions.csv      (needs numpy; some minutes)

Toro (2009), Riemann Solvers and Numerical Methods for Fluid Dynamics, 3rd ed., section 17.1: a sphere (or cylinder) of radius 0.4 holds
gas of density 1 and pressure 1, outside it density 0.125 and pressure 0.1; gamma 1.4, all at rest; read at time 0.25. No exact solution
exists. Along a radius the Euler equations have a geometric source, -(alpha / r) (rho u, rho u^2, u (E + p)), with alpha 1 or 2.

Method: finite differences of fifth order (WENO, Jiang and Shu 1996, J. Comput. Phys. 126, 202) of globally split Lax-Friedrichs
fluxes of point values, and the third-order Runge-Kutta method of Shu and Osher. It shares nothing with a finite-volume scheme that
carries areas and wall pressures. The axis is a mirror.
"""

import sys

import numpy as np

GAMMA = 1.4
RADIUS = 0.4
END = 0.25
CELLS = 50
COURANT = 0.5


def primitives(q):
    density, momentum, energy = q
    velocity = momentum / density
    return density, velocity, (GAMMA - 1.0) * (energy - 0.5 * momentum * velocity)


def weno(f):
    """Values at the faces right of the points, biased to the left; f has three ghosts at both ends."""
    a, b, c, d, e = (f[:, k : f.shape[1] - 4 + k] for k in range(5))
    smooth = (
        13.0 / 12.0 * (a - 2.0 * b + c) ** 2 + 0.25 * (a - 4.0 * b + 3.0 * c) ** 2,
        13.0 / 12.0 * (b - 2.0 * c + d) ** 2 + 0.25 * (b - d) ** 2,
        13.0 / 12.0 * (c - 2.0 * d + e) ** 2 + 0.25 * (3.0 * c - 4.0 * d + e) ** 2,
    )
    weights = [share / (1e-6 + s) ** 2 for share, s in zip((0.1, 0.6, 0.3), smooth)]
    values = ((2 * a - 7 * b + 11 * c) / 6, (-b + 5 * c + 2 * d) / 6, (2 * c + 5 * d - e) / 6)
    return sum(w * v for w, v in zip(weights, values)) / sum(weights)


def rates(q, r, width, alpha):
    mirror = np.array([[1.0], [-1.0], [1.0]])
    # The far end is out of reach of all waves: it stays as it is.
    q = np.concatenate([mirror * q[:, 2::-1], q, np.repeat(q[:, -1:], 3, axis=1)], axis=1)
    density, velocity, pressure = primitives(q)
    flux = np.stack([q[1], q[1] * velocity + pressure, velocity * (q[2] + pressure)])
    speed = np.max(np.abs(velocity) + np.sqrt(GAMMA * pressure / density))
    right = weno((0.5 * (flux + speed * q))[:, :-1])
    left = weno((0.5 * (flux - speed * q))[:, :0:-1])[:, ::-1]
    face = right + left
    inner = slice(3, -3)
    source = np.stack([q[1], q[1] * velocity, velocity * (q[2] + pressure)])[:, inner] * (alpha / r)
    return -(face[:, 1:] - face[:, :-1]) / width - source, speed


def explosion(alpha, points):
    width = 1.0 / points
    r = (np.arange(points) + 0.5) * width
    inside = r < RADIUS
    pressure = np.where(inside, 1.0, 0.1)
    q = np.stack([np.where(inside, 1.0, 0.125), np.zeros(points), pressure / (GAMMA - 1.0)])
    time = 0.0
    while time < END:
        rate, speed = rates(q, r, width, alpha)
        step = min(COURANT * width / speed, END - time)
        one = q + step * rate
        two = 0.75 * q + 0.25 * (one + step * rates(one, r, width, alpha)[0])
        q = q / 3.0 + 2.0 / 3.0 * (two + step * rates(two, r, width, alpha)[0])
        time += step
    # Means over shells, weighted with their volume.
    weight = r**alpha
    shells = lambda value: (value * weight).reshape(CELLS, -1).sum(axis=1) / weight.reshape(CELLS, -1).sum(axis=1)
    return [shells(value) for value in primitives(q)]


def main():
    points = int(sys.argv[1]) if len(sys.argv) > 1 else 3200
    print("# Explosion of a cylinder or sphere of radius 0.4 (density 1, pressure 1) in gas of density 0.125 and pressure 0.1, gamma 1.4, at")
    print("# time 0.25: means over 50 shells from r_low to r_high, weighted with volume. Problem: Toro (2009), Riemann Solvers and")
    print("# Numerical Methods for Fluid Dynamics, 3rd ed., section 17.1. Computed by explosions.py beside this file: finite differences of")
    print(f"# fifth order on {points} points, of the equations with a geometric source.")
    rows = []
    for case, alpha in (("cylinder", 1), ("sphere", 2)):
        fine, coarse = explosion(alpha, points), explosion(alpha, points // 2)
        apart = np.mean(np.abs(fine[0] - coarse[0]))
        print(f"# {case}: half as many points change density by {apart:.1e} in the mean.")
        rows += [(case, k / CELLS, (k + 1) / CELLS, *(value[k] for value in fine)) for k in range(CELLS)]
    print("# UNITS: dimensionless (any consistent set)")
    print("case,r_low,r_high,rho,u,p")
    for case, low, high, density, velocity, pressure in rows:
        print(f"{case},{low:.2f},{high:.2f},{density:.8f},{velocity:.8f},{pressure:.8f}")


if __name__ == "__main__":
    main()
