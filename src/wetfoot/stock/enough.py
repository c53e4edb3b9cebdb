"""How many pots to plant when the season's yield is not known beforehand: too few against too many."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from scipy.stats import norm

# Standard normal quantiles of the season and their weights: 4,001 cells of equal width out to 8 standard deviations.
_EDGES = np.linspace(-8.0, 8.0, 4002)
_SEASON_Z = (_EDGES[:-1] + _EDGES[1:]) / 2.0
_SEASON_WEIGHT = np.diff(norm.cdf(_EDGES))


class Stake(NamedTuple):
    """What a number of pots costs in the mean: pots, shortage and surplus; kg short and over; chance to be short."""

    cost: float
    short_kg: float
    over_kg: float
    chance_short: float


def critical_ratio(short_cost: float, over_cost: float) -> float:
    """Return the chance of enough that is worth paying for: cu / (cu + co).

    >>> round(critical_ratio(37.0, 5.0), 6)
    0.880952
    """
    if short_cost <= 0 or short_cost + over_cost <= 0:
        raise ValueError("short_cost must be above 0, and more than surplus brings in")
    return short_cost / (short_cost + over_cost)


def best_stock(mean: float, sd: float, short_cost: float, over_cost: float) -> float:
    """Return the amount to hold for a normal demand: the newsvendor's quantile.

    >>> round(best_stock(400.0, 80.0, 15.0, 6.0), 2)
    445.28
    """
    return float(mean + sd * norm.ppf(critical_ratio(short_cost, over_cost)))


def best_pots(
    need_kg: float, mean_kg: float, log_sd: float, pot_cost: float, short_cost: float, over_cost: float
) -> float | None:
    """Return the number of pots that costs least if one season multiplies all pots' yield by one lognormal draw.

    K = (D / mu) exp(-s^2 / 2 - s z_phi), phi = (c / mu + co) / (cu + co): from E[Y; K Y < D] = (c + co mu) / (cu + co).

    Args:
        need_kg: kilograms that must be there.
        mean_kg: mean yield a pot.
        log_sd: standard deviation of the logarithm of the season's yield.
        pot_cost: of one more pot.
        short_cost: of a kilogram too little.
        over_cost: of a kilogram too much; negative if it can be sold.

    Returns:
        The pots, not rounded; None where a pot costs more than it can save: grow none, buy.

    Raises:
        ValueError: for amounts not above 0, or surplus that pays for any number of pots.
    """
    if min(need_kg, mean_kg, log_sd, short_cost) <= 0 or short_cost + over_cost <= 0:
        raise ValueError("need, yield, spread and cost of shortage must be above 0")
    phi = (pot_cost / mean_kg + over_cost) / (short_cost + over_cost)
    if phi >= 1.0:
        return None
    if phi <= 0.0:
        raise ValueError("over_cost: surplus pays for its pot, so no number of pots would be enough")
    return float(need_kg / mean_kg * math.exp(-(log_sd**2) / 2.0 - log_sd * norm.ppf(phi)))


def stake(
    pots: float, need_kg: float, mean_kg: float, log_sd: float, pot_cost: float, short_cost: float, over_cost: float
) -> Stake:
    """Return what a number of pots costs in the mean, with the lognormal season of `best_pots`."""
    if pots <= 0:
        return Stake(short_cost * need_kg, need_kg, 0.0, 1.0)
    location = math.log(mean_kg) - log_sd**2 / 2.0
    edge = (math.log(need_kg / pots) - location) / log_sd
    short = need_kg * norm.cdf(edge) - pots * mean_kg * norm.cdf(edge - log_sd)
    over = pots * mean_kg - need_kg + short
    cost = pot_cost * pots + short_cost * short + over_cost * over
    return Stake(float(cost), float(short), float(over), float(norm.cdf(edge)))


def chance_enough(
    pots: int, need_kg: float, mean_kg: float, survival: float, pot_cv: float, season_log_sd: float
) -> float:
    """Return the chance that so many pots give enough: pots die and differ, and one season is common to all.

    Given the season's factor (lognormal of mean 1), the sum over pots is normal with mean K q mu and variance
    K (q mu^2 (1 + CV^2) - (q mu)^2); the season is integrated over its quantiles. Its part does not shrink with K.

    Args:
        pots: pots planted.
        need_kg: kilograms that must be there.
        mean_kg: mean yield of a pot that lives.
        survival: fraction of pots that live.
        pot_cv: coefficient of variation between pots of one season.
        season_log_sd: standard deviation of the logarithm of the season's factor.

    >>> round(chance_enough(150, 400.0, 3.3, 0.95, 0.20, 0.15), 2)
    0.84
    """
    if pots < 1 or not 0.0 < survival <= 1.0 or min(pot_cv, season_log_sd) < 0 or mean_kg <= 0:
        raise ValueError("pots must be 1 or more, survival above 0 and at most 1, yield above 0, spreads 0 or more")
    season = np.exp(season_log_sd * _SEASON_Z - season_log_sd**2 / 2.0)
    mean = pots * survival * mean_kg * season
    own = mean_kg * season * math.sqrt(pots * (survival * (1.0 + pot_cv**2) - survival**2))
    own = np.maximum(own, 1e-12 * mean_kg)
    return float((_SEASON_WEIGHT * norm.sf((need_kg - mean) / own)).sum())


def pots_for_service(
    level: float,
    need_kg: float,
    mean_kg: float,
    survival: float,
    pot_cv: float,
    season_log_sd: float,
    most: int = 1_000_000,
) -> int | None:
    """Return the fewest pots that give enough with this chance (see `chance_enough`); None if not even ``most`` do."""
    if not 0.0 < level < 1.0:
        raise ValueError(f"level: {level!r} must be above 0 and below 1")
    low, high = 0, most

    def enough(pots: int) -> bool:
        return chance_enough(pots, need_kg, mean_kg, survival, pot_cv, season_log_sd) >= level

    if not enough(most):
        return None
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if enough(middle) else (middle, high)
    return high
