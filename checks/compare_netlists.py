#!/usr/bin/env python3
"""Compares our reader of bare-board test netlists (IPC-D-356) with gerbonara (PyPI).

That library writes a file of many points in millimetres and one in inches; we must read every field back, to half a
count of the file.
"""
import json
import math
import pathlib
import random
import subprocess
import sys
import tempfile
import warnings

warnings.filterwarnings("ignore")
from gerbonara.cam import FileSettings  # noqa: E402
from gerbonara.ipc356 import Netlist, PadType, SoldermaskInfo, TestRecord  # noqa: E402
from gerbonara.utils import MM, Inch  # noqa: E402

HERE = pathlib.Path(__file__).resolve().parent
POINTS = 200


def points(dice):
    """Points as dictionaries in our words, millimetres and degrees."""
    for index in range(POINTS):
        hole, via = dice.random() < 0.5, dice.random() < 0.2
        name = dice.choice(["GND", f"N{index}", "A_LONG_NAME_OF_A_NET_%d" % (index % 7), ""])
        yield {
            "net": name,
            "ref": "VIA" if via and hole else f"D{index}",
            "pin": "" if via and hole else str(dice.randrange(1, 999)),
            "middle": dice.random() < 0.3,
            "hole_mm": dice.randrange(200, 3000) / 1000 if hole else None,
            "plated": dice.random() < 0.8 if hole else None,
            "access": 0 if hole else dice.choice([1, 2]),
            "x_mm": dice.randrange(-99_000, 99_000) / 1000,
            "y_mm": dice.randrange(-99_000, 99_000) / 1000,
            "width_mm": dice.randrange(100, 9_000) / 1000,
            "height_mm": dice.randrange(100, 9_000) / 1000,
            "rotation_deg": dice.randrange(0, 360),
            "mask": dice.randrange(0, 4),
        }


def record(point):
    """The same as that library's record."""
    via = point["ref"] == "VIA"
    made = TestRecord(
        PadType.THROUGH_HOLE if point["hole_mm"] else PadType.SMD_PAD,
        point["net"] or None, bool(point["net"]), None if via else point["ref"], via,
        None if via else int(point["pin"]), point["middle"], point["hole_mm"], point["plated"], point["access"],
        point["x_mm"], point["y_mm"], point["width_mm"], point["height_mm"], math.radians(point["rotation_deg"]),
        SoldermaskInfo(point["mask"]), None, MM)
    made.leftover = ""  # that library's writer asks for a name that its record does not have
    return made


def main():
    dice = random.Random(356)
    compared = wrong = 0
    for unit, half_count_mm in [(MM, 0.0005), (Inch, 0.00127)]:
        written = list(points(dice))
        netlist = Netlist(test_records=[record(point) for point in written])
        with tempfile.TemporaryDirectory() as folder:
            path = pathlib.Path(folder) / "written.ipc"
            path.write_bytes(netlist.write_to_bytes(settings=FileSettings(unit=unit), job_name="check"))
            command = ["cargo", "run", "--quiet", "--locked", "-p", "artwork", "--example", "test_points", "--", str(path)]
            ours = subprocess.run(command, capture_output=True, text=True, check=True, cwd=HERE.parent)
        read = [json.loads(line) for line in ours.stdout.splitlines()]
        if len(read) != len(written):
            sys.exit(f"{len(written)} points written, {len(read)} read")
        for a, b in zip(written, read, strict=True):
            for key, value in a.items():
                near = isinstance(value, float) and key.endswith("_mm") and isinstance(b[key], float | int)
                same = abs(value - b[key]) <= half_count_mm + 1e-6 if near else value == b[key]
                compared += 1
                if not same:
                    wrong += 1
                    print(f"DIFFERS: {unit}: {key}: written {value!r}, read {b[key]!r} in {b}")
    print(f"{compared} fields of test points compared with the other library's, {wrong} differ")
    sys.exit(1 if wrong else 0)


main()
