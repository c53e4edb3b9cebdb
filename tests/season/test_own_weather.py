"""The season's weather as far as it is known, and what it is worth: planted leaks found, false alarms as designed."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from importlib.resources import as_file, files
from typing import Any, NamedTuple

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.stats import binom
from tank_made_up import READING_SD_L, visits

from wetfoot.plan.model import Plan
from wetfoot.season import columns as c
from wetfoot.season.bench import bench_arrays
from wetfoot.season.drivers import drivers, warmth_of_calendar
from wetfoot.season.expected_draw import OWN_WEATHER_CV, ExpectedDraw, expected_draw
from wetfoot.season.feed import ec_scale
from wetfoot.season.leak_limit import alarm_limits, charts, designed_rate
from wetfoot.season.learn import evidence, prior
from wetfoot.season.own_weather import BY_DAY, GAUGE, MEASURED, MOVED_D, OTHER_YEARS, Gauge, known_weather
from wetfoot.season.run import simulate_season
from wetfoot.weather.daily import DailyWeather
from wetfoot.weather.more_years import more_seasons
from wetfoot.weather.read import read_weather
from wetfoot.weather.seasons import Seasons, SeasonWeather, seasons

Array = NDArray[np.float64]

PRIOR = prior(0.2)


@pytest.fixture(scope="module")
def record() -> DailyWeather:
    """Four real years of Seattle (2012 to 2015), carried by the package vega_datasets."""
    with as_file(files("vega_datasets").joinpath("_data/seattle-weather.csv")) as path:
        return read_weather(path)


def planted_in(plan: Plan, record: DailyWeather, year: int) -> tuple[Plan, Seasons]:
    """Return the plan and the record's seasons, with the season planted in a year."""
    planting = plan.crop.planting.replace(year=year)
    crop = plan.crop.model_copy(update={"planting": planting, "harvest": planting + timedelta(days=plan.crop.season_d)})
    laid = seasons(record, planting, crop.season_d, 47.45, 130.0)
    return plan.model_copy(update={"crop": crop}), laid


def hidden(run: SeasonWeather, known: NDArray[np.bool_]) -> SeasonWeather:
    """Return a season of which only some days are known."""
    days: dict[str, Any] = {name: np.where(known, getattr(run, name), np.nan) for name in BY_DAY}
    return replace(run, **days)


def test_a_season_that_the_record_holds_whole_stands_alone(example_plan: Plan, record: DailyWeather) -> None:
    plan, laid = planted_in(example_plan, record, 2014)
    found = known_weather(laid)
    assert len(found.runs) == 1
    assert (found.source == MEASURED).all()
    np.testing.assert_array_equal(found.runs[0].rain_mm, laid.runs[2].rain_mm)
    assert expected_draw(plan, laid).drawn_l.shape[1] == 1


def test_a_record_that_ends_within_the_season_is_used_to_its_last_day(example_plan: Plan, record: DailyWeather) -> None:
    planting = example_plan.crop.planting.replace(year=2015)
    cut = replace(record, table=record.table.loc[: str(planting + timedelta(days=99))])
    _, laid = planted_in(example_plan, cut, 2015)
    found = known_weather(laid)
    assert found.source.tolist() == [MEASURED] * 100 + [OTHER_YEARS] * (len(found.source) - 100)
    rows = record.table.loc[str(planting) :].head(100)
    for run in found.runs:
        np.testing.assert_array_equal(run.rain_mm[:100], rows["rain_mm"])
        np.testing.assert_array_equal(run.tmax_c[:100], rows["tmax_c"])
    assert np.std([run.rain_mm[100:].sum() for run in found.runs]) > 20.0  # mm: the rest is not known


def test_made_up_years_are_nobodys_own(example_plan: Plan, record: DailyWeather) -> None:
    crop = example_plan.crop
    laid = more_seasons(record, crop.planting, crop.season_d, 47.45, 130.0, "resampled", 6, 1)
    found = known_weather(laid)
    assert len(found.runs) == 6
    assert (found.source == OTHER_YEARS).all()


