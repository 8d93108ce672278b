#!/usr/bin/env python3
"""Compares our Gerber reader with gerbonara (PyPI) on every Gerber layer that the fetched packages carry.

Boxes must agree within half a percent; files where the readers differ for a known reason stand in
checks/reader_differences.md with that reason, and are only reported.
"""
import math
import os
import sys
import warnings

import real_layers

warnings.filterwarnings("ignore")
from gerbonara.rs274x import GerberFile  # noqa: E402


def box(path):
    """The other reader's bounding box, mm."""
    gerber = GerberFile.open(path)
    (x0, y0), (x1, y1) = gerber.bounding_box(unit="mm")
    return [x0, y0, x1, y1]


def main():
    known = (real_layers.HERE / "reader_differences.md").read_text()
    paths = real_layers.layers()
    wrong = compared = unread = 0
    for path, row in zip(paths, real_layers.ours(paths), strict=True):
        name = real_layers.name(path)
        try:
            theirs = box(path)
        except Exception as error:  # noqa: BLE001 - whatever the other reader raises on a real file
            unread += 1
            print(f"not read by the other: {name}: {type(error).__name__}")
            continue
        if row["bbox_mm"] is None or not all(math.isfinite(v) for v in theirs):
            unread += 1
            print(f"nothing drawn: {name}")
            continue
        off = real_layers.box_off(row["bbox_mm"], theirs)
        compared += 1
        if off > real_layers.TOLERANCE:
            listed = os.path.basename(name) in known
            wrong += not listed
            print(f"{'known' if listed else 'DIFFERS'}: {name}: box off by {100 * off:.2f} %: {row['bbox_mm']} and {[round(v, 4) for v in theirs]}")
    print(f"{compared} layers compared with the other reader, {unread} not comparable, {wrong} differ without a known reason")
    sys.exit(1 if wrong else 0)


main()
