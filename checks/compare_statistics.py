#!/usr/bin/env python3
"""Compares our autocorrelation and our mean of samples that hang together with the `statsmodels` library (PyPI): `acf` (its usual
biased estimate), and generalised least squares with the dense covariance. The same formulas must agree to rounding: 1e-10.
"""
import json
import pathlib
import subprocess
import sys

import numpy
from statsmodels.regression.linear_model import GLS
from statsmodels.tsa.stattools import acf

ROOT = pathlib.Path(__file__).resolve().parent.parent


def main():
    command = ["cargo", "run", "--quiet", "--locked", "-p", "bench", "--example", "statistics"]
    printed = subprocess.run(command, capture_output=True, text=True, check=True, cwd=ROOT).stdout
    rows = [json.loads(line) for line in printed.splitlines()]
    wrong, compared = [], 0
    for number, row in enumerate(rows):
        series, time_s = numpy.array(row["series"]), numpy.array(row["time_s"])
        apart = numpy.abs(time_s[:, None] - time_s[None, :])
        covariance = row["share"] * numpy.exp(-apart / row["memory_s"]) + (1.0 - row["share"]) * numpy.eye(len(series))
        fitted = GLS(series, numpy.ones(len(series)), sigma=covariance).fit()
        pairs = list(zip(row["autocorrelation"], acf(series, nlags=20, fft=False)))
        pairs.append((row["mean"], fitted.params[0]))
        pairs.append((row["variance_of_mean"], fitted.normalized_cov_params[0, 0]))
        compared += len(pairs)
        for place, (ours, theirs) in enumerate(pairs):
            if not abs(ours - theirs) <= 1e-10 * max(1.0, abs(theirs)):
                wrong.append(f"series {number}, value {place}: {ours}, the library gives {theirs}")
    print(f"{compared} statistics compared with a statistics library, {len(wrong)} differ")
    print("\n".join(wrong[:20]))
    sys.exit(1 if wrong or compared != 69 else 0)


main()
