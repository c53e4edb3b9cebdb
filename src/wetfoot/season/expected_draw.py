"""What the season's model expects the tank to give, for a grid of water-use multipliers and every weather year.

Rain and the pots' own store stand between what a bench drinks and what its tank gives, so that a crop that drinks 15 %
more draws more than 15 % more. The draw is therefore simulated for each multiplier and never scaled.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from wetfoot.plan.model import Plan
from wetfoot.season import columns as c
from wetfoot.season.bench import bench_arrays
from wetfoot.season.drivers import drivers, warmth_of_calendar
from wetfoot.season.feed import ec_scale
from wetfoot.season.own_weather import Gauge, known_weather
from wetfoot.season.run import SeasonCourse, simulate_season
from wetfoot.weather.seasons import Seasons

Array = NDArray[np.float64]

FACTORS = (0.4, 0.6, 0.8, 1.0, 1.25, 1.6, 2.2)
# Spread of one day's draw against the model in the season's own weather, as a share of what the bench drinks in it
# (standard deviation): an estimate.
OWN_WEATHER_CV = 0.15


class ExpectedDraw(NamedTuple):
    """What the tank is expected to give.

    Attributes:
        factors: multipliers of water use, rising; shape (factors,).
        drawn_l: from the tank on each day, shape (factors, years, days).
        demand_l: what all pots drink and evaporate with multiplier 1, mean of the years, shape (days,).
        source: what is known of each day's weather (see `own_weather`), shape (days,).
        weather_cv: spread of a day's draw by weather that is not known, over `demand_l`, shape (factors, days).
        other_years: how many different years stand for what is not known (some may be taken on dates near by too).
    """

    factors: Array
    drawn_l: Array
    demand_l: Array
    source: NDArray[np.int_]
    weather_cv: Array
    other_years: int = 0


def expected_draw(
    plan: Plan, seasons: Seasons, gauge: Sequence[Gauge] = (), factors: Sequence[float] = FACTORS
) -> ExpectedDraw:
    """Return the expected draw of a plan, in the season's own weather as far as it is known.

    Args:
        plan: the plan.
        seasons: the weather's years.
        gauge: rain by the gauge.
        factors: multipliers of water use to simulate, rising, with 1 among them.

    Raises:
        ValueError: if 1 is not among the factors.
    """
    if 1.0 not in factors:
        raise ValueError(f"factors: 1 must be among them, not {tuple(factors)!r}")
    known = known_weather(seasons, gauge)
    bench, scale, warmth = bench_arrays(plan), ec_scale(plan), warmth_of_calendar(plan.crop, seasons.runs)
    courses = [
        [simulate_season(bench, scale, drivers(plan, run, warmth, factor), run.dates) for run in known.runs]
        for factor in factors
    ]
    drawn, plain = np.array([[course.tank[:, c.DRAWN_L] for course in row] for row in courses]), factors.index(1.0)
    demand = np.mean([_demand_l(course) for course in courses[plain]], axis=0)
    return ExpectedDraw(
        factors=np.array(factors, dtype=float),
        drawn_l=drawn,
        demand_l=demand,
        source=known.source,
        weather_cv=weather_cv(drawn, demand, known.source, persistence(drawn[plain])),
        other_years=known.years,
    )


def _demand_l(course: SeasonCourse) -> Array:
    per_pot = course.banks[:, :, c.UPTAKE_L] + course.banks[:, :, c.EVAPORATION_L]
    return np.asarray(per_pot @ course.bench.pots)


def drawn_between(expected: ExpectedDraw, start_d: float, end_d: float) -> Array:
    """Return the litres drawn between two times, shape (factors, years).

    A day's draw is spread as its demand is: a half sine from 6 to 18 hours. There is none outside the season.

    Args:
        expected: the expected draw.
        start_d, end_d: days after planting, with their fraction.
    """
    return _cumulative(expected.drawn_l, end_d) - _cumulative(expected.drawn_l, start_d)


def model_sd_l(expected: ExpectedDraw, start_d: float, end_d: float) -> Array:
    """Return the model's error of the draw between two times for each multiplier, as a standard deviation.

    Days err as in `day_by_day_sd_l`, and by what is not known of their weather (`weather_cv`).
    """
    weather = (expected.weather_cv * expected.demand_l) ** 2
    squared = _cumulative(weather, end_d) - _cumulative(weather, start_d)
    own = day_by_day_sd_l(expected, start_d, end_d) * expected.factors
    return np.asarray(np.sqrt(own**2 + np.maximum(squared, 0.0)))


def weather_cv(drawn_l: Array, demand_l: Array, source: NDArray[np.int_], persistent: float) -> Array:
    """Return the spread of a day's draw by weather that is not known, as a share of demand; shape (factors, days).

    It is that of weeks' sums between the years, in the mean of all weeks of which as much is known, as one week's
    spread between a few years tells little; of n years, that of a next one is larger by 1/n. Weeks are taken to err
    independently later on, which `persistent` makes up for.

    Args:
        drawn_l: shape (factors, years, days).
        demand_l: shape (days,).
        source: what is known of each day's weather, shape (days,).
        persistent: by how much sums over many weeks vary more than of independent ones.
    """
    factors, years, days = drawn_l.shape
    found = np.zeros((factors, days))
    whole = 7 * (days // 7)
    if years == 1 or not whole:
        return found
    spread = drawn_l[..., :whole].reshape(factors, years, -1, 7).sum(axis=-1).var(axis=1, ddof=1)
    demand = (demand_l[:whole].reshape(-1, 7) ** 2).sum(axis=-1)
    least = source[:whole].reshape(-1, 7).min(axis=-1)
    for known in np.unique(least):
        weeks = least == known
        squared = (1.0 + 1.0 / years) * persistent * spread[:, weeks].sum(axis=1) / max(demand[weeks].sum(), 1e-12)
        found[:, source == known] = np.sqrt(squared)[:, None]
    return found


def persistence(drawn_l: Array) -> float:
    """Return by how much sums over many weeks vary more than if weeks were independent, at least 1.

    The variance of a week's draw between years and its covariances with the two weeks before and after it, over the
    variance, in the mean of the season: what a chart's spread needs where its values hang together (Johnson & Bagshaw
    1974, Technometrics 16, 103-112).

    Args:
        drawn_l: by year and day.
    """
    weeks = drawn_l.shape[-1] // 7
    sums = drawn_l[:, : 7 * weeks].reshape(len(drawn_l), weeks, 7).sum(axis=2)
    off = sums - sums.mean(axis=0)
    own = float((off**2).sum())
    shared = sum(float((off[:, lag:] * off[:, :-lag]).sum()) for lag in (1, 2))
    return max(1.0, 1.0 + 2.0 * shared / own) if own > 0.0 else 1.0


def day_by_day_sd_l(expected: ExpectedDraw, start_d: float, end_d: float) -> float:
    """Return the error of the draw between two times, of days that err independently, as a standard deviation.

    By `OWN_WEATHER_CV` of each day's demand.
    """
    squared = float(_cumulative(expected.demand_l**2, end_d) - _cumulative(expected.demand_l**2, start_d))
    return OWN_WEATHER_CV * float(np.sqrt(max(squared, 0.0)))


def _cumulative(daily: Array, at_d: float) -> Array:
    """Return the sum from planting to a time, days last."""
    days = daily.shape[-1]
    whole = int(np.clip(np.floor(at_d), 0, days))
    hour = np.clip(24.0 * (at_d - whole), 6.0, 18.0)
    share = 0.5 * (1.0 - np.cos(np.pi * (hour - 6.0) / 12.0))
    today = share * daily[..., whole] if whole < days else 0.0
    return np.asarray(daily[..., :whole].sum(axis=-1) + today)
