"""The Gerber layers that the fetched packages carry, and what this project reads from them."""
import json
import pathlib
import subprocess
import sys

HERE = pathlib.Path(__file__).resolve().parent
FETCHED = HERE / "fetched"
TOLERANCE = 0.005
"""Of an area and of a box's longer side: readers make polygons of circles and round differently."""
ENDINGS = {".gbr", ".ger", ".gtl", ".gbl", ".gts", ".gbs", ".gtp", ".gbp", ".gto", ".gbo", ".gko", ".gm1", ".mil", ".art", ".pho"}
LIBRARIES = {"python", "node"}


def layers():
    """Gerber files of the packages, by content."""
    found = []
    for path in sorted(FETCHED.rglob("*")):
        if path.suffix.lower() in ENDINGS and path.is_file() and path.relative_to(FETCHED).parts[0] not in LIBRARIES:
            head = path.read_bytes()[:4000]
            if b"%FS" in head or b"%ADD" in head or b"%MO" in head:
                found.append(path)
    if len(found) < 20:
        sys.exit("too few real layers: run checks/fetch-real-boards")
    return found


def name(path):
    """How reports call a layer."""
    return str(path.relative_to(FETCHED))


def ours(paths):
    """This project's area_mm2 and bbox_mm of each."""
    command = ["cargo", "run", "--quiet", "--locked", "-p", "artwork", "--example", "layer_areas", "--"]
    answer = subprocess.run(command + [str(p) for p in paths], capture_output=True, text=True, check=True, cwd=HERE.parent)
    rows = [json.loads(line) for line in answer.stdout.splitlines()]
    if len(rows) != len(paths):
        sys.exit(f"{len(paths)} layers named, {len(rows)} read")
    return rows


def box_off(ours_mm, theirs_mm):
    """The largest difference of two boxes' sides, as a share of the longer side."""
    size = max(theirs_mm[2] - theirs_mm[0], theirs_mm[3] - theirs_mm[1], 1e-3)
    return max(abs(a - b) for a, b in zip(theirs_mm, ours_mm)) / size
