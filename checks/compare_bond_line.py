#!/usr/bin/env python3
"""Compares pedestals and places without contact in the bond line with scikit-fem (PyPI): quadratic bricks in three dimensions.

A plate with one warm rectangle lies on a base of its own size, cooled at its back; everything else is insulated. The film is a layer
of bricks of its own thickness, in which heat may also go sideways; where there is no film, the bricks conduct straight
through as the air gap does. Its air is worked out here: conduction of still air at 60 degC and radiation between grey faces.
"""
import json
import logging
import pathlib
import subprocess
import sys
import tempfile

import numpy
import skfem

import real_layers

logging.getLogger("skfem").setLevel(logging.ERROR)
PLATE_MM, PLATE_W_PER_M_K = (40.0, 30.0, 1.5), 138.0
BASE_MM, BASE_W_PER_M_K = 4.0, 150.0
FILM_UM, FILM_W_PER_M_K = 100.0, 2.0
RECESS_MM, EMISSIVITY = 1.0, 0.8
H = 900.0
HEAT_W, PATCH = 5.0, ((16.0, 14.0), (8.0, 6.0))
TOLERANCE = 0.005
"""Ours has a printed grid error of some tenths of a percent; both change by less than this when refined."""
AIR_W_PER_M_K = 0.02880
"""Dry air at 333.15 K and 101325 Pa: CoolProp's value between 320 and 340 K, as in the reference equation of Lemmon and Jacobsen."""
CASES = {
    "full contact": ([], []),
    "a pedestal of 20 x 16 mm": ([((17.0, 14.0), (20.0, 16.0))], []),
    "two pedestals": ([((10.0, 15.0), (8.0, 20.0)), ((30.0, 15.0), (8.0, 20.0))], []),
    "no contact under the warm part": ([], [((16.0, 14.0), (10.0, 8.0))]),
}


def air_m2k_per_w(gap_m):
    """Still air and radiation across a gap."""
    radiation = 4 * 5.670374419e-8 * 333.15**3 / (1 / 0.9 + 1 / EMISSIVITY - 1)
    return 1 / (AIR_W_PER_M_K / gap_m + radiation)


def lamp_text(pedestals, voids):
    words = lambda pair: f'["{pair[0]} mm", "{pair[1]} mm"]'
    table = lambda name, one, more="": f"[[bond.{name}]]\nat = {words(one[0])}\nsize = {words(one[1])}\n{more}"
    x, y, z = PLATE_MM
    return f"""
[bond]
thickness = "{FILM_UM} um"
conductivity = "{FILM_W_PER_M_K} W/m/K"
{f'recess = "{RECESS_MM} mm"' if pedestals else ""}
{"".join(table("pedestal", one) for one in pedestals)}
{"".join(table("region", one, "contact = false") for one in voids)}
[material.base]
conductivity = "{BASE_W_PER_M_K} W/m/K"
[heatsink]
base = {words((x, y))}
base_thickness = "{BASE_MM} mm"
material = "base"
h = "{H} W/m2/K"
emissivity = {EMISSIVITY}
[faces]
top = "adiabatic"
bottom = "adiabatic"
[variant.plate]
outline = {words((x, y))}
[variant.plate.board]
kind = "layers"
[[variant.plate.layer]]
thickness = "{z} mm"
conductivity = "{PLATE_W_PER_M_K} W/m/K"
[[variant.plate.heat]]
at = {words(PATCH[0])}
size = {words(PATCH[1])}
power = "{HEAT_W} W"
"""


def ours(pedestals, voids):
    with tempfile.TemporaryDirectory() as folder:
        (pathlib.Path(folder) / "lamp.toml").write_text(lamp_text(pedestals, voids), encoding="utf-8")
        command = ["cargo", "run", "--quiet", "--locked", "-p", "lampwright", "--", "predict", folder, "--json"]
        found = subprocess.run(command, capture_output=True, text=True, check=True, cwd=real_layers.HERE.parent)
    patch = json.loads(found.stdout)["runs"][0]["heat_patches"][0]
    return patch["mean_rise_k"], patch["centre_rise_k"]


def ends(rectangle, axis):
    at, size = rectangle
    return at[axis] - size[axis] / 2, at[axis] + size[axis] / 2


def lines(length, wanted, pitch):
    """Lines through all wanted places, at most a pitch apart, mm."""
    marks = sorted({0.0, length, *[w for w in wanted if 0 < w < length]})
    parts = [numpy.linspace(a, b, max(1, round((b - a) / pitch)) + 1)[:-1] for a, b in zip(marks, marks[1:])]
    return numpy.append(numpy.concatenate(parts), length)


