"""Wet and dry days as a chain of two states, and the rain of wet days as gamma amounts, month by month.

A day is wet or dry with a chance that depends on the day before only (Gabriel & Neumann 1962, Q. J. R. Meteorol.
Soc. 88: 90-95); what falls on a wet day is gamma distributed and independent (Richardson & Wright 1984, WGEN, USDA
ARS-8). Arrays by month have 12 entries, January first.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import digamma, polygamma

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

WET_MM = 0.1  # the resolution of most gauges and of GHCN-Daily; less is a dry day
ENOUGH_WET_DAYS = 30  # fewer, and persistence and shape of a month are taken together with its neighbours'
SMALLEST_SPREAD = 1e-4  # of logarithms: amounts that are all alike have an endless shape; this one is 5,000
SMALLEST_EXCESS_MM = 0.05  # half the resolution: an amount at the threshold has no logarithm


class RainMonths(NamedTuple):
    """The chain and the amounts of each month.

    Attributes:
        wet_after_dry, wet_after_wet: chance of a wet day.
        mean_mm: mean rain of a wet day above `WET_MM`.
        shape: of the gamma distribution of that excess.
        wet_days, days: counted in the record.
    """

    wet_after_dry: Array
    wet_after_wet: Array
    mean_mm: Array
    shape: Array
    wet_days: NDArray[np.int_]
    days: NDArray[np.int_]


def gamma_shape(amounts: ArrayLike) -> float:
    """Return the shape of a gamma distribution that fits positive amounts, by maximum likelihood.

    Newton's steps of Choi & Wette 1969 (Technometrics 11: 683-690), begun at the approximation of Thom 1958
    (Mon. Weather Rev. 86: 117-122), which alone is 1 to 3 % off at shapes of rain.

    Args:
        amounts: positive, in any unit.

    Raises:
        ValueError: if there are fewer than two amounts, or one is not positive.
    """
    x = np.asarray(amounts, dtype=float)
    if x.size < 2 or np.any(x <= 0.0):
        raise ValueError(f"amounts must be two or more positive numbers, not {amounts!r}")
    spread = max(float(np.log(x.mean()) - np.log(x).mean()), SMALLEST_SPREAD)
    shape = (1.0 + np.sqrt(1.0 + 4.0 * spread / 3.0)) / (4.0 * spread)
    for _ in range(4):  # each doubles the digits that are right
        shape -= (np.log(shape) - digamma(shape) - spread) / (1.0 / shape - polygamma(1, shape))
    return float(shape)


def stationary_wet_share(wet_after_dry: ArrayLike, wet_after_wet: ArrayLike) -> Array:
    """Return the long-run share of wet days of a chain (Gabriel & Neumann 1962)."""
    start, stay = np.asarray(wet_after_dry, dtype=float), np.asarray(wet_after_wet, dtype=float)
    return np.asarray(start / np.where(start + 1.0 - stay > 0.0, start + 1.0 - stay, 1.0))


def fit_rain_months(month: NDArray[np.int_], rain_mm: Array, follows: Flags) -> RainMonths:
    """Return the chain and the amounts of each month of a record.

    The share of wet days and the mean amount are the month's own, so that its total is kept. Persistence and shape
    need more days than a dry month has in a short record: they come from the month with its neighbours, as many as
    hold `ENOUGH_WET_DAYS`.

    Args:
        month: 1 to 12, one for each row.
        rain_mm: NaN where not measured.
        follows: whether the row before is the day before.
    """
    known = ~np.isnan(rain_mm)
    wet = known & (rain_mm >= WET_MM)
    before_wet = np.r_[False, wet[:-1]] & known & follows
    by_month = np.arange(1, 13)[:, None] == month
    days, wet_days = (by_month & known).sum(axis=1), (by_month & wet).sum(axis=1)
    share = wet_days / np.maximum(days, 1)
    excess = np.where(wet, rain_mm - WET_MM, 0.0)
    mean = np.array([excess[m].sum() for m in by_month]) / np.maximum(wet_days, 1)
    relative = np.maximum(excess, SMALLEST_EXCESS_MM) / np.maximum(mean[month - 1], SMALLEST_EXCESS_MM)
    stay, shape = np.zeros(12), np.ones(12)
    for at in range(12):
        near = _enough_months(at, wet_days)
        here = by_month[near].any(axis=0)
        after_wet = int((here & before_wet).sum())
        # a spell that no day in a short record ended may still end on the next
        most = after_wet / (after_wet + 1.0)
        stay[at] = min((here & before_wet & wet).sum() / after_wet, most) if after_wet else share[at]
        amounts = relative[here & wet]
        if amounts.size > 1:
            shape[at] = gamma_shape(amounts)
    start, stay = _kept_share(share, stay)
    return RainMonths(start, stay, mean, shape, wet_days, days)


def _enough_months(at: int, wet_days: NDArray[np.int_]) -> NDArray[np.int_]:
    """Return the month with as many neighbours on both sides as hold enough wet days."""
    for reach in range(6):
        near = np.arange(at - reach, at + reach + 1) % 12
        if wet_days[near].sum() >= ENOUGH_WET_DAYS:
            return near
    return np.arange(12)


def _kept_share(share: Array, stay: Array) -> tuple[Array, Array]:
    """Return the chances of wet after dry and after wet with this share of wet days, as close to ``stay`` as can be."""
    dry = 1.0 - share
    # start = share (1 - stay) / dry must not pass 1, so stay is at least 1 - dry / share
    stay = np.maximum(stay, 1.0 - dry / np.where(share > 0.0, share, 1.0))
    start = share * (1.0 - stay) / np.where(dry > 0.0, dry, 1.0)
    return np.where(dry > 0.0, np.clip(start, 0.0, 1.0), 1.0), np.where(dry > 0.0, np.clip(stay, 0.0, 1.0), 1.0)


def wet_days(uniform: Array, wet_after_dry: Array, wet_after_wet: Array) -> Flags:
    """Return which days are wet, the first with the chain's long-run share.

    Args:
        uniform: random numbers from 0 to 1, shape (years, days).
        wet_after_dry, wet_after_wet: chance of each day, shape (days,).
    """
    wet = np.empty(uniform.shape, dtype=bool)
    wet[:, 0] = uniform[:, 0] < stationary_wet_share(wet_after_dry[0], wet_after_wet[0])
    for day in range(1, uniform.shape[1]):
        chance = np.where(wet[:, day - 1], wet_after_wet[day], wet_after_dry[day])
        wet[:, day] = uniform[:, day] < chance
    return wet


def longest_run(flags: Flags) -> NDArray[np.int_]:
    """Return the length of the longest unbroken run of true days in each year; shape (years,) from (years, days)."""
    longest = np.zeros(flags.shape[0], dtype=int)
    length = np.zeros(flags.shape[0], dtype=int)
    for day in range(flags.shape[1]):
        length = np.where(flags[:, day], length + 1, 0)
        longest = np.maximum(longest, length)
    return longest
