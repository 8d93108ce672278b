"""Forced and natural convection together along an upright plate of one temperature, from the boundary layer's own equations.

Laminar air, Pr 0.7, Boussinesq. With `f` and `t` over `eta = y sqrt(V / (nu x))` and `xi = Gr_x / Re_x²`, which grows along the plate:
`f''' + f f''/2 + s xi t = xi (f' df'/dxi - f'' df/dxi)`, `t''/Pr + f t'/2 = xi (f' dt/dxi - t' df/dxi)`, s = 1 with the rising air and -1
against it. Marched in ln xi by backward differences, each step a boundary value problem for scipy (PyPI).
"""
import functools
import math

import numpy
from scipy.integrate import quad, solve_bvp
from scipy.interpolate import CubicSpline

PRANDTL = 0.7
STEP = 0.08
ETA = numpy.linspace(0, 9, 120)


def march(sign, most):
    """xi and local Nu / sqrt(Re) along the plate."""
    before, found = None, []
    profiles = numpy.vstack([ETA - 1 + numpy.exp(-ETA), 1 - numpy.exp(-ETA), numpy.exp(-ETA), numpy.exp(-ETA / 2), -numpy.exp(-ETA / 2) / 2])
    for xi in (0.0, *numpy.exp(numpy.arange(math.log(1e-3), math.log(most) + STEP, STEP))):

        def right(x, v):
            f, u, w, t, q = v
            p = v if before is None else before(x)
            df, du, dt = ((v[k] - p[k]) / STEP for k in (0, 1, 3))
            return numpy.vstack([u, w, -f * w / 2 - sign * xi * t + u * du - w * df, q, PRANDTL * (-f * q / 2 + u * dt - q * df)])

        def ends(a, b):
            return numpy.array([a[0], a[1], a[3] - 1, b[1] - 1, b[3]])

        step = solve_bvp(right, ends, ETA, profiles, tol=1e-5, max_nodes=3000)
        if not step.success:
            raise ArithmeticError(f"no boundary layer at xi = {xi}: {step.message}")
        profiles, before = step.sol(ETA), step.sol
        found.append((xi, -step.y[4, 0]))
    return numpy.array(found).T


def natural_alone():
    """Local Nu / Gr^(1/4) without a wind (Ostrach's equations)."""
    eta = numpy.linspace(0, 12, 200)
    fall = numpy.exp(-eta / 2)

    def right(_, v):
        return numpy.vstack([v[1], v[2], -3 * v[0] * v[2] + 2 * v[1] ** 2 - v[3], v[4], -3 * PRANDTL * v[0] * v[4]])

    def ends(a, b):
        return numpy.array([a[0], a[1], a[3] - 1, b[1], b[3]])

    guess = numpy.vstack([0.3 * (1 - fall), 0.3 * eta * fall, 0.3 * (1 - eta) * fall, fall, -fall / 2])
    return -solve_bvp(right, ends, eta, guess, tol=1e-6, max_nodes=5000).y[4, 0] / math.sqrt(2)


@functools.cache
def course(sign):
    # Against the rising air the layer leaves the plate soon after.
    xi, nusselt = march(sign, 60.0 if sign > 0 else 0.15)
    return CubicSpline(xi, nusselt), nusselt[0], natural_alone()


def mean_over_forced(natural_over_forced, sign):
    """Mean film of both over that of the wind alone, by the same ratio of natural convection alone."""
    local, forced, natural = course(sign)
    xi = (1.5 * natural_over_forced * forced / natural) ** 4
    mean = quad(lambda s: 2 * local(s * s), 0, math.sqrt(xi))[0] / math.sqrt(xi)
    return mean / (2 * forced)


def local_over_forced(natural_over_forced):
    """The same at a place of the plate, with the rising air."""
    local, forced, natural = course(1)
    return float(local((natural_over_forced * forced / natural) ** 4)) / forced
