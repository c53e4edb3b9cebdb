"""More seasons than the record: Seattle (four real years, vega_datasets) and Greensboro (TMY3, pvlib)."""

from __future__ import annotations

import time
from calendar import month_abbr
from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd
import pvlib
import pytest
import vega_datasets
from hypothesis import given, settings
from hypothesis import strategies as st

from wetfoot.climate import evapotranspiration as et
from wetfoot.errors import WetfootError
from wetfoot.weather.checks import checked
from wetfoot.weather.daily import DailyWeather
from wetfoot.weather.generator import fit_generator
from wetfoot.weather.made_up import stream
from wetfoot.weather.more_years import BATCH, How, more_seasons
from wetfoot.weather.read import read_weather
from wetfoot.weather.seasons import Seasons, SeasonWeather, seasons

APRIL = date(2027, 4, 1)
SEATTLE = read_weather(Path(vega_datasets.__file__).parent / "_data" / "seattle-weather.csv")
GREENSBORO = read_weather(Path(pvlib.__file__).parent / "data" / "723170TYA.CSV")
MADE: tuple[How, ...] = ("resampled", "generated")
DAILY = ("tmin_c", "tmax_c", "rain_mm", "eto_mm", "solar_mj_m2", "wind_2m_m_s")


def seattle(
    how: How, years: int, seed: int = 1, planting: date = APRIL, days: int = 245, block_days: int | None = None
) -> Seasons:
    return more_seasons(SEATTLE, planting, days, 47.45, 130.0, how, years, seed, block_days=block_days)


def of(runs: tuple[SeasonWeather, ...], name: str) -> np.ndarray:
    return np.stack([getattr(run, name) for run in runs])


def invented(years: int, first: str = "2001-01-01") -> DailyWeather:
    """A made-up record of a warm summer-rain place with every column."""
    rows = pd.DataFrame({"date": pd.date_range(first, periods=int(365.25 * years))})
    random = np.random.default_rng(years)
    turn = 2.0 * np.pi * (rows["date"].dt.day_of_year - 200) / 365.25
    tmin = 15.0 + 8.0 * np.cos(turn) + random.normal(0.0, 2.0, len(rows))
    wet = random.random(len(rows)) < 0.3
    sunshine = 7.0 + 3.0 * np.cos(turn) - 4.0 * wet + random.normal(0.0, 1.5, len(rows))
    rows = rows.assign(tmin_c=tmin, tmax_c=tmin + 9.0 - 3.0 * wet)
    rows = rows.assign(rain_mm=np.where(wet, random.gamma(0.8, 12.0, len(rows)), 0.0))
    rows = rows.assign(sunshine_h=np.clip(sunshine, 0.0, 9.0), wind_2m_m_s=random.gamma(4.0, 0.5, len(rows)))
    rows = rows.assign(rh_min_pct=45.0 + 20.0 * wet, rh_max_pct=92.0)
    return checked(rows, "invented record", composed=False)


@pytest.mark.parametrize("how", MADE)
@pytest.mark.parametrize("years", [1, 4, 7])
def test_the_years_of_the_record_come_first_and_unchanged(how: How, years: int) -> None:
    record = seasons(SEATTLE, APRIL, 245, 47.45, 130.0)
    laid = seattle(how, years)
    assert len(laid.runs) == max(years, 4)
    assert laid.made == max(years - 4, 0)
    assert [run.year for run in laid.record] == [2012, 2013, 2014, 2015]
    for run, same in zip(laid.record, record.runs, strict=True):
        assert run.dates == same.dates
        assert run.origin == ""
        assert all(np.array_equal(getattr(run, name), getattr(same, name)) for name in DAILY)


def test_none_are_made_unless_chosen() -> None:
    laid = seattle("record", 1000)
    assert (len(laid.runs), laid.made, laid.how, laid.seed, laid.notes) == (4, 0, "record", None, ())


@pytest.mark.parametrize("how", MADE)
def test_a_year_is_the_same_however_many_are_made(how: How) -> None:
    few, many = seattle(how, 9, days=60), seattle(how, BATCH + 12, days=60)
    assert (few.how, few.seed) == (how, 1)
    for one, same in zip(few.runs, many.runs[:9], strict=True):
        assert one.origin == same.origin
        assert all(np.array_equal(getattr(one, name), getattr(same, name)) for name in DAILY)
    again = seattle(how, 9, seed=2, days=60)
    assert not np.array_equal(of(again.runs[4:], "rain_mm"), of(few.runs[4:], "rain_mm"))
    if how == "generated":  # batches do not repeat; of two blocks from four years there are but 16
        assert len({run.rain_mm.tobytes() for run in many.runs[4:]}) == BATCH + 8