def reference(pedestals, voids, pitch):
    """Mean and centre rise of the warm part, K."""
    shapes = [PATCH, *pedestals, *voids]
    xs, ys = (lines(PLATE_MM[axis], [e for s in shapes for e in (*ends(s, axis), s[0][axis])], pitch) for axis in (0, 1))
    top, film = PLATE_MM[2], FILM_UM * 1e-3
    zs = numpy.array([0, 0.15, 0.4, 0.8, 1.2, top, top + film, top + film + 0.6, top + film + 1.8, top + film + BASE_MM])
    mesh = skfem.MeshHex.init_tensor(xs * 1e-3, ys * 1e-3, zs * 1e-3)
    x, y, z = 1e3 * mesh.p[:, mesh.t].mean(axis=1)
    inside = lambda s: (x > ends(s, 0)[0]) & (x < ends(s, 0)[1]) & (y > ends(s, 1)[0]) & (y < ends(s, 1)[1])
    in_film = (z > top) & (z < top + film)
    across = numpy.where(z < top, PLATE_W_PER_M_K, BASE_W_PER_M_K)
    across[in_film] = FILM_W_PER_M_K
    through = across.copy()

    def gap(where, gap_m):
        across[where] = through[where] = film * 1e-3 / air_m2k_per_w(gap_m)

    if pedestals:
        gap(in_film & ~numpy.any([inside(s) for s in pedestals], axis=0), (RECESS_MM + film) * 1e-3)
    for void in voids:
        gap(in_film & inside(void), film * 1e-3)
    element = skfem.ElementHex2()
    basis = skfem.Basis(mesh, element, intorder=4)
    constant = basis.with_element(skfem.ElementHex0())

    @skfem.BilinearForm
    def conduction(u, v, w):
        return w["across"] * (u.grad[0] * v.grad[0] + u.grad[1] * v.grad[1]) + w["through"] * u.grad[2] * v.grad[2]

    @skfem.BilinearForm
    def film_form(u, v, _):
        return H * u * v

    @skfem.LinearForm
    def load(v, _):
        return v

    matrix = conduction.assemble(basis, across=constant.interpolate(across), through=constant.interpolate(through))
    depth = 1e-3 * zs[-1]
    back = skfem.FacetBasis(mesh, element, facets=mesh.facets_satisfying(lambda p: numpy.isclose(p[2], depth)))
    matrix = matrix + film_form.assemble(back)
    (x0, x1), (y0, y1) = (ends(PATCH, axis) for axis in (0, 1))
    warm = lambda p: numpy.isclose(p[2], 0) & (p[0] > x0 * 1e-3) & (p[0] < x1 * 1e-3) & (p[1] > y0 * 1e-3) & (p[1] < y1 * 1e-3)
    over = load.assemble(skfem.FacetBasis(mesh, element, facets=mesh.facets_satisfying(warm)))
    area = (x1 - x0) * (y1 - y0) * 1e-6
    rise = skfem.solve(matrix, over * HEAT_W / area, solver=skfem.solver_iter_pcg(rtol=1e-10, atol=0.0, maxiter=20000))
    centre = numpy.array(PATCH[0]) * 1e-3
    at = numpy.argmin(numpy.hypot(basis.doflocs[0] - centre[0], basis.doflocs[1] - centre[1]) + 10 * basis.doflocs[2])
    return float(over @ rise) / area, float(rise[at])


def main():
    differ = 0
    for name, (pedestals, voids) in CASES.items():
        found = ours(pedestals, voids)
        coarse, fine = (reference(pedestals, voids, pitch) for pitch in (2.5, 2.0))
        off = [a / b - 1 for a, b in zip(found, fine)]
        changed = [a / b - 1 for a, b in zip(coarse, fine)]
        print(f"{name}: mean and centre rise {found[0]:.3f} and {found[1]:.3f} K, the reference {fine[0]:.3f} and {fine[1]:.3f} K")
        print(f"  off by {100 * off[0]:+.3f} % and {100 * off[1]:+.3f} %; refining changed the reference by {100 * max(map(abs, changed)):.3f} %")
        differ += max(map(abs, off + changed)) > TOLERANCE
    print(f"{len(CASES)} bond lines compared with the reference library, {differ} differ")
    sys.exit(1 if differ else 0)


if __name__ == "__main__":
    main()
