"""The parabola as an alternative to the law of competition, and Fieller's interval of its optimum."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class FiellerSet:
    """The values of a ratio that the data do not refute.

    Attributes:
        kind: "bounded": from low to high; "outside": all but those between low and high; "all": every number.
        low: lower end, -inf for "all".
        high: upper end, inf for "all".
    """

    kind: Literal["bounded", "outside", "all"]
    low: float
    high: float


@dataclass(frozen=True)
class QuadraticOptimum:
    """A fitted parabola and where it turns.

    Attributes:
        coefficients: c0, c1, c2 of c0 + c1 p + c2 p^2, g.
        covariance: shape (3, 3).
        residual_df: of the fit.
        optimum: number of pieces with the largest net yield; nan if the parabola opens upwards.
        standard_error: by the delta method.
        interval: Fieller's.
        words: what can be said.
    """

    coefficients: Floats
    covariance: Floats
    residual_df: int
    optimum: float
    standard_error: float
    interval: FiellerSet
    words: str


def fieller(numerator: float, denominator: float, covariance: ArrayLike, df: float, level: float = 0.95) -> FiellerSet:
    """Return every ratio r for which numerator - r denominator is not significantly different from zero.

    Fieller 1954, J. R. Statist. Soc. B 16:175 (from memory): a quadratic inequality in r, bounded only where the
    denominator differs significantly from zero.

    Args:
        numerator: its estimate.
        denominator: its estimate.
        covariance: of both, shape (2, 2).
        df: of the covariance.
        level: confidence level.

    Returns:
        The set; not always an interval.
    """
    v = np.asarray(covariance, dtype=float)
    t2 = float(special.stdtrit(df, 0.5 + level / 2.0)) ** 2
    square = denominator**2 - t2 * v[1, 1]
    half = numerator * denominator - t2 * v[0, 1]
    constant = numerator**2 - t2 * v[0, 0]
    discriminant = half**2 - square * constant
    if discriminant <= 0 or square == 0:
        return FiellerSet("all", -math.inf, math.inf)
    low, high = sorted(((half - math.sqrt(discriminant)) / square, (half + math.sqrt(discriminant)) / square))
    return FiellerSet("bounded" if square > 0 else "outside", float(low), float(high))


def quadratic_optimum(
    pieces: ArrayLike, yield_g: ArrayLike, seed_g: float = 0.0, others: ArrayLike | None = None, level: float = 0.95
) -> QuadraticOptimum:
    """Fit c0 + c1 p + c2 p^2 by least squares and return where the yield less the seed spent is largest.

    Args:
        pieces: seed pieces of each pot, shape (n,), at least three different numbers.
        yield_g: fresh rhizome of each pot, g, shape (n,).
        seed_g: what one piece costs, in g of harvest; 0 for the yield itself.
        others: columns of additive effects, coded to sum to zero, shape (n, q).
        level: confidence level.

    Returns:
        The parabola, its optimum (c1 - s) / (-2 c2) and Fieller's set.

    Raises:
        ValueError: if shapes do not agree, a value is missing, or the columns are not independent or too many.
    """
    p, y = np.asarray(pieces, dtype=float), np.asarray(yield_g, dtype=float)
    columns = [np.ones_like(p), p, p**2]
    x = np.column_stack(columns if others is None else [*columns, np.asarray(others, dtype=float)])
    df = len(y) - x.shape[1]
    if p.shape != y.shape or not np.isfinite(y).all() or df < 1 or np.linalg.matrix_rank(x) < x.shape[1]:
        raise ValueError("pieces need three levels, yields as many and none missing, and more pots than coefficients")
    beta, *_ = np.linalg.lstsq(x, y, rcond=None)
    residual = y - x @ beta
    covariance = np.linalg.inv(x.T @ x)[:3, :3] * float(residual @ residual) / df
    slope, bend = float(beta[1]) - seed_g, -2.0 * float(beta[2])
    of_ratio = np.array([[1.0, 0.0], [0.0, -2.0]]) @ covariance[1:, 1:] @ np.array([[1.0, 0.0], [0.0, -2.0]])
    limits = fieller(slope, bend, of_ratio, df, level)
    optimum = slope / bend if bend > 0 else math.nan
    gradient = np.array([1.0, -optimum]) / bend
    error = math.sqrt(float(gradient @ of_ratio @ gradient)) if bend > 0 else math.nan
    words = _in_words(optimum, limits, (float(p.min()), float(p.max())))
    return QuadraticOptimum(beta[:3], covariance, df, optimum, error, limits, words)


def _in_words(optimum: float, limits: FiellerSet, tested: tuple[float, float]) -> str:
    if math.isnan(optimum):
        head = "The parabola opens upwards: it has no best number of pieces."
    elif tested[0] <= optimum <= tested[1]:
        head = f"The parabola is highest at {optimum:.1f} pieces."
    else:
        head = f"The parabola is highest at {optimum:.1f} pieces, outside the {tested[0]:g} to {tested[1]:g} tested."
    if limits.kind == "bounded":
        return f"{head} Fieller's interval {limits.low:.1f} to {limits.high:.1f}."
    return f"{head} Its bend is not certain, so no bounded interval can be given."
