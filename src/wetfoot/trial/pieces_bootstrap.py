"""The best number of pieces from resampled pots: a check on its profile interval."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wetfoot.trial.best_pieces import best_number

Floats = NDArray[np.float64]


def bootstrap_best_numbers(
    pieces: ArrayLike, yield_g: ArrayLike, seed_g: float, draws: int = 2000, seed: int = 1
) -> Floats:
    """Return the best number from each of many resamples of the pots.

    Bootstrap of pots within each number of pieces, as the design fixed it (Efron & Tibshirani 1993, An Introduction
    to the Bootstrap, from memory). The law needs only the mean of each number, so all resamples are fitted at once.

    Args:
        pieces: seed pieces of each pot, shape (n,), at least two different numbers.
        yield_g: yield of each pot, g, shape (n,), none missing.
        seed_g: as in `best_number`.
        draws: resamples.
        seed: of the resampling.

    Returns:
        Shape (draws,) or less: resamples that no curve fits are left out.

    Raises:
        ValueError: if shapes do not agree, a value is missing or there is one number of pieces only.
    """
    p, y = np.asarray(pieces, dtype=float), np.asarray(yield_g, dtype=float)
    levels = np.unique(p)
    if p.shape != y.shape or not np.isfinite(y).all() or len(levels) < 2:
        raise ValueError("pieces need two levels at least, yields must be as many and none missing")
    generator = np.random.default_rng(seed)
    pots = [y[p == level] for level in levels]
    means = np.stack([generator.choice(of, (draws, len(of))).mean(axis=1) for of in pots], axis=1)
    a, b = _many_curves(levels, np.array([float(len(of)) for of in pots]), means)
    fitted = np.isfinite(a) & np.isfinite(b) & (a > 0)
    return best_number(a[fitted], b[fitted], seed_g)


def _many_curves(levels: Floats, counts: Floats, means: Floats) -> tuple[Floats, Floats]:
    """Return a and b of every row of means by Gauss-Newton, from the straight line p / Y = a + b p."""
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        a, b = _weighted_line(counts, np.ones_like(means), np.broadcast_to(levels, means.shape), levels / means)
        for _ in range(60):
            below = a[:, None] + b[:, None] * levels
            step_a, step_b = _weighted_line(counts, -levels / below**2, -(levels**2) / below**2, means - levels / below)
            a, b = a + step_a, b + step_b
    return a, b


def _weighted_line(weights: Floats, u: Floats, v: Floats, y: Floats) -> tuple[Floats, Floats]:
    """Return the weighted least-squares coefficients of y on u and v, row by row."""
    uu, uv, vv = (weights * u * u).sum(1), (weights * u * v).sum(1), (weights * v * v).sum(1)
    uy, vy = (weights * u * y).sum(1), (weights * v * y).sum(1)
    determinant = uu * vv - uv**2
    return (vv * uy - uv * vy) / determinant, (uu * vy - uv * uy) / determinant
