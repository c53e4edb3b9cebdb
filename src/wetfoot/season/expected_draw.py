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
from wetfoot.season.run import SeasonCourse, simulate_season
from wetfoot.weather.seasons import Seasons

Array = NDArray[np.float64]

FACTORS = (0.4, 0.6, 0.8, 1.0, 1.25, 1.6, 2.2)
# Spread of one day's draw against the model, as a share of what the bench drinks in it (standard deviation): in the
# season's own weather, and where the weather is that of other years. Estimates.
OWN_WEATHER_CV = 0.15
OTHER_WEATHER_CV = 0.35
ENOUGH_YEARS = 4


class ExpectedDraw(NamedTuple):
    """What the tank is expected to give.

    Attributes:
        factors: multipliers of water use, rising; shape (factors,).
        drawn_l: from the tank on each day, shape (factors, years, days).
        demand_l: what all pots drink and evaporate with multiplier 1, mean of the years, shape (days,).
        own_weather: whether the one year is that of the season itself.
    """

    factors: Array
    drawn_l: Array
    demand_l: Array
    own_weather: bool


def expected_draw(plan: Plan, seasons: Seasons, factors: Sequence[float] = FACTORS) -> ExpectedDraw:
    """Return the expected draw of a plan; on the season's own weather alone, where the record holds it.

    Args:
        plan: the plan.
        seasons: the weather's years.
        factors: multipliers of water use to simulate, rising, with 1 among them.

    Raises:
        ValueError: if 1 is not among the factors.
    """
    if 1.0 not in factors:
        raise ValueError(f"factors: 1 must be among them, not {tuple(factors)!r}")
    own = [run for run in seasons.runs if run.dates[0] == plan.crop.planting and not seasons.composed]
    bench, scale, warmth = bench_arrays(plan), ec_scale(plan), warmth_of_calendar(plan.crop, seasons.runs)
    courses = [
        [simulate_season(bench, scale, drivers(plan, run, warmth, factor), run.dates) for run in own or seasons.runs]
        for factor in factors
    ]
    return ExpectedDraw(
        factors=np.array(factors, dtype=float),
        drawn_l=np.array([[course.tank[:, c.DRAWN_L] for course in row] for row in courses]),
        demand_l=np.mean([_demand_l(course) for course in courses[list(factors).index(1.0)]], axis=0),
        own_weather=bool(own),
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


def model_sd_l(expected: ExpectedDraw, start_d: float, end_d: float) -> float:
    """Return the model's error of the draw between two times with multiplier 1, as a standard deviation.

    Days err as in `day_by_day_sd_l`; other years than the season's own, if there are `ENOUGH_YEARS` of them, differ by
    the spread between them besides.
    """
    years = drawn_between(expected, start_d, end_d)[list(expected.factors).index(1.0)]
    between = float(np.var(years, ddof=1)) if len(years) >= ENOUGH_YEARS else 0.0
    return float(np.sqrt(day_by_day_sd_l(expected, start_d, end_d) ** 2 + between))


def day_by_day_sd_l(expected: ExpectedDraw, start_d: float, end_d: float) -> float:
    """Return the error of the draw between two times, of days that err independently, as a standard deviation.

    By `OWN_WEATHER_CV` of each day's demand, or `OTHER_WEATHER_CV` where a few years of other weather stand for it.
    """
    known = expected.own_weather or expected.drawn_l.shape[1] >= ENOUGH_YEARS
    squared = float(_cumulative(expected.demand_l**2, end_d) - _cumulative(expected.demand_l**2, start_d))
    return (OWN_WEATHER_CV if known else OTHER_WEATHER_CV) * float(np.sqrt(max(squared, 0.0)))


def _cumulative(daily: Array, at_d: float) -> Array:
    """Return the sum from planting to a time, days last."""
    days = daily.shape[-1]
    whole = int(np.clip(np.floor(at_d), 0, days))
    hour = np.clip(24.0 * (at_d - whole), 6.0, 18.0)
    share = 0.5 * (1.0 - np.cos(np.pi * (hour - 6.0) / 12.0))
    today = share * daily[..., whole] if whole < days else 0.0
    return np.asarray(daily[..., :whole].sum(axis=-1) + today)
