"""How the yield of a pot answers to the number of seed pieces: the law of competition Y = p / (a + b p)."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class CompetitionCurve:
    """The law of competition fitted to pots or to means.

    Attributes:
        a: 1 / yield of a lone piece, 1/g.
        b: 1 / ceiling of the yield of a pot, 1/g; below zero where the data bend upwards.
        covariance: of a and b, shape (2, 2).
        residual_ss: weighted where a covariance was given.
        scale: residual variance that F ratios divide by (1 where the covariance of means was given), g^2.
        known_scale: the covariance of means was given.
        residual_df: df of the scale.
        pieces: seed pieces of every observation.
        observed: observations freed of what else was fitted, shape (m,).
        project: (m, n), the matrix that frees n observations of it; whitens if a covariance was given.
    """

    a: float
    b: float
    covariance: Floats
    residual_ss: float
    scale: float
    known_scale: bool
    residual_df: float
    pieces: Floats
    observed: Floats
    project: Floats

    def residual_ss_at(self, a: ArrayLike, b: ArrayLike) -> Floats:
        """Return the residual sum of squares for other coefficients; arrays broadcast."""
        lone, crowd = np.asarray(a, dtype=float)[..., None], np.asarray(b, dtype=float)[..., None]
        with np.errstate(divide="ignore", invalid="ignore"):
            fitted = self.pieces / (lone + crowd * self.pieces)
        fitted = np.where(lone + crowd * self.pieces > 0, fitted, 1e100)
        return np.asarray(((self.observed - fitted @ self.project.T) ** 2).sum(axis=-1))


def pot_yield_g(pieces: ArrayLike, a: float, b: float) -> Floats:
    """Return the yield of a pot, g: p / (a + b p) (Shinozaki & Kira 1956; Willey & Heath 1969, Adv. Agron. 21:281)."""
    p = np.asarray(pieces, dtype=float)
    return np.asarray(p / (a + b * p))


def competition_curve(pieces: ArrayLike, yield_g: ArrayLike, others: ArrayLike | None = None) -> CompetitionCurve:
    """Fit the law to single pots by least squares, with additive effects of blocks, boards and other factors.

    Args:
        pieces: seed pieces in each pot, shape (n,), at least two different numbers.
        yield_g: fresh rhizome of each pot, g, shape (n,), none missing.
        others: columns of the additive effects, coded to sum to zero (no intercept: the curve has none), shape
            (n, q); None for no others.

    Returns:
        The fit.

    Raises:
        ValueError: if shapes do not agree, a value is missing, too few df are left or no curve fits.
    """
    p, y = _checked(pieces, yield_g)
    project, used = np.eye(len(y)), 0
    if others is not None:
        z = np.asarray(others, dtype=float).reshape(len(y), -1)
        basis, strength, _ = np.linalg.svd(z, full_matrices=False)
        basis = basis[:, strength > 1e-9 * max(float(strength.max(initial=0.0)), 1.0)]
        project, used = project - basis @ basis.T, basis.shape[1]
    df = len(y) - used - 2
    if df < 1:
        raise ValueError(f"pieces must be given for more than {used + 2} pots, not {len(y)}")
    return _fit(p, y, project, df, known_scale=False)


def competition_curve_of_means(
    pieces: ArrayLike, mean_g: ArrayLike, covariance_g2: ArrayLike, error_df: float
) -> CompetitionCurve:
    """Fit the law to estimated means by generalised least squares with their covariance.

    Args:
        pieces: seed pieces of each mean, shape (k,), at least two different numbers.
        mean_g: estimated means, g, shape (k,).
        covariance_g2: their covariance from the analysis with blocks and boards, shape (k, k), g^2.
        error_df: error df of that analysis, for intervals.

    Returns:
        The fit; its scale is 1.

    Raises:
        ValueError: if shapes do not agree, a value is missing, or the covariance is not positive definite.
    """
    p, y = _checked(pieces, mean_g)
    covariance = np.asarray(covariance_g2, dtype=float)
    if covariance.shape != (len(y), len(y)) or np.linalg.eigvalsh(covariance).min() <= 0 or error_df <= 0:
        raise ValueError(f"covariance_g2 must be {len(y)} x {len(y)} and positive definite, and error_df > 0")
    return _fit(p, y, np.linalg.inv(np.linalg.cholesky(covariance)), error_df, known_scale=True)


def lack_of_fit(curve: CompetitionCurve) -> tuple[float, float, int, float]:
    """Return F, p and both df of the test whether the means of the levels depart from the curve.

    Pure error is what a separate mean for every number of pieces leaves, with the same additive effects (Draper &
    Smith 1998, Applied Regression Analysis, ch. 2, from memory). For means with a known covariance the departure
    itself is tested against it.

    Raises:
        ValueError: if there are only two different numbers of pieces, or no pure error.
    """
    levels = np.unique(curve.pieces)
    departure_df = len(levels) - 2
    if departure_df < 1:
        raise ValueError(f"pieces must have more than two levels to test the curve, not {len(levels)}")
    separate = curve.project @ (curve.pieces[:, None] == levels).astype(float)
    coefficients = np.linalg.lstsq(separate, curve.observed, rcond=None)[0]
    pure_ss = float(((curve.observed - separate @ coefficients) ** 2).sum())
    error_df = curve.residual_df - (0 if curve.known_scale else departure_df)
    if error_df < 1:
        raise ValueError("pieces must be replicated to test the curve")
    error_ms = 1.0 if curve.known_scale else pure_ss / error_df
    f = max(0.0, curve.residual_ss - pure_ss) / departure_df / error_ms
    return f, float(special.fdtrc(departure_df, error_df, f)), departure_df, error_df


def _checked(pieces: ArrayLike, yield_g: ArrayLike) -> tuple[Floats, Floats]:
    p, y = np.asarray(pieces, dtype=float), np.asarray(yield_g, dtype=float)
    if p.ndim != 1 or p.shape != y.shape or not np.isfinite(y).all() or not np.all(p > 0) or np.ptp(p) == 0:
        raise ValueError("pieces must be > 0 with two levels at least, yields as many and none missing")
    return p, y


def _fit(p: Floats, y: Floats, project: Floats, df: float, known_scale: bool) -> CompetitionCurve:
    observed = project @ y
    a, b = _start(p, y)
    best = _residual_ss(p, observed, project, a, b)
    for _ in range(200):
        step = _gauss_newton_step(p, observed, project, a, b)
        for halving in range(40):
            trial_a, trial_b = a + step[0] / 2**halving, b + step[1] / 2**halving
            reached = _residual_ss(p, observed, project, trial_a, trial_b)
            if reached <= best:
                break
        else:
            break
        done = best - reached <= 1e-15 * best
        a, b, best = trial_a, trial_b, reached
        if done:
            break
    slopes = project @ _slopes(p, a, b)
    if a <= 0 or np.linalg.matrix_rank(slopes / np.linalg.norm(slopes, axis=0)) < 2:
        raise ValueError("yield_g does not follow the law of competition: no lone-piece yield above zero fits")
    scale = 1.0 if known_scale else best / df
    covariance = np.asarray(np.linalg.inv(slopes.T @ slopes) * scale)
    return CompetitionCurve(float(a), float(b), covariance, best, scale, known_scale, df, p, observed, project)


def _start(p: Floats, y: Floats) -> tuple[float, float]:
    """Return a and b of the straight line p / Y = a + b p through the means of the levels."""
    levels = np.unique(p)
    means = np.array([y[p == level].mean() for level in levels])
    if np.any(means <= 0):
        raise ValueError("yield_g must have a mean above zero at every number of pieces")
    b, a = np.polyfit(levels, levels / means, 1)
    return (float(a), float(b)) if a > 0 else (1e-3 * float(levels[0] / means[0]), float(np.mean(1.0 / means)))


def _slopes(p: Floats, a: float, b: float) -> Floats:
    below = (a + b * p) ** 2
    return np.column_stack([-p / below, -(p**2) / below])


def _gauss_newton_step(p: Floats, observed: Floats, project: Floats, a: float, b: float) -> Floats:
    residual = observed - project @ (p / (a + b * p))
    # Columns are brought to one length, for a and b times p may differ by orders of magnitude.
    slopes = project @ _slopes(p, a, b)
    length = np.linalg.norm(slopes, axis=0)
    return np.asarray(np.linalg.lstsq(slopes / length, residual, rcond=None)[0] / length)


def _residual_ss(p: Floats, observed: Floats, project: Floats, a: float, b: float) -> float:
    if np.any(a + b * p <= 0):
        return math.inf
    return float(((observed - project @ (p / (a + b * p))) ** 2).sum())
