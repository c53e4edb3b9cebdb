"""Steady flow up a column of any cross-section and conductivity, between two suctions.

With suction s, height z, uptake above a height Q(z), section A(z) and conductivity K(s), Darcy's law reads
ds/dz = 1 + Q(z) / (A(z) K(s)). Near its limit s runs away within a finite height; turned over,
dz/ds = 1 / (1 + Q(z) / (A(z) K(s))) never does: it stays between 0 and 1. It is integrated over
x = asinh(s / 1 cm), which takes even steps through decades of suction, by the embedded pair 5(4) of
Dormand & Prince (1980), J. Comput. Appl. Math. 6:19. Plain floats: a column takes a few milliseconds.
"""

from __future__ import annotations

from collections.abc import Callable
from math import asinh, cosh, exp, isfinite, sinh
from typing import NamedTuple

from scipy.optimize import brentq

Curve = Callable[[float], float]
Slope = Callable[[float, float], float]

SCALE_M = 0.01
TOLERANCE_M = 1e-10  # of height, in each step
MOST_STEPS = 20_000
SAFETY, SHRINK, GROW = 0.9, 0.1, 5.0


class Column(NamedTuple):
    """A column as functions of plain floats, defined at every height (also beyond the ends of the real one).

    Attributes:
        conductivity_m_d: K of suction in m (negative under water), in m/day; above 0.
        section_m2: A of height in m; above 0.
        uptake_above_m3_d: Q of height in m, in m3/day; never rising with height.
    """

    conductivity_m_d: Curve
    section_m2: Curve
    uptake_above_m3_d: Curve


class Path(NamedTuple):
    """Suctions and the heights where they stand, in the order of the integration."""

    suction_m: list[float]
    height_m: list[float]


def height_path(
    column: Column, from_suction_m: float, to_suction_m: float, height_m: float = 0.0, ceiling_m: float | None = None
) -> Path:
    """Return at what height each suction stands, from a known pair to another suction (larger: up; smaller: down).

    Args:
        column: its conductivity, section and uptake.
        from_suction_m: the known suction; negative under water.
        to_suction_m: the suction to end at.
        height_m: the height where the known suction stands.
        ceiling_m: a height to end at, where it is reached before ``to_suction_m``.

    Raises:
        ValueError: a suction that is not finite.
        RuntimeError: the steps became too many; the message tells where it stood.
    """
    if not (isfinite(from_suction_m) and isfinite(to_suction_m)):
        raise ValueError(f"suctions must be finite, not {from_suction_m} and {to_suction_m}")
    slope, path = _slope(column), Path([from_suction_m], [height_m])
    x, end = asinh(from_suction_m / SCALE_M), asinh(to_suction_m / SCALE_M)
    step, start = 0.05 * (end - x), slope(x, height_m)
    for _ in range(MOST_STEPS):
        if x == end or height_m == ceiling_m:
            return path
        step = step if abs(step) < abs(end - x) else end - x
        after, ahead, error = _step(slope, x, height_m, step, start)
        if error <= TOLERANCE_M:
            if ceiling_m is not None and after >= ceiling_m:
                step, after = _step_to(ceiling_m, slope, x, height_m, step, start), ceiling_m
            x = end if step == end - x else x + step
            height_m, start = after, ahead
            path.suction_m.append(to_suction_m if x == end else SCALE_M * sinh(x))
            path.height_m.append(height_m)
        step *= min(GROW, max(SHRINK, SAFETY * (TOLERANCE_M / max(error, 1e-30)) ** 0.2))
    raise RuntimeError(
        f"no convergence in {MOST_STEPS} steps from suction {from_suction_m:.6g} m to {to_suction_m:.6g} m: "
        f"reached {SCALE_M * sinh(x):.6g} m at height {height_m:.6g} m"
    )


def _slope(column: Column) -> Slope:
    """Return dz/dx of a column, x = asinh(s / 1 cm)."""
    conductivity, section, uptake_above = column

    def slope(x: float, height: float) -> float:
        resistance = uptake_above(height) / (section(height) * conductivity(SCALE_M * sinh(x)))
        return SCALE_M * cosh(x) / (1.0 + resistance)

    return slope


def _step(slope: Slope, x: float, y: float, h: float, k1: float) -> tuple[float, float, float]:
    """Return y after a step of the Dormand-Prince pair, the slope there, and the size of the error."""
    k2 = slope(x + h / 5, y + h * k1 / 5)
    k3 = slope(x + 3 * h / 10, y + h * (3 * k1 + 9 * k2) / 40)
    k4 = slope(x + 4 * h / 5, y + h * (44 * k1 / 45 - 56 * k2 / 15 + 32 * k3 / 9))
    k5 = slope(x + 8 * h / 9, y + h * (19372 * k1 - 76080 * k2 + 64448 * k3 - 1908 * k4) / 6561)
    k6 = slope(
        x + h, y + h * (9017 * k1 / 3168 - 355 * k2 / 33 + 46732 * k3 / 5247 + 49 * k4 / 176 - 5103 * k5 / 18656)
    )
    after = y + h * (35 * k1 / 384 + 500 * k3 / 1113 + 125 * k4 / 192 - 2187 * k5 / 6784 + 11 * k6 / 84)
    k7 = slope(x + h, after)
    error = 71 * k1 / 57600 - 71 * k3 / 16695 + 71 * k4 / 1920 - 17253 * k5 / 339200 + 22 * k6 / 525 - k7 / 40
    return after, k7, abs(h * error)


def _step_to(ceiling_m: float, slope: Slope, x: float, y: float, step: float, k1: float) -> float:
    """Return the part of a step that ends at a height; a smaller step of the pair is at least as good."""
    short = brentq(lambda h: _step(slope, x, y, h, k1)[0] - ceiling_m, 0.0, step, xtol=1e-13)
    return float(short)


def suction_at_height_m(
    column: Column, foot_suction_m: float, height_m: float, foot_height_m: float = 0.0, most_m: float = 1000.0
) -> float | None:
    """Return the suction at a height above the foot, None where the flow does not get there below ``most_m``."""
    path = height_path(column, foot_suction_m, most_m, foot_height_m, height_m)
    return path.suction_m[-1] if path.height_m[-1] >= height_m else None


def largest_factor(column: Column, foot_suction_m: float, top_m: float, limit_m: float) -> float:
    """Return by how much the uptake can be multiplied until the suction at the top is a limit, the foot at height 0.

    Downward from the limit at the top, the height where the foot's suction stands rises smoothly with the uptake,
    to 0 at the answer (Brent's method on the logarithm). A factor of the order of 1 is found soonest.

    Raises:
        ValueError: the limit is passed at rest already.
        RuntimeError: no convergence (see `height_path`).
    """
    if foot_suction_m + top_m >= limit_m:
        raise ValueError(f"limit_m {limit_m} is passed at rest: {foot_suction_m + top_m} m at the top")

    def foot_height(log_factor: float) -> float:
        factor = exp(log_factor)
        scaled = column._replace(uptake_above_m3_d=lambda z: factor * column.uptake_above_m3_d(z))
        return height_path(scaled, limit_m, foot_suction_m, top_m).height_m[-1]

    low = high = 0.0
    while foot_height(low) > 0.0:
        low -= 1.0
    while foot_height(high) < 0.0:
        high += 1.0
    return exp(float(brentq(foot_height, low, high, xtol=1e-9)))
