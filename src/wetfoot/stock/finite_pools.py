"""Pools drawn at random from a lot that is not large: what they find, and how many are needed.

The finite form of `stock.pooling`: no unit is drawn twice, and infected units that meet in one pool show once only.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaln

from wetfoot.stock.sampling import detection_probability, infected_units, sample_size

_NOTHING = 1e-17  # a chance that no longer counts


def pools_detection(pools: Iterable[int], lot: int, infected: int, sensitivity: float = 1.0) -> float:
    """Return the chance that at least one of some pools tests positive.

    1 - E[(1 - Se)^J], J the pools that hold an infected unit; pools are filled at random without putting back, so the
    infected units of one after the other are hypergeometric. With pools of one it is ISPM 31's hypergeometric form
    with imperfect tests by mixture.

    Args:
        pools: units in each pool.
        lot: units in the lot.
        infected: infected units in the lot.
        sensitivity: chance that a pool with infected units tests positive, above 0 to 1; clean pools never do.

    Raises:
        ValueError: for counts that cannot be.

    >>> round(pools_detection([10, 10], 20, 1, 0.9), 6)
    0.9
    """
    return _detection(list(pools), lot, infected, sensitivity, enough=1.0)


def _detection(pools: list[int], lot: int, infected: int, sensitivity: float, enough: float) -> float:
    """Return the chance of a positive pool, or of one among the first of them if that is enough already."""
    _check(lot, infected, sensitivity)
    if set(pools) == {1} and len(pools) <= lot:
        return detection_probability(len(pools), lot, infected, sensitivity)
    weights, left = _start(infected), lot
    for pool in pools:
        if not 1 <= pool <= left:
            raise ValueError(f"pools: {pool!r} must be 1 to the {left} units left in the lot")
        weights, left = _after(weights, pool, left, sensitivity), left - pool
        if 1.0 - weights.sum() > enough:
            break
    return float(1.0 - weights.sum())


def pools_of_lot(
    lot: int, prevalence: float, pool: int, confidence: float = 0.95, sensitivity: float = 1.0
) -> list[int] | None:
    """Return the fewest pools of a finite lot to test, as the units in each, so that the design level would show.

    Args:
        lot: units in the lot.
        prevalence: the level that must not go unseen; infected units are rounded down as ISPM 31 does.
        pool: units in a pool; the last one takes what is left of the lot.
        confidence: chance of finding it.
        sensitivity: of the test of a pool.

    Returns:
        The pools; None where the level stands for less than one unit, or all units pooled would miss it too often.

    >>> len(pools_of_lot(100, 0.05, 1))
    45
    """
    infected = infected_units(lot, prevalence)
    if not (0.0 < confidence < 1.0 and pool >= 1):
        raise ValueError(f"confidence: {confidence!r} must be above 0 and below 1, pool: {pool!r} 1 or more")
    _check(lot, infected, sensitivity)
    if pool == 1:
        size = sample_size(lot, prevalence, confidence, sensitivity)
        return None if size is None else [1] * size
    found: list[int] = []
    weights, left = _start(infected), lot
    while infected and left:
        found.append(min(pool, left))
        weights, left = _after(weights, found[-1], left, sensitivity), left - found[-1]
        if 1.0 - weights.sum() >= confidence:
            return found
    return None


def most_unseen(pools: list[int], lot: int, confidence: float = 0.95, sensitivity: float = 1.0) -> int:
    """Return how many units can be infected at most, with a certainty, if no pool was positive.

    The largest number that these pools would have missed with more than 1 - confidence: the exact one-sided bound of
    a hypergeometric count (inverted test, as Clopper and Pearson (1934) do for the binomial).
    """
    low, high = 0, lot  # more infected units are seen more surely
    while low < high:
        middle = (low + high + 1) // 2
        if _detection(pools, lot, middle, sensitivity, enough=confidence) < confidence:
            low = middle
        else:
            high = middle - 1
    return low


def _start(infected: int) -> NDArray[np.float64]:
    weights = np.zeros(infected + 1)
    weights[0] = 1.0
    return weights


def _after(weights: NDArray[np.float64], pool: int, left: int, sensitivity: float) -> NDArray[np.float64]:
    """Return the chance of being unseen after one more pool, by the infected units that are in pools by now."""
    infected = len(weights) - 1
    found = np.zeros_like(weights)
    before = np.flatnonzero(weights > _NOTHING)
    here = np.arange(0, min(pool, infected) + 1)
    chance = _hypergeometric(here[:, np.newaxis], left, infected - before, pool)
    for count in here:
        fits = before + count <= infected
        missed = 1.0 if count == 0 else 1.0 - sensitivity
        found[before[fits] + count] += (weights[before] * chance[count] * missed)[fits]
    return found


def _hypergeometric(here: NDArray[np.int64], left: int, infected: NDArray[np.int64], pool: int) -> NDArray[np.float64]:
    """Return the chance of so many infected units in a pool; zero where there are not so many.

    C(d, j) C(N - d, k - j) / C(N, k); written out, as it is called for every pool and a distribution object is slow.
    """
    logarithm = _log_choose(infected, here) + _log_choose(left - infected, pool - here)
    return np.asarray(np.exp(logarithm - _log_choose(np.asarray(left), np.asarray(pool))))


def _log_choose(n: NDArray[np.int64], k: NDArray[np.int64]) -> NDArray[np.float64]:
    """Return ln C(n, k); minus infinity where k is below 0 or above n, as there gammaln is infinite."""
    return np.asarray(gammaln(n + 1) - gammaln(k + 1) - gammaln(n - k + 1))


def _check(lot: int, infected: int, sensitivity: float) -> None:
    if not (lot >= 1 and 0 <= infected <= lot):
        raise ValueError(f"infected: {infected!r} must be 0 to {lot!r} in a lot of at least 1")
    if not 0.0 < sensitivity <= 1.0:
        raise ValueError(f"sensitivity: {sensitivity!r} must be above 0 and at most 1")
