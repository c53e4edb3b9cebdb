"""A grower's own retention table, suction against water content, made into a medium: the curve and how well it fits."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise, product
from math import isfinite
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares, nnls

from wetfoot.water.medium import CM_WATER_PER_KPA, Medium, water_content

Array = NDArray[np.float64]

LEAST_POINTS = 4  # as many as the curve has parameters
M_PER_KPA = CM_WATER_PER_KPA / 100.0
ALPHA_BOUNDS_PER_M = (0.1, 1000.0)
N_BOUNDS = (1.05, 12.0)
STARTS = 3


class RetentionErrors(NamedTuple):
    """Standard errors of the four retention parameters, in the units of `Medium`; nan where they cannot be told."""

    residual: float
    saturated: float
    alpha_per_m: float
    n: float


@dataclass(frozen=True)
class Fit:
    """A medium fitted to a table, with the table and what the curve misses it by.

    Attributes:
        medium: the fitted medium, on its drying branch.
        suction_kpa, measured, fitted: the table and the curve at its suctions (volume fractions).
        errors: standard errors; nan with four points (nothing is left to judge the fit by) and for a parameter
            that the points do not settle.
        at_bound: names of the parameters that ended at the edge of what is allowed.
    """

    medium: Medium
    suction_kpa: Array
    measured: Array
    fitted: Array
    errors: RetentionErrors
    at_bound: tuple[str, ...]

    @property
    def residuals(self) -> Array:
        """Measured less fitted water content, row by row."""
        return self.measured - self.fitted

    @property
    def root_mean_square(self) -> float:
        """The size of a typical miss, as a volume fraction."""
        return float(np.sqrt(np.mean(self.residuals**2)))


def fit_medium(
    name: str,
    suction_kpa: Sequence[float],
    water: Sequence[float],
    k1_cm_d: float,
    k1_factor: float = 3.0,
    k1_source: str = "estimate",
) -> Fit:
    """Return a medium fitted to a table of suction and water content (drying, from wet to dry).

    Least squares on van Genuchten (1980) with 0 <= residual < saturated <= 1, by a trust-region method from the
    three best of a grid of starts. Standard errors from the Jacobian at the optimum (linear theory).

    Args:
        name: what to call the medium.
        suction_kpa: rising, from 0.
        water: water content as volume fractions, never rising.
        k1_cm_d: conductivity at 1 kPa, which no retention table can tell.
        k1_factor: that many times smaller or larger it may be.
        k1_source: where it comes from.

    Raises:
        ValueError: the table cannot be used; every wrong row is named, counting from 1.
        RuntimeError: the fit did not converge; the message tells where it stood.
    """
    problems = list(table_problems(suction_kpa, water))
    if not (isfinite(k1_cm_d) and k1_cm_d > 0.0):
        problems.append(f"k1_cm_d must be above 0, not {k1_cm_d}")
    if not (isfinite(k1_factor) and k1_factor >= 1.0):
        problems.append(f"k1_factor must be 1 or more, not {k1_factor}")
    if problems:
        raise ValueError("; ".join(problems))
    suction_m, measured = np.array(suction_kpa, dtype=float) * M_PER_KPA, np.array(water, dtype=float)
    best = min((_solve(start, suction_m, measured) for start in _starts(suction_m, measured)), key=lambda r: r[0])
    _, parameters, jacobian = best
    medium = Medium(name, *_natural(parameters), k1_cm_d, "own table, fitted", k1_factor, k1_source)
    fitted = water_content(suction_m, medium)
    errors = _errors(jacobian, measured - fitted, medium)
    return Fit(medium, np.array(suction_kpa, dtype=float), measured, fitted, errors, _at_bound(parameters))


def table_problems(suction_kpa: Sequence[float], water: Sequence[float]) -> Iterator[str]:
    """Yield what is wrong with a retention table, row by row counting from 1; nothing where it can be used."""
    if len(suction_kpa) != len(water):
        yield f"{len(suction_kpa)} suctions but {len(water)} water contents"
        return
    if len(water) < LEAST_POINTS:
        yield f"{len(water)} rows, but the curve needs at least {LEAST_POINTS}"
    for row, (suction, content) in enumerate(zip(suction_kpa, water, strict=True), 1):
        if not (isfinite(suction) and suction >= 0.0):
            yield f"row {row}: suction_kpa must be 0 or more, not {suction}"
        if not 0.0 <= content <= 1.0:
            yield f"row {row}: water content must be a volume fraction from 0 to 1, not {content}"
    for row, ((s0, w0), (s1, w1)) in enumerate(pairwise(zip(suction_kpa, water, strict=True)), 2):
        if s1 <= s0:
            yield f"row {row}: suction_kpa {s1} must be above {s0} of the row before"
        elif w1 > w0:
            yield f"row {row}: water content {w1} rises above {w0} though the suction is higher"
    if len(water) >= LEAST_POINTS and len(set(water)) < 3:
        yield f"rows 1 to {len(water)}: only {len(set(water))} different water content(s), too few to see a curve"


def _natural(parameters: Array) -> tuple[float, float, float, float]:
    """Return residual, saturated, alpha (1/m) and n of (residual / saturated, saturated, log alpha, log(n - 1))."""
    share, saturated, log_alpha, log_n = (float(value) for value in parameters)
    return share * saturated, saturated, float(np.exp(log_alpha)), 1.0 + float(np.exp(log_n))


def _bounds() -> tuple[Array, Array]:
    alpha, n = np.log(ALPHA_BOUNDS_PER_M), np.log(np.array(N_BOUNDS) - 1.0)
    return np.array([0.0, 0.01, alpha[0], n[0]]), np.array([0.999, 1.0, alpha[1], n[1]])


def _at_bound(parameters: Array) -> tuple[str, ...]:
    low, high = _bounds()
    close = np.minimum(parameters - low, high - parameters) < 1e-6 * (high - low)
    return tuple(name for name, edge in zip(RetentionErrors._fields, close, strict=True) if edge)


def _curve(parameters: Array, suction_m: Array) -> Array:
    return water_content(suction_m, Medium("", *_natural(parameters), 1.0, ""))


def _starts(suction_m: Array, measured: Array) -> list[Array]:
    """Return the best starts on a grid of alpha and n: given those two, the curve is linear in the other two."""
    low, high = _bounds()
    ranked = []
    for log_alpha, log_n in product(np.linspace(low[2], high[2], 25)[1:-1], np.linspace(low[3], high[3], 14)[1:-1]):
        shape = _curve(np.array([0.0, 1.0, log_alpha, log_n]), suction_m)
        (residual, span), miss = nnls(np.column_stack([np.ones_like(shape), shape]), measured)
        saturated = min(max(residual + span, 0.02), 0.999)
        ranked.append((miss, (min(residual / saturated, 0.99), saturated, log_alpha, log_n)))
    return [np.clip(start, low + 1e-9, high - 1e-9) for _, start in sorted(ranked)[:STARTS]]


def _solve(start: Array, suction_m: Array, measured: Array) -> tuple[float, Array, Array]:
    """Return (cost, parameters, Jacobian) of the least-squares fit from one start."""

    def miss(parameters: Array) -> Array:
        return _curve(parameters, suction_m) - measured

    found = least_squares(
        miss, start, bounds=_bounds(), jac="3-point", xtol=1e-12, ftol=1e-14, gtol=1e-14, max_nfev=2000
    )
    if not found.success:
        raise RuntimeError(
            f"the retention fit did not converge: {found.message} at {_natural(found.x)}, cost {found.cost}"
        )
    return float(found.cost), found.x, np.asarray(found.jac)


def _errors(jacobian: Array, residuals: Array, medium: Medium) -> RetentionErrors:
    """Return the standard errors: s^2 (J'J)^-1 with s^2 = RSS / (rows - 4), carried over to the natural parameters."""
    spare = residuals.size - LEAST_POINTS
    if spare == 0 or np.linalg.cond(jacobian) > 1e10:
        return RetentionErrors(*[float("nan")] * 4)
    covariance = float(residuals @ residuals) / spare * np.linalg.inv(jacobian.T @ jacobian)
    share = medium.residual / medium.saturated
    to_natural = np.diag([medium.saturated, 1.0, medium.alpha_per_m, medium.n - 1.0])
    to_natural[0, 1] = share
    variances = np.diag(to_natural @ covariance @ to_natural.T)
    return RetentionErrors(*np.sqrt(variances).tolist())
