"""Does the tank fall faster than the crop drinks: charts over the readings, and how large a leak would explain it.

A multiplier of water use scales with demand and holds from the start; a leak is constant and begins at a time. They are
told apart one after the other: each stretch is judged by what the stretches before it taught of the multiplier, and the
charts run over these surprises; only once they signal are multiplier and leak estimated together, with the leak from
the change on. What a multiplier can take up of a leak it takes up slowly, as all stretches weigh alike.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.special import logsumexp

from wetfoot.season.learn import Belief, Evidence, Range, learn, surprise, weighted_range

Array = NDArray[np.float64]

K, H = 0.5, 5.0  # reference value and decision interval (Montgomery, Introduction to Statistical Quality Control)
EWMA_WEIGHT, EWMA_WIDTH = 0.2, 2.962  # one false alarm in 500 readings (Lucas & Saccucci 1990)
LEAK_POINTS = 121


class Chart(NamedTuple):
    """A two-sided chart over the readings: how far up and down, each 0 or more; shape (readings, ...)."""

    upper: Array
    lower: Array


def cusum(residuals: Array, k: float = K) -> Chart:
    """Return the two-sided tabular CUSUM: C+ = max(0, C+ + x - k), C- = max(0, C- - x - k).

    Args:
        residuals: standardised, readings first; one that is not a number sets both sides back to zero.
        k: reference value, in spreads.

    References: Page 1954, Biometrika 41, 100-115.
    """
    upper, lower = np.zeros_like(residuals), np.zeros_like(residuals)
    up = down = np.zeros(residuals.shape[1:])
    for at, residual in enumerate(residuals):
        up = np.nan_to_num(np.maximum(up + residual - k, 0.0))
        down = np.nan_to_num(np.maximum(down - residual - k, 0.0))
        upper[at], lower[at] = up, down
    return Chart(upper, lower)


def ewma(residuals: Array, weight: float = EWMA_WEIGHT) -> Array:
    """Return the exponentially weighted moving average over its lasting spread; a signal is beyond `EWMA_WIDTH`.

    Args:
        residuals: standardised; one that is not a number sets the average back to zero.
        weight: of the newest.

    References: Roberts 1959, Technometrics 1, 239-250; Lucas & Saccucci 1990, Technometrics 32, 1-12.
    """
    found, average = np.zeros(len(residuals)), 0.0
    for at, residual in enumerate(residuals):
        average = 0.0 if np.isnan(residual) else weight * residual + (1.0 - weight) * average
        found[at] = average
    return np.asarray(found / np.sqrt(weight / (2.0 - weight)))


def last_change(side: Array) -> int:
    """Return the first reading of the present run away from zero of one side of a CUSUM; its length if at zero."""
    zeros = np.flatnonzero(side == 0.0)
    return int(zeros[-1]) + 1 if zeros.size else 0


@dataclass(frozen=True)
class Watch:
    """The charts over a season's stretches, and what is known of the multiplier.

    Attributes:
        residuals: the surprise of each stretch; not a number where it was known to leak;
            0 or more where the tank was emptied.
        chart: their CUSUM.
        average: their EWMA, over its spread.
        known: the multiplier, from every stretch that was not known to leak.
        leaking: which stretches were known to leak, as somebody found it.
    """

    residuals: Array
    chart: Chart
    average: Array
    known: Belief
    leaking: NDArray[np.bool_]


def watch(
    before: Belief, all_found: Sequence[Evidence], mended_d: Sequence[float] = (), k: float = K, h: float = H
) -> Watch:
    """Return the charts over a season's stretches, in order of time.

    Where a leak was found and mended, the charts start anew, and the stretches since it likely began (if
    they had signalled; else the one in which it was found) teach nothing of the multiplier.

    Args:
        before: the multiplier before any reading.
        all_found: the stretches.
        mended_d: days after planting on which a leak was found.
        k, h: constants of the CUSUM.
    """
    leaking = np.zeros(len(all_found), dtype=bool)
    for day in sorted(mended_d):
        at = _stretch_at(all_found, day)
        if at is None:
            continue
        until = slice(0, at + 1)
        told = found_leak(before, all_found[until], _pass(before, all_found[until], leaking[until], k), h)
        since_d = told.since_d if told else all_found[at].stretch.start_d
        leaking |= np.array([since_d <= found.stretch.start_d <= all_found[at].stretch.start_d for found in all_found])
    return _pass(before, all_found, leaking, k)


def _stretch_at(all_found: Sequence[Evidence], day: float) -> int | None:
    """Return the last stretch that a day is in or after; None before the first."""
    started = [at for at, found in enumerate(all_found) if found.stretch.start_d < day]
    return started[-1] if started else None


def _pass(before: Belief, all_found: Sequence[Evidence], leaking: NDArray[np.bool_], k: float) -> Watch:
    known, residuals = before, np.full(len(all_found), np.nan)
    for at, found in enumerate(all_found):
        if leaking[at]:
            continue
        off = surprise(known, found)
        # an emptied tank shows less than was wanted: it says something only if that is more than was expected
        residuals[at] = max(off, 0.0) if found.stretch.emptied else off
        known = learn(known, found)
    return Watch(residuals, cusum(residuals, k), ewma(residuals), known, leaking)


@dataclass(frozen=True)
class Leak:
    """What a leak would have to be to explain the readings.

    Attributes:
        earliest_d: start of the first stretch in which it may show, in days after planting.
        since_d: start of the stretch from which it most likely shows.
        l_d: litres a day.
        known: the multiplier, with the leak taken out of the stretches.
        readings: how many stretches it may show in.
        odds: how much likelier the readings are with the likeliest leak than with none, multiplier averaged over.
    """

    earliest_d: float
    since_d: float
    l_d: Range
    known: Belief
    readings: int
    odds: float


def leak(before: Belief, all_found: Sequence[Evidence], first: int, most_l_d: float) -> Leak:
    """Return multiplier and leak, estimated together, with a leak from one of the stretches on to the last.

    Beforehand any beginning from the first stretch on is as likely, and any leak from nothing to the most.

    Args:
        before: the multiplier before any reading.
        all_found: the stretches, without those known to leak for another reason.
        first: the first of them in which it may leak.
        most_l_d: litres a day that no leak is above.

    Raises:
        ValueError: if there is no such stretch, or the most is not above 0.
    """
    if not 0 <= first < len(all_found) or not most_l_d > 0.0:
        raise ValueError(f"first must be one of {len(all_found)} stretches and most_l_d above 0")
    rates, starts = np.linspace(0.0, most_l_d, LEAK_POINTS), np.arange(first, len(all_found))
    cells = (len(starts), LEAK_POINTS, len(before.ln_factor))
    known = before._replace(log_weight=np.broadcast_to(before.log_weight, cells))
    for at, found in enumerate(all_found):
        leaking = (starts <= at)[:, None, None] * found.stretch.days
        known = learn(known, found, rates[None, :, None] * leaking)
    by_rate, by_start = logsumexp(known.log_weight, axis=(0, 2)), logsumexp(known.log_weight, axis=(1, 2))
    return Leak(
        earliest_d=all_found[first].stretch.start_d,
        since_d=all_found[int(starts[by_start.argmax()])].stretch.start_d,
        l_d=weighted_range(rates, np.exp(by_rate)),
        known=before._replace(log_weight=logsumexp(known.log_weight, axis=(0, 1))),
        readings=len(starts),
        odds=float(np.exp(min(by_rate.max() - by_rate[0], 700.0))),
    )


def found_leak(before: Belief, all_found: Sequence[Evidence], seen: Watch, h: float = H) -> Leak | None:
    """Return the leak that the CUSUM signals at its last reading; None if it does not.

    The change is put after the last reading at which the upper side stood at zero (Montgomery, the same book).
    """
    if not len(all_found) or seen.chart.upper[-1] <= h:
        return None
    first = last_change(seen.chart.upper)
    kept = [at for at in range(len(all_found)) if not seen.leaking[at]]
    found = [all_found[at] for at in kept]
    # no leak is larger than all that the tank lost
    lost = [(item.stretch.drawn_l + 3.0 * item.stretch.error_sd_l) / item.stretch.days for item in found]
    most = max(lost[kept.index(first) :])
    return leak(before, found, kept.index(first), most)


def hours_until(litres: float, cumulative_l: Array, hours: Array) -> float:
    """Return after how many hours so much has been drawn; endless if it is not within what is given.

    Args:
        litres: what can be drawn.
        cumulative_l: drawn by each hour, never falling, beginning with 0.
        hours: rising, beginning with 0.
    """
    if litres <= 0.0:
        return 0.0
    if cumulative_l[-1] < litres:
        return float("inf")
    at = int(np.searchsorted(cumulative_l, litres))
    below, above = cumulative_l[at - 1], cumulative_l[at]
    return float(hours[at - 1] + (hours[at] - hours[at - 1]) * (litres - below) / (above - below))
