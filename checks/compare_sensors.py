#!/usr/bin/env python3
"""Compares our thermocouple reference functions with those of the `thermocouples_reference` library (PyPI), which carries the
coefficients of NIST Monograph 175 (ITS-90), at every degree of their whole ranges, and back with a cold junction at 21.5 degC.

The same formula must agree to rounding: 1e-9 mV of up to 76 mV. Way back: 1e-6 K above -250 degC; below it the functions are so
flat (2 uV/K and less) that rounding alone is 1e-4 K.
"""
import json
import pathlib
import subprocess
import sys

import numpy
from thermocouples_reference import thermocouples

ROOT = pathlib.Path(__file__).resolve().parent.parent
COLD_C = 21.5


def reference_mv(couple, celsius):
    """The library's table of pieces, evaluated here: its own evaluation needs an older numpy."""
    for low, high, descending, hump in couple.func.table:
        if low <= celsius <= high:
            extra = hump[0] * numpy.exp(hump[1] * (celsius - hump[2]) ** 2) if hump else 0.0
            return float(numpy.polyval(descending, celsius) + extra)
    return float("nan")


def main():
    command = ["cargo", "run", "--quiet", "--locked", "-p", "bench", "--example", "sensor_laws"]
    printed = subprocess.run(command, capture_output=True, text=True, check=True, cwd=ROOT).stdout
    rows = [json.loads(line) for line in printed.splitlines()]
    wrong = []
    for row in rows:
        couple = thermocouples[row["type"]]
        theirs = reference_mv(couple, row["celsius"])
        if not abs(theirs - row["mv"]) <= 1e-9:
            wrong.append(f"{row}: the library gives {theirs} mV")
        back_limit = 1e-6 if row["celsius"] > -250.0 else 1e-3
        if abs(row["back"] - row["celsius"]) > back_limit:
            wrong.append(f"{row}: does not come back")
    kinds = sorted({row["type"] for row in rows})
    print(f"{len(rows)} values of thermocouples {', '.join(kinds)} compared with ITS-90 as a library has it, {len(wrong)} differ")
    print("\n".join(wrong[:20]))
    # 1643 + 671 + 1411 + 1571 degrees: K, T, J, N at every degree of their ranges.
    sys.exit(1 if wrong or len(rows) != 5296 else 0)


main()
