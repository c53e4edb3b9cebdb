"""The season's weather as far as it is known: measured days, rain by the gauge, and other years' weather for the rest.

What is not known of a day is taken from another year, so that there are as many courses of the season as there are
years in the record and their spread says what is not known. A typical year, or very few, show no such spread: the same
year is then taken again with its rain and sun moved by up to 24 days. Where only the sum of rain over some days is
known, each year gives those of its days within a fortnight of the same dates whose rain comes nearest to it, with their
sun and wind, as wet days are dull; their rain is then scaled to the sum. These are analogues (Zorita & von Storch 1999,
J. Climate 12, 2474-2489; from memory), one from each year.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from wetfoot.weather.seasons import Seasons, SeasonWeather

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

OTHER_YEARS, GAUGE, MEASURED = 0, 1, 2  # what is known of a day: nothing, a sum of rain that it is in, its weather
ENOUGH_YEARS = 4  # fewer do not show how years differ
MOVED_D = (0, -24, -16, -8, 8, 16, 24)  # then each is taken on other dates near by too
WITHIN_D = 15  # how far an analogue may be from the same dates
LONGEST_D = 45.0  # a gauge left longer has run over or dried out: common practice, no source
WITH_RAIN = ("rain_mm", "eto_mm", "solar_mj_m2", "wind_2m_m_s")  # what goes along with wet and dry days
BY_DAY = ("tmin_c", "tmax_c", *WITH_RAIN)


class Gauge(NamedTuple):
    """Rain that fell between two times, in days after planting."""

    start_d: float
    end_d: float
    rain_mm: float


class KnownWeather(NamedTuple):
    """The season's weather as far as it is known.

    Attributes:
        runs: courses of the season that agree with all that is known of it.
        source: what is known of each day, shape (days,).
        years: how many different years they are made of, the season itself not among them.
    """

    runs: tuple[SeasonWeather, ...]
    source: NDArray[np.int_]
    years: int


def known_weather(laid: Seasons, gauge: Sequence[Gauge] = ()) -> KnownWeather:
    """Return the season's weather as far as it is known, one course for each year of the rest.

    A gauge at the bench outranks the file's rain: the days of its readings keep the file's course and get its sum.

    Args:
        laid: the weather's years, and the season itself as far as the record holds it.
        gauge: rain by the gauge, each from one visit to the next.
    """
    days = len(laid.runs[0].dates)
    measured = np.zeros(days, dtype=bool) if laid.own is None else _whole(laid.own)
    source = np.where(measured, MEASURED, OTHER_YEARS)
    spans = [span for span in map(_span, gauge) if 0 <= span.start < span.stop <= days]
    sums = {span: sum(one.rain_mm for one in gauge if _span(one) == span) for span in spans}
    for span in sums:
        source[span.start : span.stop] = np.maximum(source[span.start : span.stop], GAUGE)
    others = [run for run in laid.runs if laid.own is None or run.dates != laid.own.dates or run.origin]
    years = len(others)
    if years < ENOUGH_YEARS:
        others = [_moved(run, by_d) for by_d in MOVED_D for run in others]
    rest = (laid.own,) if laid.own is not None and measured.all() else tuple(others)
    return KnownWeather(tuple(_course(run, laid.own, measured, sums) for run in rest), source, years)


def _whole(run: SeasonWeather) -> Flags:
    return np.asarray(~np.isnan(np.stack([run.tmin_c, run.tmax_c, run.rain_mm])).any(axis=0))


def _span(one: Gauge) -> range:
    """Return the whole days of a reading: rain on the day of a morning visit counts to the next; none if too long."""
    return range(round(one.start_d), round(one.end_d) if one.end_d - one.start_d <= LONGEST_D else 0)


def _moved(run: SeasonWeather, by_d: int) -> SeasonWeather:
    """Return a year with the rain and sun of some days later; beyond its ends the days come back in turn.

    Temperatures stay, as moved they would have the canopy stand weeks earlier or later.
    """
    last = len(run.dates) - 1
    at = last - np.abs(last - np.abs(np.arange(len(run.dates)) + by_d))
    return replace(run, **{name: getattr(run, name)[at] for name in WITH_RAIN})


def _course(run: SeasonWeather, own: SeasonWeather | None, measured: Flags, sums: dict[range, float]) -> SeasonWeather:
    """Return one year's weather, bent to what is known."""
    days = {name: getattr(run, name).copy() for name in BY_DAY}
    for span, rain_mm in sums.items():
        at = np.array(span)
        like = _nearest(run.rain_mm, at, rain_mm)
        for name in WITH_RAIN:
            days[name][at] = getattr(run, name)[like]
    if own is not None:
        for name, values in days.items():
            values[measured] = getattr(own, name)[measured]
    for span, rain_mm in sums.items():
        _scale(days["rain_mm"], np.array(span), measured, rain_mm)
    return replace(run, **days)


def _nearest(rain_mm: Array, at: NDArray[np.int_], sum_mm: float) -> NDArray[np.int_]:
    """Return the days within a fortnight of some days whose rain comes nearest to a sum; the least moved first."""
    shifts = sorted(range(-WITHIN_D, WITHIN_D + 1), key=abs)
    moved = [at + shift for shift in shifts if at[0] + shift >= 0 and at[-1] + shift < len(rain_mm)]
    return min(moved, key=lambda days: abs(np.log1p(rain_mm[days].sum()) - np.log1p(sum_mm)))


def _scale(rain_mm: Array, at: NDArray[np.int_], measured: Flags, sum_mm: float) -> None:
    """Bring the rain of some days to a sum, in place: of those not measured, as long as any is left for them."""
    free = at[~measured[at]] if not measured[at].all() else at
    left = sum_mm - (rain_mm[at].sum() - rain_mm[free].sum())
    if left < 0.0:
        free, left = at, sum_mm
    there = rain_mm[free].sum()
    rain_mm[free] = rain_mm[free] * left / there if there > 0.0 else left / len(free)
