"""Proportions of pots in which something happened, and their intervals."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special

Floats = NDArray[np.float64]


def firth_log_odds(happened: ArrayLike, pots: ArrayLike) -> Floats:
    """Return Firth's log-odds of each treatment when each has its own chance: half a pot added to every cell.

    Args:
        happened: pots in which it happened, per treatment.
        pots: pots of each treatment.

    Returns:
        log((k + 1/2) / (n - k + 1/2)), same shape; differences are the log odds ratios of 2 x 2 tables.

    Raises:
        ValueError: if a count is not possible.
    """
    k, n = _counts(happened, pots)
    return np.asarray(np.log((k + 0.5) / (n - k + 0.5)))


def _counts(happened: ArrayLike, pots: ArrayLike) -> tuple[Floats, Floats]:
    k, n = np.asarray(happened, dtype=float), np.asarray(pots, dtype=float)
    if np.any(n < 1) or np.any(k < 0) or np.any(k > n):
        raise ValueError(f"happened must be between 0 and pots, and pots at least 1, not {k} of {n}")
    return k, n


def wilson_interval(happened: ArrayLike, pots: ArrayLike, level: float = 0.95) -> tuple[Floats, Floats]:
    """Return the score interval of a proportion (Wilson 1927, from memory); arrays broadcast.

    Raises:
        ValueError: if a count is not possible.
    """
    k, n = _counts(happened, pots)
    z2 = float(special.ndtri(0.5 + level / 2.0)) ** 2
    centre = (k + z2 / 2.0) / (n + z2)
    half = np.sqrt(z2 * (k * (n - k) / n + z2 / 4.0)) / (n + z2)
    return np.asarray(np.where(k == 0, 0.0, centre - half)), np.asarray(np.where(k == n, 1.0, centre + half))


def clopper_pearson_interval(
    happened: ArrayLike, pots: ArrayLike, level: float = 0.95, one_sided: bool = False
) -> tuple[Floats, Floats]:
    """Return the exact interval of a proportion (Clopper & Pearson 1934, from memory); arrays broadcast.

    Args:
        happened: pots in which it happened.
        pots: pots looked at.
        level: confidence level.
        one_sided: put all the error on one side, for a single bound: 0 in n then has the upper bound
            1 - (1 - level)^(1/n).

    Returns:
        Lower and upper bounds.

    Raises:
        ValueError: if a count is not possible.
    """
    k, n = _counts(happened, pots)
    tail = (1.0 - level) / (1.0 if one_sided else 2.0)
    lower = np.where(k > 0, special.betaincinv(np.maximum(k, 1.0), n - k + 1.0, tail), 0.0)
    upper = np.where(k < n, special.betaincinv(k + 1.0, np.maximum(n - k, 1.0), 1.0 - tail), 1.0)
    return np.asarray(lower), np.asarray(upper)
