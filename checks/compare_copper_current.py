#!/usr/bin/env python3
"""Compares the current in real copper islands with scikit-fem (PyPI): quadratic triangles on the same polygon.

The polygon is cut by a square lattice and its pieces are triangulated with Shapely, so that the mesh follows the copper's
edge exactly; it is then refined. Current enters evenly over one square of the lattice and leaves over another, far away.
Finite elements with given currents find the resistance from below, with more the finer the mesh.
"""
import json
import logging
import math
import subprocess
import sys
import tempfile

import numpy
import shapely
import skfem
from skfem.helpers import dot, grad

import real_layers

logging.getLogger("skfem").setLevel(logging.ERROR)
LAYER = real_layers.FETCHED / "tracespace-fixtures-4.2.7/package/boards/core/core.GTL"
LATTICE_NM = 500_000
PITCHES_MM = [0.1, 0.05, 0.025]
ISLANDS = 4
"""The largest of the layer."""
TOLERANCE = 0.01
"""Both change by less than this when refined once more; the sum of the two changes is printed."""


def run(*arguments):
    command = ["cargo", "run", "--quiet", "--locked", "-p", "lamp", "--example", "copper_island", "--", *map(str, arguments)]
    return json.loads(subprocess.run(command, capture_output=True, text=True, check=True, cwd=real_layers.HERE.parent).stdout)


def squares_inside(polygon):
    """Lattice squares wholly in copper."""
    x0, y0, x1, y1 = polygon.bounds
    boxes = [
        shapely.box(i * LATTICE_NM, j * LATTICE_NM, (i + 1) * LATTICE_NM, (j + 1) * LATTICE_NM)
        for i in range(math.floor(x0 / LATTICE_NM), math.ceil(x1 / LATTICE_NM))
        for j in range(math.floor(y0 / LATTICE_NM), math.ceil(y1 / LATTICE_NM))
    ]
    shapely.prepare(polygon)
    return boxes, [box for box in boxes if polygon.covers(box)]


def mesh_of(polygon, boxes):
    """Triangles of the polygon's pieces in the lattice, joined at common corners."""
    triangles = []
    for box in boxes:
        piece = shapely.set_precision(polygon.intersection(box), 1.0)
        for part in shapely.get_parts(piece):
            if part.geom_type == "Polygon" and part.area > 0:
                triangles += [t.exterior.coords[:3] for t in shapely.get_parts(shapely.constrained_delaunay_triangles(part))]
    corners = numpy.array(triangles).reshape(-1, 2)
    points, inverse = numpy.unique(corners, axis=0, return_inverse=True)
    mesh = skfem.MeshTri(points.T * 1e-6, inverse.reshape(-1, 3).T)
    area = abs(sum(shapely.Polygon(t).area for t in triangles))
    if abs(area / polygon.area - 1) > 1e-5:
        sys.exit("the triangles do not fill the island")
    return mesh


@skfem.BilinearForm
def stiffness(u, v, _):
    return dot(grad(u), grad(v))


@skfem.LinearForm
def load(v, _):
    return v


def resistance(mesh, entry, leave):
    """Squares between the mean potentials of two squares with evenly spread currents."""
    basis = skfem.Basis(mesh, skfem.ElementTriP2())
    middles = mesh.p[:, mesh.t].mean(axis=1)

    def source(square):
        x0, y0, x1, y1 = (v * 1e-6 for v in square.bounds)
        inside = (middles[0] > x0) & (middles[0] < x1) & (middles[1] > y0) & (middles[1] < y1)
        return load.assemble(skfem.Basis(mesh, skfem.ElementTriP2(), elements=numpy.nonzero(inside)[0])) / ((x1 - x0) * (y1 - y0))

    right = source(entry) - source(leave)
    field = skfem.solve(*skfem.condense(stiffness.assemble(basis), right, D=numpy.array([0])))
    return float(right @ field)


def compare(island):
    """Prints ours and the reference's squares of an island; whether they agree."""
    polygon = shapely.Polygon(island["outer"], island["holes"])
    boxes, inside = squares_inside(polygon)
    if len(inside) < 2:
        sys.exit("no two lattice squares lie wholly in the island")
    entry = min(inside, key=lambda box: box.bounds[0] + box.bounds[1])
    leave = max(inside, key=lambda box: box.bounds[0] + box.bounds[1])
    island |= {"in": list(entry.bounds), "out": list(leave.bounds), "pitch_mm": PITCHES_MM}
    with tempfile.NamedTemporaryFile("w", suffix=".json") as file:
        json.dump(island, file)
        file.flush()
        ours = run("solve", file.name)
    mesh = mesh_of(polygon, boxes)
    theirs = []
    for _ in range(3):
        theirs.append(resistance(mesh, entry, leave))
        mesh = mesh.refined()
    print(f"island of {polygon.area * 1e-12:.1f} mm2 with {len(island['holes'])} holes, squares between its ends:")
    print("  ours at " + ", ".join(f"{p} mm: {v:.4f}" for p, v in zip(PITCHES_MM, ours)))
    print("  the reference, refined twice: " + ", ".join(f"{v:.4f}" for v in theirs))
    changes = abs(ours[-1] / ours[-2] - 1) + abs(theirs[-1] / theirs[-2] - 1)
    off = max(abs(value / theirs[-1] - 1) for value in ours[1:])
    print(f"  off by {100 * off:.3f} % at most from 0.05 mm on; refining changes both by {100 * changes:.3f} % together")
    return off <= TOLERANCE and changes <= TOLERANCE


def main():
    agree = [compare(island) for island in run("islands", LAYER)[:ISLANDS]]
    print(f"{len(agree)} copper islands compared with the reference library, {agree.count(False)} differ")
    sys.exit(0 if all(agree) else 1)


main()
