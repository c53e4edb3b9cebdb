"""Profile intervals: how far a parameter can go before even the best fit with it is significantly worse."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from scipy import optimize, special

from wetfoot.trial.response import CompetitionCurve

Floats = NDArray[np.float64]


def profile_interval(curve: CompetitionCurve, coefficient: str, level: float = 0.95) -> tuple[float, float]:
    """Return the profile interval of coefficient 'a' or 'b': where RSS <= RSS_min + F scale, the other at its best.

    Bates & Watts 1988, Nonlinear Regression Analysis, ch. 6 (from memory). An end that is not reached is infinite.

    Raises:
        ValueError: if the coefficient is neither 'a' nor 'b'.
    """
    if coefficient not in ("a", "b"):
        raise ValueError(f"coefficient must be 'a' or 'b', not {coefficient!r}")
    fixed, free = (curve.a, curve.b) if coefficient == "a" else (curve.b, curve.a)
    which = 0 if coefficient == "a" else 1
    error, free_error = math.sqrt(curve.covariance[which, which]), math.sqrt(curve.covariance[1 - which, 1 - which])

    def profile(value: float) -> float:
        def rss(others: Floats) -> Floats:
            return curve.residual_ss_at(value, others) if which == 0 else curve.residual_ss_at(others, value)

        # The best other coefficient is near the line of the linear approximation.
        centre = free + curve.covariance[0, 1] / curve.covariance[which, which] * (value - fixed)
        spread = free_error + 2.0 * abs(centre - free)
        return least(rss, centre - 4.0 * spread, centre + 4.0 * spread)

    return (
        crossing(profile, fixed, -error, threshold(curve, level)),
        crossing(profile, fixed, error, threshold(curve, level)),
    )


def threshold(curve: CompetitionCurve, level: float) -> float:
    """Return the residual sum of squares at the rim of a profile interval for one parameter."""
    return curve.residual_ss + float(special.fdtri(1, curve.residual_df, level)) * curve.scale


def least(rss: Callable[[Floats], Floats], low: float, high: float) -> float:
    """Return the least value of a function of one array between two bounds: a grid, then Brent about its best."""
    grid = np.linspace(low, high, 201)
    values = rss(grid)
    best = int(np.argmin(values))
    bounds = (float(grid[max(best - 1, 0)]), float(grid[min(best + 1, 200)]))
    width = bounds[1] - bounds[0]
    found = optimize.minimize_scalar(
        lambda value: float(rss(np.array([value]))[0]), bounds=bounds, method="bounded", options={"xatol": 1e-9 * width}
    )
    return min(float(found.fun), float(values[best]))


def crossing(profile: Callable[[float], float], start: float, step: float, target: float) -> float:
    """Return where a profile rises through the target on the side of the step; infinite if it does not in 60 steps."""
    inner = start
    for k in range(60):
        outer = start + step * 1.5**k
        if profile(outer) > target:
            return float(optimize.brentq(lambda value: profile(value) - target, inner, outer, xtol=1e-10 * abs(step)))
        inner = outer
    return math.copysign(math.inf, step)
