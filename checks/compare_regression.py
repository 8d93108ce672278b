#!/usr/bin/env python3
"""Compares our least squares with priors with `scipy.optimize.least_squares` (PyPI) on published regression problems (NIST StRD, the
models written anew here): unknowns to a hundred-thousandth of their deviation, covariance `(J^T J)^-1` to 1e-4 (its Jacobian is by
differences), sums of squares to 1e-8, chance of a larger one to 1e-9.
"""
import json
import pathlib
import subprocess
import sys

import numpy
from numpy import exp
from scipy.optimize import least_squares
from scipy.stats import chi2

ROOT = pathlib.Path(__file__).resolve().parent.parent
FOLDER = ROOT / "checks/fetched/lmfit-1.3.4/NIST_STRD"


def cubic_ratio(b, x):
    return (b[0] + b[1] * x + b[2] * x**2 + b[3] * x**3) / (1 + b[4] * x + b[5] * x**2 + b[6] * x**3)


def gauss(b, x):
    return b[0] * exp(-b[1] * x) + b[2] * exp(-((x - b[3]) / b[4]) ** 2) + b[5] * exp(-((x - b[6]) / b[7]) ** 2)


MODELS = {
    "Misra1a": lambda b, x: b[0] * (1 - exp(-b[1] * x)),
    "Chwirut2": lambda b, x: exp(-b[0] * x) / (b[1] + b[2] * x),
    "Rat42": lambda b, x: b[0] / (1 + exp(b[1] - b[2] * x)),
    "Rat43": lambda b, x: b[0] / (1 + exp(b[1] - b[2] * x)) ** (1 / b[3]),
    "Eckerle4": lambda b, x: b[0] / b[1] * exp(-0.5 * ((x - b[2]) / b[1]) ** 2),
    "MGH17": lambda b, x: b[0] + b[1] * exp(-x * b[3]) + b[2] * exp(-x * b[4]),
    "Thurber": cubic_ratio,
    "Gauss1": gauss,
}


def table(name):
    lines = (FOLDER / f"{name}.dat").read_text().splitlines()
    begin = max(i for i, line in enumerate(lines) if line.startswith("Data:"))
    rows = [[float(word) for word in line.split()] for line in lines[begin + 1 :] if line.strip()]
    return numpy.array(rows).T


def main():
    command = ["cargo", "run", "--quiet", "--locked", "-p", "bench", "--example", "regression"]
    printed = subprocess.run(command, capture_output=True, text=True, check=True, cwd=ROOT).stdout
    wrong, compared = [], 0
    for row in map(json.loads, printed.splitlines()):
        name, model = row["name"], MODELS[row["name"]]
        y, x = table(name)
        means, deviations = numpy.array(row["means"]), numpy.array(row["deviations"])
        known = len(means)

        def residuals(b):
            return numpy.concatenate([(model(b, x) - y) / row["deviation"], (b[:known] - means) / deviations])

        found = least_squares(residuals, row["start"], jac="3-point", method="trf", x_scale="jac", xtol=1e-15, ftol=1e-15, gtol=1e-15, max_nfev=5000)
        covariance = numpy.linalg.pinv(found.jac) @ numpy.linalg.pinv(found.jac).T
        size = numpy.sqrt(numpy.diag(covariance))
        ours = numpy.array(row["covariance"]).reshape(len(size), len(size))
        at = residuals(found.x)
        pairs = [(a / s, b / s, 1e-5) for a, b, s in zip(row["x"], found.x, size)]
        pairs += list(zip((ours / numpy.outer(size, size)).ravel(), (covariance / numpy.outer(size, size)).ravel(), [1e-4] * size.size**2))
        squares = [float((at[: len(y)] ** 2).sum()), float((at[len(y) :] ** 2).sum())]
        pairs += [(row["readings"] + row["priors"], sum(squares), 1e-8 * sum(squares)), (row["priors"], squares[1], 1e-4)]
        pairs += [(row["freedom"], len(at) - len(size), 0.0), (row["p_value"], chi2.sf(row["readings"] + row["priors"], row["freedom"]), 1e-9)]
        compared += len(pairs)
        wrong += [f"{name}, value {place}: {a}, the library gives {b}" for place, (a, b, within) in enumerate(pairs) if not abs(a - b) <= within]
    print(f"{compared} values of least squares compared with a general-purpose library, {len(wrong)} differ")
    print("\n".join(wrong[:20]))
    sys.exit(1 if wrong or compared < 200 else 0)


main()
