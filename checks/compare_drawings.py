#!/usr/bin/env python3
"""Compares our Gerber reader with gerber-to-svg (npm) on every Gerber layer that the fetched packages carry.

The library draws each layer as SVG; the drawing's dark area and its box are worked out with Shapely (checks/svg_area.py) and must
agree with ours within half a percent.
"""
import json
import pathlib
import shutil
import subprocess
import sys

import real_layers
from svg_area import Drawing

MODULES = real_layers.FETCHED / "node" / "node_modules"


def drawings(paths):
    """The library's drawing of each layer: a dictionary with `svg` or `error`."""
    node = shutil.which("node")
    if node is None:
        sys.exit("node is missing, so there is no other drawing to compare with: run checks/set-up, which installs it")
    if not (MODULES / "gerber-to-svg").is_dir():
        sys.exit("gerber-to-svg is missing: run checks/set-up, which installs it by name from npm")
    command = [node, str(pathlib.Path(__file__).parent / "draw_layers.js"), str(MODULES)]
    answer = subprocess.run(command + [str(p) for p in paths], capture_output=True, text=True, check=True)
    return [json.loads(line) for line in answer.stdout.splitlines()]


def main():
    sys.setrecursionlimit(20_000)
    paths = real_layers.layers()
    wrong = compared = unread = nothing = 0
    worst = 0.0
    for path, row, drawn in zip(paths, real_layers.ours(paths), drawings(paths), strict=True):
        name = real_layers.name(path)
        if "error" in drawn:
            unread += 1
            print(f"not read by the other: {name}: {drawn['error']}")
            continue
        dark = Drawing(drawn["svg"]).dark_mm()
        if row["bbox_mm"] is None and dark.is_empty:
            nothing += 1
            continue
        compared += 1
        if row["bbox_mm"] is None or dark.is_empty:
            wrong += 1
            print(f"DIFFERS: {name}: only one draws anything: {row['area_mm2']:.6} and {dark.area:.6} mm2")
            continue
        area_off = row["area_mm2"] / dark.area - 1
        box_off = real_layers.box_off(row["bbox_mm"], dark.bounds)
        off = max(abs(area_off), box_off)
        worst = max(worst, off)
        if off > real_layers.TOLERANCE:
            wrong += 1
            print(
                f"DIFFERS: {name}: area off by {100 * area_off:.2f} %: {row['area_mm2']:.6} and {dark.area:.6} mm2, "
                f"box off by {100 * box_off:.2f} %: {row['bbox_mm']} and {[round(v, 4) for v in dark.bounds]}"
            )
    print(
        f"{compared} layers compared with the other drawing, {unread} not read by it, {nothing} empty in both, "
        f"{wrong} differ; the farthest is off by {100 * worst:.3f} %"
    )
    sys.exit(1 if wrong or compared < 20 else 0)


main()
