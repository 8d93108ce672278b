#!/usr/bin/env python3
"""Compares our Gerber reader with gerbonara (PyPI) on every Gerber layer that the fetched packages carry.

Areas and boxes must agree within half a percent; files where the readers differ for a known reason stand in
checks/reader_differences.md with that reason, and are only reported.
"""
import json
import math
import os
import pathlib
import subprocess
import sys
import warnings

warnings.filterwarnings("ignore")
from gerbonara.rs274x import GerberFile  # noqa: E402

HERE = pathlib.Path(__file__).resolve().parent
TOLERANCE = 0.005
ENDINGS = {".gbr", ".ger", ".gtl", ".gbl", ".gts", ".gbs", ".gtp", ".gbp", ".gto", ".gbo", ".gko", ".gm1", ".mil", ".art", ".pho"}


def layers():
    """Gerber files of the packages, by content."""
    for path in sorted((HERE / "fetched").rglob("*")):
        if path.suffix.lower() in ENDINGS and path.is_file() and "python" not in path.relative_to(HERE / "fetched").parts[:1]:
            head = path.read_bytes()[:4000]
            if b"%FS" in head or b"%ADD" in head or b"%MO" in head:
                yield path


def box(path):
    """The other reader's bounding box, mm."""
    gerber = GerberFile.open(path)
    (x0, y0), (x1, y1) = gerber.bounding_box(unit="mm")
    return [x0, y0, x1, y1]


def main():
    known = (HERE / "reader_differences.md").read_text()
    paths = list(layers())
    if len(paths) < 20:
        sys.exit("too few real layers: run checks/fetch-real-boards")
    command = ["cargo", "run", "--quiet", "--locked", "-p", "artwork", "--example", "layer_areas", "--"]
    ours = subprocess.run(command + [str(p) for p in paths], capture_output=True, text=True, check=True, cwd=HERE.parent)
    rows = [json.loads(line) for line in ours.stdout.splitlines()]
    wrong = compared = unread = 0
    for path, row in zip(paths, rows, strict=True):
        name = str(path.relative_to(HERE / "fetched"))
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
        size = max(theirs[2] - theirs[0], theirs[3] - theirs[1], 1e-3)
        off = max(abs(a - b) for a, b in zip(theirs, row["bbox_mm"])) / size
        compared += 1
        if off > TOLERANCE:
            listed = os.path.basename(name) in known
            wrong += not listed
            print(f"{'known' if listed else 'DIFFERS'}: {name}: box off by {100 * off:.2f} %: {row['bbox_mm']} and {[round(v, 4) for v in theirs]}")
    print(f"{compared} layers compared with the other reader, {unread} not comparable, {wrong} differ without a known reason")
    sys.exit(1 if wrong else 0)


main()