def test_an_ensemble_of_the_same_seed_draws_other_numbers() -> None:
    of_run = np.random.default_rng(np.random.SeedSequence(1, spawn_key=(0,))).random(3)
    assert not np.allclose(stream(1, 1, 0).random(3), of_run)
    assert not np.allclose(stream(1, 1, 0).random(3), stream(1, 2, 0).random(3))


@settings(deadline=None, max_examples=25)
@given(
    st.sampled_from(MADE),
    st.dates(date(2020, 1, 1), date(2032, 12, 31)) | st.just(date(2028, 2, 29)),
    st.integers(8, 400),
    st.integers(0, 2**32),
)
def test_made_up_days_are_possible_and_on_the_planned_dates(how: How, planting: date, days: int, seed: int) -> None:
    laid = seattle(how, 8, seed, planting, days)
    planned = pd.date_range(planting, periods=days)
    for run in laid.runs[len(laid.record) :]:
        assert run.dates == tuple(planned.date)
        assert all(getattr(run, name).shape == (days,) for name in (*DAILY, "daylight_h"))
        assert all(np.isfinite(getattr(run, name)).all() for name in DAILY)
        assert run.rain_mm.min() >= 0.0
        assert np.all(run.tmax_c >= run.tmin_c)
        assert min(run.eto_mm.min(), run.solar_mj_m2.min(), run.wind_2m_m_s.min()) >= 0.0


def test_resampled_days_are_those_of_the_named_years() -> None:
    laid = seattle("resampled", 12)
    by_year = {run.year: run for run in laid.record}
    for run in laid.runs[4:]:
        parts = run.origin.removeprefix("resampled: ").split(", ")
        assert [part.split(" as ")[0] for part in parts] == [f"1 {month_abbr[month]}" for month in range(4, 13)]
        years = [int(part[-4:]) for part in parts]
        for at, day in enumerate(run.dates):
            donor = by_year[years[day.month - 4]]
            assert run.rain_mm[at] == donor.rain_mm[at]
            assert run.tmax_c[at] == donor.tmax_c[at]
            assert run.wind_2m_m_s[at] == donor.wind_2m_m_s[at]


def test_resampling_keeps_every_day_of_the_year_within_sampling_error() -> None:
    """The mean over made-up years of a block drawn from four has the standard error sd / sqrt(years)."""
    laid = seattle("resampled", 1004)
    for name in ("tmin_c", "tmax_c", "rain_mm"):
        record, made = of(laid.record, name), of(laid.runs[4:], name)
        months = np.array([day.month for day in laid.runs[4].dates])
        for month in range(4, 12):
            by_year, here = record[:, months == month].mean(axis=1), made[:, months == month].mean(axis=1)
            assert here.mean() == pytest.approx(by_year.mean(), abs=4.0 * by_year.std() / np.sqrt(1000) + 1e-9)


def test_blocks_of_weeks_may_be_chosen() -> None:
    run = seattle("resampled", 5, block_days=28).runs[4]
    assert len(run.origin.split(", ")) == 9  # 245 days are eight blocks of 28 and one of 21
    with pytest.raises(WetfootError, match="7 to 366"):
        seattle("resampled", 5, block_days=3)


def test_a_block_with_a_gap_is_never_drawn() -> None:
    table = SEATTLE.table.copy()
    table.loc["2013-05-10", "rain_mm"] = np.nan
    gappy = DailyWeather(table, "Seattle with an invented gap", False, ())
    laid = more_seasons(gappy, APRIL, 245, 47.45, 130.0, "resampled", 60, 1)
    assert len(laid.record) == 3
    origins = [run.origin for run in laid.runs[3:]]
    assert not any("1 May as from 2013" in origin for origin in origins)
    assert any("1 Jun as from 2013" in origin for origin in origins)


def test_days_follow_each_other_as_in_the_record() -> None:
    """Lag-1 correlation of tmax and tmin off the mean course; four years have a standard error of 1/sqrt(980)."""
    laid = seattle("generated", 404)

    def lag_1(runs: tuple[SeasonWeather, ...], name: str) -> float:
        values = of(runs, name)
        turn = 2.0 * np.pi * np.arange(245) / 365.25
        course = np.stack([f(k * turn) for k in (0, 1, 2) for f in (np.cos, np.sin)], axis=1)
        off = values.T - course @ np.linalg.lstsq(course, values.T, rcond=None)[0].mean(axis=1, keepdims=True)
        return float(np.corrcoef(off[1:].ravel(), off[:-1].ravel())[0, 1])

    for name in ("tmax_c", "tmin_c"):
        assert lag_1(laid.runs[4:], name) == pytest.approx(lag_1(laid.record, name), abs=4.0 / np.sqrt(980))


