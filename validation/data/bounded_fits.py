"""Least squares where a bound is met or a prior counts: writes bounded_fits.csv.

    python3 bounded_fits.py > bounded_fits.csv      (needs numpy and scipy)

Observations are those of strd_points.csv. scipy.optimize.least_squares (trust region reflective, Branch, Coleman and Li 1999) finds the values;
standard errors and correlations are those of the inverse of J^T J over the values that no bound holds. Where the deviations of the readings
are not known (spread 0) they are taken times the deviation of the residuals.
"""

import csv
import os
import sys

import numpy as np
import scipy
from scipy.optimize import least_squares

HERE = os.path.dirname(os.path.abspath(__file__))
INFINITE = np.inf


def points(case):
    with open(os.path.join(HERE, "strd_points.csv")) as file:
        rows = [row for row in csv.DictReader(line for line in file if not line.startswith("#")) if row["case"] == case]
    return np.array([float(row["x"]) for row in rows]), np.array([float(row["y"]) for row in rows])


def chwirut(x, b):
    return np.exp(-b[0] * x) / (b[1] + b[2] * x)


def rat(x, b):
    return b[0] / (1.0 + np.exp(b[1] - b[2] * x)) ** (1.0 / b[3])


def misra(x, b):
    return b[0] * (1.0 - np.exp(-b[1] * x))


# Problem, model, start, least, most, prior (value, spread) of each value, deviation of the readings.
CASES = [
    ("Chwirut2", chwirut, [0.1, 0.01, 0.02], [0.0, 0.0, 0.0], [0.15, 1.0, 1.0], [None] * 3, 0.0),
    ("Rat43", rat, [600.0, 5.0, 0.8, 1.0], [0.0, 0.0, 0.0, 0.5], [690.0, 20.0, 5.0, 1.1], [None] * 4, 0.0),
    ("Misra1a", misra, [250.0, 5e-4], [0.0, 0.0], [INFINITE] * 2, [(230.0, 2.0), None], 0.1),
]


def main():
    print("# Bounded least squares with priors on observations of strd_points.csv by scipy.optimize.least_squares %s." % scipy.__version__)
    print("# Written by bounded_fits.py. An error of nothing: the value stands on its bound. The last column is the correlation with the")
    print("# first value that no bound holds.")
    print("case,parameter,start,least,most,prior,prior_spread,spread,value,error,correlation")
    for name, model, start, least, most, priors, spread in CASES:
        x, y = points(name)
        start = np.array(start, dtype=float)
        scale = np.abs(start)

        def residuals(u):
            b = u * scale
            rows = (model(x, b) - y) / (spread or 1.0)
            return np.concatenate([rows, [(b[k] - p[0]) / p[1] for k, p in enumerate(priors) if p]])

        bounds = (np.array(least) / scale, np.array(most) / scale)
        found = least_squares(residuals, start / scale, jac="3-point", bounds=bounds, xtol=1e-15, ftol=1e-15, gtol=1e-15, max_nfev=10000)
        b = found.x * scale
        free = [k for k in range(len(b)) if abs(b[k] - least[k]) > 1e-6 * scale[k] and abs(b[k] - most[k]) > 1e-6 * scale[k]]
        # The values with those on a bound exactly there: the interior method stops a hair before it.
        fixed = np.array([b[k] if k in free else (most[k] if abs(b[k] - most[k]) < abs(b[k] - least[k]) else least[k]) for k in range(len(b))])

        def of_free(v):
            u = fixed / scale
            u[free] = v
            return residuals(u)

        again = least_squares(of_free, b[free] / scale[free], jac="3-point", method="lm", xtol=1e-15, ftol=1e-15, gtol=1e-15, max_nfev=10000)
        fixed[free] = again.x * scale[free]
        covariance = np.linalg.inv(again.jac.T @ again.jac)
        if not spread:
            covariance *= 2.0 * again.cost / (len(again.fun) - len(free))
        errors = np.sqrt(np.diag(covariance))
        for k in range(len(b)):
            prior = priors[k] or ("", "")
            told = [name, f"b{k + 1}", start[k], least[k], most[k], *prior, spread, f"{fixed[k]:.10e}"]
            if k in free:
                place = free.index(k)
                told += [f"{errors[place] * scale[k]:.8e}", f"{covariance[0, place] / (errors[0] * errors[place]):.8f}"]
            else:
                told += ["", ""]
            print(",".join(str(value) for value in told))
        sys.stderr.write(f"{name}: {found.message} {again.message} {b} {fixed}\n")


main()