def test_a_typical_year_is_taken_on_dates_near_by_too(greensboro: Seasons) -> None:
    found = known_weather(greensboro)
    assert len(found.runs) == len(MOVED_D)
    np.testing.assert_array_equal(found.runs[-1].rain_mm[:-24], greensboro.runs[0].rain_mm[24:])


def test_every_year_holds_the_gauges_rain(seattle: Seasons) -> None:
    read = (Gauge(0.0, 7.33, 0.0), Gauge(7.33, 14.3, 42.0), Gauge(20.0, 90.0, 5.0), Gauge(90.0, 97.0, 3.0))
    found = known_weather(seattle, read)
    for run, plain in zip(found.runs, seattle.runs, strict=True):
        assert run.rain_mm[:7].sum() == 0.0
        assert run.rain_mm[7:14].sum() == pytest.approx(42.0)
        assert run.rain_mm[90:97].sum() == pytest.approx(3.0)
        np.testing.assert_array_equal(run.rain_mm[14:90], plain.rain_mm[14:90])  # a gauge left for 70 days is not used
    assert (found.source[:14] == GAUGE).all()
    assert (found.source[14:90] == OTHER_YEARS).all()


def test_dry_weeks_by_the_gauge_bring_a_dry_weeks_sun(seattle: Seasons) -> None:
    # Seattle in April and May: dry days have more sun, in the record itself (Student's t of the same days, no model)
    weeks = [Gauge(float(day), float(day + 7), 0.0) for day in range(7, 70, 7)]
    dry = known_weather(seattle, weeks)
    wet = known_weather(seattle, [week._replace(rain_mm=60.0) for week in weeks])
    by_rain = [np.mean([run.eto_mm[7:70].mean() for run in each.runs]) for each in (dry, wet)]
    assert by_rain[0] > by_rain[1]


def test_a_gauge_outranks_the_files_rain_and_keeps_its_days(example_plan: Plan, record: DailyWeather) -> None:
    _, laid = planted_in(example_plan, record, 2014)
    own = laid.runs[2]
    fallen = float(own.rain_mm[7:14].sum())
    assert fallen > 0.0
    (run,) = known_weather(laid, [Gauge(7.0, 14.0, 2.0 * fallen)]).runs
    np.testing.assert_allclose(run.rain_mm[7:14], 2.0 * own.rain_mm[7:14])
    np.testing.assert_array_equal(run.eto_mm, own.eto_mm)


def test_what_the_file_holds_of_a_gauges_days_is_kept(example_plan: Plan, record: DailyWeather) -> None:
    _, laid = planted_in(example_plan, record, 2014)
    own = laid.runs[2]
    known = np.arange(len(own.dates)) < 10
    partly = replace(laid, own=hidden(own, known), runs=laid.runs[:2] + laid.runs[3:])
    there = float(own.rain_mm[7:10].sum())
    for run in known_weather(partly, [Gauge(7.0, 14.0, there + 9.0)]).runs:
        np.testing.assert_allclose(run.rain_mm[7:10], own.rain_mm[7:10])
        assert run.rain_mm[10:14].sum() == pytest.approx(9.0)


# What it is worth, on invented seasons: ten years by the generator fitted to Seattle's record stand for the others, and
# further ones are the truth, which the model does not see but for what the case tells it. Each true year bears three
# seasons, of three multipliers. The seeds were used for nothing else.
LEAK_FROM_D, YEARS, BY_GAUGE, EACH = 112.0, 80, 12, 3
WEATHER_SEED, SEASON_SEED = 20261128, 20261129
VISITS = visits()
LEAKING_D = np.array([max(0.0, one.end_d - max(one.start_d, LEAK_FROM_D)) for one in VISITS])[:, None]
FIRST = int(LEAK_FROM_D / 7.0) - 1


class Told(NamedTuple):
    """Of each season: whether the chart signalled without a leak, and after how many readings with one."""

    alarm: NDArray[np.bool_]
    readings: NDArray[np.float64]

    def found_within(self, readings: float) -> float:
        """Return the share of leaks found within so many readings."""
        return float((self.readings <= readings).mean())