def test_wet_days_are_cooler_and_darker_as_in_the_typical_year() -> None:
    """Greensboro has sun, dew point and wind: what wet days change is the record's, within its sampling error."""
    laid = more_seasons(GREENSBORO, APRIL, 245, 36.1, 273.0, "generated", 301, 1)

    def change(runs: tuple[SeasonWeather, ...], name: str) -> tuple[float, float]:
        wet, values = of(runs, "rain_mm") >= 0.1, of(runs, name)
        error = values.std() * np.sqrt(1.0 / wet.sum() + 1.0 / (~wet).sum())
        return float(values[wet].mean() - values[~wet].mean()), float(error)

    for name in ("solar_mj_m2", "eto_mm"):
        (record, error), (made, _) = change(laid.record, name), change(laid.runs[1:], name)
        assert record < -2.0 * error  # there is something to keep
        assert made == pytest.approx(record, abs=3.0 * error)
    for name in ("solar_mj_m2", "wind_2m_m_s", "eto_mm"):
        values = of(laid.record, name)
        error = values.std() / np.sqrt(values.size / 3.0)  # persistence leaves about a third of the days independent
        assert of(laid.runs[1:], name).mean() == pytest.approx(values.mean(), abs=2.0 * error)
    most = et.extraterrestrial_radiation_mj_m2(36.1, np.array([d.timetuple().tm_yday for d in laid.runs[1].dates]))
    assert np.all(of(laid.runs[1:], "solar_mj_m2") < most)


def test_humidity_and_hours_of_sunshine_are_taken_too() -> None:
    weather = invented(12)
    fitted = fit_generator(weather, 20.0)
    assert fitted.scales.names == ("tmax", "tmin", "sun", "dew", "wind")
    assert not fitted.published
    laid = more_seasons(weather, APRIL, 200, 20.0, 10.0, "generated", 312, 1)
    assert len(laid.record) == 12
    for name in ("eto_mm", "solar_mj_m2", "wind_2m_m_s"):
        record, made = of(laid.record, name), of(laid.runs[12:], name)
        assert made.mean() == pytest.approx(record.mean(), abs=4.0 * record.mean(axis=1).std() / np.sqrt(12) + 0.02)


def test_a_short_record_takes_the_published_correlations_and_says_so() -> None:
    laid = more_seasons(invented(1), date(2027, 4, 1), 200, 20.0, 10.0, "generated", 3, 1)
    told = " ".join(laid.notes)
    assert "Richardson & Wright 1984" in told
    assert "fitted to 1.0 years: under 10" in told
    assert not any("Richardson" in note for note in seattle("generated", 5).notes)
    assert any("4.0 years: under 10" in note for note in seattle("generated", 5).notes)


def test_ten_years_are_not_called_few() -> None:
    for how in MADE:
        laid = more_seasons(invented(12), APRIL, 200, 20.0, 10.0, how, 14, 1)
        assert len(laid.notes) == 1


def test_no_odds_are_claimed_from_a_typical_year() -> None:
    laid = more_seasons(GREENSBORO, APRIL, 245, 36.1, 273.0, "generated", 3, 1)
    assert laid.composed
    assert any("no odds of a drought" in note for note in laid.notes)
    with pytest.raises(WetfootError, match=r"typical year.*no years to mix.*real years"):
        more_seasons(GREENSBORO, APRIL, 245, 36.1, 273.0, "resampled", 3, 1)


def test_a_record_shorter_than_a_season_is_refused_with_what_to_do() -> None:
    short = DailyWeather(SEATTLE.table.iloc[:200], "200 days of Seattle", False, ())
    for how in MADE:
        with pytest.raises(WetfootError, match=r"no season of 245 days from 1 April is whole[^§]*take another file"):
            more_seasons(short, APRIL, 245, 47.45, 130.0, how, 10, 1)


def test_one_season_is_too_little_to_mix_or_to_fit() -> None:
    one = DailyWeather(SEATTLE.table.iloc[80:345], "one season of Seattle", False, ())
    with pytest.raises(WetfootError, match=r"in one year only[^§]*longer record"):
        more_seasons(one, APRIL, 245, 47.45, 130.0, "resampled", 10, 1)
    with pytest.raises(WetfootError, match=r"265 days[^§]*too few to fit[^§]*longer record"):
        more_seasons(one, APRIL, 245, 47.45, 130.0, "generated", 10, 1)


@pytest.mark.parametrize(("how", "years", "seed"), [("other", 5, 1), ("generated", 0, 1), ("generated", 5, -1)])
def test_what_cannot_be_asked_is_refused(how: How, years: int, seed: int) -> None:
    with pytest.raises(WetfootError):
        seattle(how, years, seed)


@pytest.mark.parametrize("how", MADE)
def test_a_thousand_seasons_take_little_time(how: How) -> None:
    start = time.process_time()
    assert len(seattle(how, 1000).runs) == 1000
    assert time.process_time() - start < 3.0
