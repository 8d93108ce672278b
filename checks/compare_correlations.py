#!/usr/bin/env python3
"""Compares our natural convection relations and air properties with the `ht` and `fluids` libraries (PyPI).

The relations are formulas and must agree to rounding; air properties come from different sources and must agree within 3 %
(the reference library's approximate gas viscosity and conductivity are fits of that quality).
"""
import json
import pathlib
import subprocess
import sys

import ht
from fluids.atmosphere import ATMOSPHERE_1976

ROOT = pathlib.Path(__file__).resolve().parent.parent


def reference(row):
    """The reference library's Nusselt number; its horizontal relation takes Pr times Gr and which way the plate looks."""
    if row["relation"] == "vertical":
        return ht.Nu_vertical_plate_Churchill(row["prandtl"], row["rayleigh"] / row["prandtl"])
    buoyant = row["relation"] == "up"
    return ht.Nu_horizontal_plate_McAdams(row["prandtl"], row["rayleigh"] / row["prandtl"], buoyancy=buoyant)


def main():
    command = ["cargo", "run", "--quiet", "--locked", "-p", "lamp", "--example", "correlations"]
    printed = subprocess.run(command, capture_output=True, text=True, check=True, cwd=ROOT).stdout
    rows = [json.loads(line) for line in printed.splitlines()]
    # Beyond the range stated for a plate looking down, the two libraries extrapolate differently.
    rows = [row for row in rows if row["relation"] != "down" or row["rayleigh"] <= 1e10]
    wrong = []
    for row in rows:
        if row["relation"] == "air":
            conductivity = ATMOSPHERE_1976.thermal_conductivity(row["kelvin"])
            viscosity = ATMOSPHERE_1976.viscosity(row["kelvin"]) * 287.05 * row["kelvin"] / 101325.0
            # Pr with the heat capacity of air near room temperature, 1006 J/kg/K.
            prandtl = ATMOSPHERE_1976.viscosity(row["kelvin"]) * 1006.0 / conductivity
            pairs = [(row["k"], conductivity, 0.03), (row["nu"], viscosity, 0.03), (row["pr"], prandtl, 0.03)]
        else:
            pairs = [(row["value"], reference(row), 1e-9)]
        for ours, theirs, tolerance in pairs:
            if abs(ours / theirs - 1.0) > tolerance:
                wrong.append(f"{row}: the reference gives {theirs}")
    print(f"{len(rows)} values compared with the reference libraries, {len(wrong)} differ")
    print("\n".join(wrong))
    sys.exit(1 if wrong else 0)


main()
