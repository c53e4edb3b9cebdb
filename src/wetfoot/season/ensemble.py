"""The season many times over: the weather's years, and what we do not know about water use, rain catch and salts."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from wetfoot.plan.model import Plan
from wetfoot.season import columns as c
from wetfoot.season.bench import EcScale, bench_arrays, ec_scale
from wetfoot.season.drivers import drivers, warmth_of_calendar
from wetfoot.season.run import SeasonCourse, simulate_season
from wetfoot.weather.seasons import Seasons

Array = NDArray[np.float64]

# Spread of what is not known before the season; all are estimates, to be narrowed by readings.
WATER_USE_LN_SD = 0.20
RAIN_CATCH_LN_SD = 0.15
SALT_UPTAKE_LN_SD = 0.10
QUANTILES = (0.1, 0.5, 0.9)


@dataclass(frozen=True)
class Band:
    """A daily course as the value that one run in ten stays below, the middle, and one in ten goes above.

    Shape (3, days) or (3, days, banks).
    """

    values: Array

    @property
    def low(self) -> Array:
        """The course that one run in ten stays below."""
        return np.asarray(self.values[0])

    @property
    def middle(self) -> Array:
        """The middle course."""
        return np.asarray(self.values[1])

    @property
    def high(self) -> Array:
        """The course that one run in ten goes above."""
        return np.asarray(self.values[2])


@dataclass(frozen=True)
class Totals:
    """One number a run; arrays of shape (runs, banks), or (runs,) for the tank.

    Attributes:
        stress_days: days on which a pot could not drink its fill at some hour.
        overflow_l: litres spilled per pot.
        uptake_l: litres drunk and evaporated per pot.
        ec_low_days: days with the free solution below the EC band while the supply is open.
        ec_high_days: days above it.
        lowest_level_m: lowest level while the supply is open.
        peak_draw_l_d: largest draw of a pot in a day.
        tank_short_days: days on which the tank could not give what the floats asked for.
        tank_used_l: litres drawn from the tank.
        stock_meq: equivalents added with the stocks, to tank and banks.
        water_added_l: source water poured into the tank.
    """

    stress_days: Array
    overflow_l: Array
    uptake_l: Array
    ec_low_days: Array
    ec_high_days: Array
    lowest_level_m: Array
    peak_draw_l_d: Array
    tank_short_days: Array
    tank_used_l: Array
    stock_meq: Array
    water_added_l: Array


@dataclass(frozen=True)
class Ensemble:
    """Many runs of one season: the expected run, bands by day, and totals by run.

    ``expected`` is the run of the first weather year with every factor at its middle.
    """

    dates: tuple[date, ...]
    expected: SeasonCourse
    level_m: Band
    ec_free_ms_cm: Band
    ec_medium_ms_cm: Band
    tank_l: Band
    draw_l: Band
    totals: Totals
    scale: EcScale
    seed: int
    runs: int


def run_ensemble(
    plan: Plan,
    seasons: Seasons,
    runs: int = 200,
    seed: int = 1,
    progress: Callable[[int], None] | None = None,
) -> Ensemble:
    """Return the season over many draws of weather year, water use, rain catch and salt uptake.

    Args:
        plan: the plan.
        seasons: the weather's years, each as long as the plan's season.
        runs: number of draws; the weather years are taken in turn.
        seed: of the random numbers, kept with the result.
        progress: called after each run with the number of runs done.
    """
    bench, scale = bench_arrays(plan), ec_scale(plan)
    warmth = warmth_of_calendar(plan.crop, seasons.runs)
    random = np.random.default_rng(seed)
    # the plan's own days: a year of a weather record has dates of its own
    dates = tuple(plan.crop.planting + timedelta(days=day) for day in range(len(seasons.runs[0].dates)))
    expected = simulate_season(bench, scale, drivers(plan, seasons.runs[0], warmth), dates)
    courses = []
    for index in range(runs):
        year = seasons.runs[index % len(seasons.runs)]
        water, rain, salt = np.exp(random.normal(0.0, (WATER_USE_LN_SD, RAIN_CATCH_LN_SD, SALT_UPTAKE_LN_SD)))
        drawn_bench = bench._replace(salt_uptake_fraction=bench.salt_uptake_fraction * float(salt))
        course = simulate_season(drawn_bench, scale, drivers(plan, year, warmth, float(water), float(rain)), dates)
        courses.append(course)
        if progress:
            progress(index + 1)
    ec_free = [course.ec_free_ms_cm() for course in courses]
    return Ensemble(
        dates=dates,
        expected=expected,
        level_m=_band([course.banks[:, :, c.LEVEL_MIN_M] for course in courses]),
        ec_free_ms_cm=_band(ec_free),
        ec_medium_ms_cm=_band([course.ec_medium_ms_cm() for course in courses]),
        tank_l=_band([course.tank[:, c.TANK_MIN_L] for course in courses]),
        draw_l=_band([course.tank[:, c.DRAWN_L] for course in courses]),
        totals=_totals(plan, courses, np.stack(ec_free)),
        scale=scale,
        seed=seed,
        runs=runs,
    )


def _band(courses: list[Array]) -> Band:
    """Return quantiles over runs, day by day, of the runs that have a value on that day."""
    stacked = np.stack(courses)
    empty = np.isnan(stacked).all(axis=0)
    values = np.nanquantile(np.where(empty, 0.0, stacked), QUANTILES, axis=0)
    return Band(np.where(empty, np.nan, values))


def _stock_meq(course: SeasonCourse) -> Array:
    """Return all equivalents that came from the stocks in a run."""
    fed = (course.banks[:, :, c.SALT_FED_MEQ].sum(axis=0) * course.bench.pots).sum()
    return np.asarray(course.tank[:, c.STOCK_SALT_MEQ].sum() + fed)


def _totals(plan: Plan, courses: list[SeasonCourse], ec_free_ms_cm: Array) -> Totals:
    """Return the totals of all runs; ``ec_free_ms_cm`` is of shape (runs, days, banks)."""
    supplied = slice(0, plan.crop.tops_cut_d)
    low, high = plan.solution.ec_low_ms_cm, plan.solution.ec_high_ms_cm

    def over_runs(value: Callable[[SeasonCourse], Array]) -> Array:
        return np.array([value(course) for course in courses], dtype=float)

    def drunk(course: SeasonCourse) -> Array:
        return np.asarray(course.banks[:, :, c.UPTAKE_L] + course.banks[:, :, c.EVAPORATION_L])

    return Totals(
        stress_days=over_runs(lambda r: (r.banks[supplied, :, c.LEAST_UPTAKE_SHARE] < 0.999).sum(axis=0)),
        overflow_l=over_runs(lambda r: r.banks[:, :, c.OVERFLOW_L].sum(axis=0)),
        uptake_l=over_runs(lambda r: drunk(r).sum(axis=0)),
        ec_low_days=(ec_free_ms_cm[:, supplied] < low).sum(axis=1).astype(float),
        ec_high_days=(ec_free_ms_cm[:, supplied] > high).sum(axis=1).astype(float),
        lowest_level_m=over_runs(lambda r: r.banks[supplied, :, c.LEVEL_MIN_M].min(axis=0)),
        peak_draw_l_d=over_runs(lambda r: drunk(r).max(axis=0)),
        tank_short_days=over_runs(lambda r: np.asarray((r.tank[:, c.SHORT_L] > 1e-9).sum())),
        tank_used_l=over_runs(lambda r: r.tank[:, c.DRAWN_L].sum()),
        stock_meq=over_runs(_stock_meq),
        water_added_l=over_runs(lambda r: r.tank[:, c.WATER_ADDED_L].sum()),
    )