def readings_to_signal(expected: ExpectedDraw, drawn_l: Array, leak_l_d: float) -> Told:
    """Return what the charts of several seasons tell of what was truly drawn, shape (readings, seasons)."""
    blank, limits = evidence(VISITS, expected, PRIOR), alarm_limits(PRIOR, expected, VISITS)[:, None]
    quiet = np.maximum(*charts(PRIOR, blank, drawn_l)) > limits
    leaking = (charts(PRIOR, blank, drawn_l + leak_l_d * LEAKING_D).upper > limits)[FIRST:]
    return Told(np.asarray(quiet.any(axis=0)), np.where(leaking.any(axis=0), leaking.argmax(axis=0) + 1.0, np.inf))


def by_stick(plan: Plan, run: SeasonWeather, others: Seasons, demand_l: Array, random: np.random.Generator) -> Array:
    """Return the litres that are read off the tank between visits in seasons of one year, shape (readings, seasons)."""
    bench, scale, warmth = bench_arrays(plan), ec_scale(plan), warmth_of_calendar(plan.crop, others.runs)
    seasons_l = []
    for factor in np.exp(random.normal(0.0, 0.2, EACH)):
        course = simulate_season(bench, scale, drivers(plan, run, warmth, float(factor)), run.dates)
        daily = course.tank[:, c.DRAWN_L] + random.normal(0.0, OWN_WEATHER_CV, len(demand_l)) * demand_l * factor
        stick = random.normal(0.0, READING_SD_L, len(VISITS) + 1)
        weekly = np.array([daily[int(one.start_d) : int(one.end_d)].sum() for one in VISITS])
        seasons_l.append(weekly + stick[:-1] - stick[1:])
    return np.array(seasons_l).T


@pytest.fixture(scope="module")
def told(example_plan: Plan, record: DailyWeather) -> dict[str, Told]:
    crop, random = example_plan.crop, np.random.default_rng(SEASON_SEED)
    laid = more_seasons(record, crop.planting, crop.season_d, 47.45, 130.0, "generated", 14 + YEARS, WEATHER_SEED)
    others = replace(laid, runs=laid.runs[4:14], own=None)
    nothing, few = expected_draw(example_plan, others), expected_draw(example_plan, replace(others, runs=laid.runs[:4]))
    drawn: list[Array] = []
    found: dict[str, list[Told]] = {"whole": [], "gauge": []}
    for at, truth in enumerate(laid.runs[14:]):
        whole = expected_draw(example_plan, replace(others, own=truth))
        drawn.append(by_stick(example_plan, truth, others, whole.demand_l, random))
        found["whole"].append(readings_to_signal(whole, drawn[-1], 5.0))
        if at < BY_GAUGE:
            weeks = range(0, crop.season_d - 7, 7)
            gauge = [Gauge(float(day), day + 7.0, float(truth.rain_mm[day : day + 7].sum())) for day in weeks]
            expected = expected_draw(example_plan, others, gauge)
            found["gauge"].append(readings_to_signal(expected, drawn[-1], 15.0))
    together = {name: Told(*map(np.concatenate, zip(*rows, strict=True))) for name, rows in found.items()}
    of_others = {"none": nothing, "four years": few}
    return together | {name: readings_to_signal(each, np.hstack(drawn), 15.0) for name, each in of_others.items()}


@pytest.mark.parametrize("known", ["whole", "gauge", "none", "four years"])
def test_false_alarms_are_no_more_than_designed(told: dict[str, Told], known: str) -> None:
    # designed by the published run length. Of 240 seasons 25 or more would be too many; at twice the rate there would
    # be 31, and too many in nine of ten tries. Of the few by the gauge only three times the rate would be noticed.
    alarm = told[known].alarm
    assert alarm.sum() <= binom(len(alarm), designed_rate(len(VISITS))).ppf(0.99)


def test_leaks_are_found_where_the_weather_is_known_and_large_ones_by_the_gauge(told: dict[str, Told]) -> None:
    # 5 L/day, within ten weekly readings in nine of ten seasons; 15 L/day, within sixteen in four of five
    assert told["whole"].found_within(10) >= 0.9
    assert told["gauge"].found_within(16) >= 0.8
    # without either it is not claimed, and fewer are found in time
    assert told["none"].found_within(10) <= told["gauge"].found_within(10)
