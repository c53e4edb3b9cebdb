"""Outcomes that happen or not in a pot, such as splitting: Firth's logistic regression."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import optimize, special

Floats = NDArray[np.float64]
_FARTHEST = 200.0  # log-odds beyond which an interval is called unbounded


@dataclass(frozen=True)
class FirthFit:
    """A logistic regression with Firth's penalty.

    Attributes:
        coefficients: shape (p,), on the log-odds scale.
        intervals: shape (p, 2), penalised profile likelihood intervals.
        p_values: shape (p,), penalised likelihood ratio tests of each coefficient being zero.
        covariance: shape (p, p), inverse information at the fit.
        log_likelihood: penalised.
        chances: shape (n,), fitted chance of each pot.
    """

    coefficients: Floats
    intervals: Floats
    p_values: Floats
    covariance: Floats
    log_likelihood: float
    chances: Floats


def firth_logistic(design: ArrayLike, happened: ArrayLike, level: float = 0.95) -> FirthFit:
    """Fit log-odds = X b by maximising l(b) + 0.5 log |X'WX|, which stays finite when a treatment never splits.

    Firth 1993, Biometrika 80:27; profile intervals and tests: Heinze & Schemper 2002, Statist. Med. 21:2409
    (both from memory).

    Args:
        design: X, shape (n, p), with a column of ones if an intercept is wanted.
        happened: 0 or 1 for each pot, shape (n,).
        level: confidence level of the intervals.

    Returns:
        The fit.

    Raises:
        ValueError: if shapes do not agree, an outcome is not 0 or 1, or X is not of full column rank.
    """
    x, y = _checked(design, happened)
    free = np.ones(x.shape[1], dtype=bool)
    b, top = _maximise(x, y, np.zeros(x.shape[1]), free)
    chances: Floats = np.asarray(special.expit(x @ b), dtype=np.float64)
    drop = float(special.chdtri(1, 1.0 - level)) / 2.0
    covariance: Floats = np.asarray(np.linalg.inv(_information(x, chances)), dtype=np.float64)
    intervals, p_values = np.empty((len(b), 2)), np.empty(len(b))
    for j in range(len(b)):
        profile = _profile(x, y, b, j)
        intervals[j] = [_end(profile, b[j], top - drop, side * math.sqrt(covariance[j, j])) for side in (-1, 1)]
        p_values[j] = special.chdtrc(1, max(0.0, 2.0 * (top - profile(0.0))))
    return FirthFit(b, intervals, p_values, covariance, top, chances)


def _checked(design: ArrayLike, happened: ArrayLike) -> tuple[Floats, Floats]:
    x, y = np.asarray(design, dtype=float), np.asarray(happened, dtype=float)
    if x.ndim != 2 or y.shape != x.shape[:1]:
        raise ValueError(f"design must be (n, p) and happened (n,), not {x.shape} and {y.shape}")
    if not np.isin(y, (0.0, 1.0)).all():
        raise ValueError("happened must be 0 or 1 for every pot, none missing")
    if np.linalg.matrix_rank(x) < x.shape[1]:
        raise ValueError(f"design must have full column rank {x.shape[1]}, not {np.linalg.matrix_rank(x)}")
    return x, y


def _information(x: Floats, chances: Floats) -> Floats:
    return np.asarray((x.T * (chances * (1.0 - chances))) @ x)


def _penalised(x: Floats, y: Floats, b: Floats) -> float:
    eta = x @ b
    sign, log_determinant = np.linalg.slogdet(_information(x, special.expit(eta)))
    if sign <= 0:
        return -math.inf
    return float(y @ eta - np.logaddexp(0.0, eta).sum() + 0.5 * log_determinant)


def _maximise(x: Floats, y: Floats, start: Floats, free: NDArray[np.bool_]) -> tuple[Floats, float]:
    """Return the maximum over the free coefficients by Newton steps with halving.

    The penalty adds about the leverage to each pot's weight; without it steps in tiny data go twice too far for ever.
    """
    b, best = start.copy(), _penalised(x, y, start)
    for _ in range(300):
        chances = special.expit(x @ b)
        weight = chances * (1.0 - chances)
        leverage = weight * np.einsum("ij,ji->i", x, np.linalg.solve((x.T * weight) @ x, x.T))
        score = x.T @ (y - chances + leverage * (0.5 - chances))
        curvature = (x.T * (weight * (1.0 + leverage))) @ x
        step = np.linalg.solve(curvature[np.ix_(free, free)], score[free])
        step *= min(1.0, 5.0 / max(float(np.abs(step).max(initial=0.0)), 1e-300))
        b, best, moved = _halved(x, y, b, best, free, step)
        if moved < 1e-10:
            break
    return b, best


def _halved(
    x: Floats, y: Floats, b: Floats, best: float, free: NDArray[np.bool_], step: Floats
) -> tuple[Floats, float, float]:
    """Return the first of the full, half, quarter ... step that does not lower the likelihood, and its length."""
    for _ in range(40):
        trial = b.copy()
        trial[free] += step
        reached = _penalised(x, y, trial)
        if reached >= best - 1e-13 * abs(best):
            return trial, reached, float(np.abs(step).max(initial=0.0))
        step = step / 2.0
    return b, best, 0.0


def _profile(x: Floats, y: Floats, b: Floats, j: int) -> Callable[[float], float]:
    """Return the penalised likelihood as a function of coefficient j, the others at their best."""
    free = np.arange(len(b)) != j
    last = b.copy()

    def profile(value: float) -> float:
        start = last.copy()
        start[j] = value
        if not math.isfinite(_penalised(x, y, start)):
            start[free] = 0.0
        found, reached = _maximise(x, y, start, free)
        last[:] = found
        return reached

    return profile


def _end(profile: Callable[[float], float], centre: float, target: float, step: float) -> float:
    """Return where the profile falls to the target on the side that the step points to."""
    inner, outer = centre, centre + step
    while profile(outer) > target:
        if abs(outer - centre) > _FARTHEST:
            return math.copysign(math.inf, step)
        inner, outer = outer, centre + 1.6 * (outer - centre)
    return float(optimize.brentq(lambda value: profile(value) - target, inner, outer, xtol=1e-9))
