"""Testing many units in one: pools, pieces that sit in pots, and what a pool can still see."""

from __future__ import annotations

import math
from typing import NamedTuple

from wetfoot.stock.sampling import Sides, prevalence_bounds


class PooledPrevalence(NamedTuple):
    """The prevalence that pooled tests speak for: likeliest value and bounds, as fractions."""

    likeliest: float
    low: float
    high: float


def pool_detection(prevalence: float, pool: int, sensitivity: float = 1.0) -> float:
    """Return the chance that one pool tests positive: Se (1 - (1 - p)^k), with perfect specificity."""
    _check(prevalence, pool, sensitivity)
    return float(sensitivity * (1.0 - (1.0 - prevalence) ** pool))


def pools_needed(prevalence: float, pool: int, confidence: float = 0.95, sensitivity: float = 1.0) -> int:
    """Return the pools to test so that the design prevalence would show in at least one.

    >>> pools_needed(0.01, 10, 0.95, 0.9)
    34
    """
    if not 0.0 < confidence < 1.0:
        raise ValueError(f"confidence: {confidence!r} must be above 0 and below 1")
    seen = pool_detection(prevalence, pool, sensitivity)
    return math.ceil(math.log(1.0 - confidence) / math.log1p(-seen) - 1e-9) if seen < 1.0 else 1


def prevalence_from_pools(
    positives: int, pools: int, pool: int, confidence: float = 0.95, sides: Sides = "both"
) -> PooledPrevalence:
    """Return the prevalence among units from tests of pools of equal size.

    p = 1 - (1 - x/m)^(1/k), and the same of the exact bounds on x/m.

    >>> round(prevalence_from_pools(1, 20, 10).likeliest, 7)
    0.0051162
    """
    _check(0.5, pool, 1.0)
    bounds = prevalence_bounds(positives, pools, confidence, sides)

    def of_units(share: float) -> float:
        return 1.0 - float((1.0 - share) ** (1.0 / pool))

    return PooledPrevalence(of_units(positives / pools), of_units(bounds.low), of_units(bounds.high))


def assays_per_unit(prevalence: float, pool: int) -> float:
    """Return the tests a unit costs if every positive pool is tested again unit by unit.

    1/k + 1 - (1 - p)^k: Dorfman (1943), Ann. Math. Statist. 14:436.
    """
    _check(prevalence, pool, 1.0)
    return 1.0 if pool == 1 else 1.0 / pool + 1.0 - (1.0 - prevalence) ** pool


def cheapest_pool(prevalence: float, largest: int = 200) -> int:
    """Return the pool size that costs the fewest tests with retests; 1 where pooling gains nothing.

    >>> cheapest_pool(0.01)
    11
    """
    return min(range(1, largest + 1), key=lambda pool: assays_per_unit(prevalence, pool))


def largest_pool(units_per_ml_in_one: float, least_seen_per_ml: float) -> int:
    """Return the most units in a pool whose single infected unit still reaches the test's limit of detection."""
    if units_per_ml_in_one <= 0 or least_seen_per_ml <= 0:
        raise ValueError("concentrations must be above 0")
    return math.floor(units_per_ml_in_one / least_seen_per_ml + 1e-9)


def cluster_detection(
    pots: int, pieces_each: int, pot_prevalence: float, within_pot: float, sensitivity: float = 1.0
) -> float:
    """Return the chance of finding an infection by so many pieces from each of so many pots.

    1 - (1 - P (1 - (1 - w Se)^b))^a: pieces of one pot share its fate, so pots count for more than pieces.

    >>> round(cluster_detection(60, 1, 0.05, 0.4, 0.9), 5)
    0.66373
    """
    if pots < 1 or pieces_each < 1:
        raise ValueError(f"pots and pieces_each must be 1 or more, not {pots} and {pieces_each}")
    _check(pot_prevalence, 1, sensitivity)
    if not 0.0 < within_pot <= 1.0:
        raise ValueError(f"within_pot: {within_pot!r} must be above 0 and at most 1")
    seen_in_pot = 1.0 - (1.0 - within_pot * sensitivity) ** pieces_each
    return float(1.0 - (1.0 - pot_prevalence * seen_in_pot) ** pots)


def independent_pieces(pots: int, pieces_each: int, alike: float) -> float:
    """Return how many independent pieces a sample is worth: n / (1 + (b - 1) rho), Kish's design effect."""
    if not 0.0 <= alike <= 1.0:
        raise ValueError(f"alike: {alike!r} must be 0 to 1")
    return pots * pieces_each / (1.0 + (pieces_each - 1) * alike)


def _check(prevalence: float, pool: int, sensitivity: float) -> None:
    if not 0.0 < prevalence < 1.0:
        raise ValueError(f"prevalence: {prevalence!r} must be above 0 and below 1")
    if pool < 1:
        raise ValueError(f"pool: {pool!r} must be 1 or more")
    if not 0.0 < sensitivity <= 1.0:
        raise ValueError(f"sensitivity: {sensitivity!r} must be above 0 and at most 1")
