"""A planting date is laid onto the years of a record. Made-up records are marked as such by their source."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pandas as pd
import pvlib
import pytest
import vega_datasets

from wetfoot.climate import evapotranspiration as et
from wetfoot.errors import WetfootError
from wetfoot.weather.checks import checked
from wetfoot.weather.daily import DailyWeather
from wetfoot.weather.read import read_weather
from wetfoot.weather.seasons import Seasons, seasons

APRIL = date(2028, 4, 1)


@pytest.fixture(scope="module")
def seattle() -> DailyWeather:
    return read_weather(Path(vega_datasets.__file__).parent / "_data" / "seattle-weather.csv")


@pytest.fixture(scope="module")
def greensboro() -> DailyWeather:
    return read_weather(Path(pvlib.__file__).parent / "data" / "723170TYA.CSV")


def invented(first: str, days: int, lost: tuple[str, ...] = (), **columns: float) -> DailyWeather:
    rows = pd.DataFrame({"date": pd.date_range(first, periods=days)})
    rows = rows.assign(**({"tmin_c": 15.0 + np.arange(days) % 7, "tmax_c": 28.0, "rain_mm": 3.0} | columns))
    rows.loc[rows["date"].isin(pd.to_datetime(list(lost))), ["tmin_c", "tmax_c", "rain_mm"]] = np.nan
    return checked(rows, "invented record", composed=False)


def at_seattle(weather: DailyWeather, planting: date, days: int, **how: int) -> Seasons:
    return seasons(weather, planting, days, latitude_deg=47.6, elevation_m=50, **how)


def test_a_season_in_each_of_four_years(seattle: DailyWeather) -> None:
    found = at_seattle(seattle, APRIL, 240)
    assert [run.year for run in found.runs] == [2012, 2013, 2014, 2015]
    assert not found.composed
    assert found.left_out == ()
    for run in found.runs:
        assert run.dates[0] == date(run.year, 4, 1)
        assert len(run.dates) == len(run.tmin_c) == len(run.eto_mm) == len(run.daylight_h) == 240
        table = seattle.table.loc[str(run.dates[0]) : str(run.dates[-1])]
        assert run.rain_mm.tolist() == table["rain_mm"].tolist()
        assert run.filled == ()


def test_evapotranspiration_of_seattle_is_low_in_winter_and_high_in_summer(seattle: DailyWeather) -> None:
    for run in at_seattle(seattle, date(2028, 1, 1), 365).runs:
        # Seattle from memory: about 0.5 mm a day in January, 4 to 5 in July, 650 to 850 a year
        assert 0.2 < run.eto_mm[:31].mean() < 1.0
        assert 3.5 < run.eto_mm[181:212].mean() < 5.5
        assert run.eto_mm.min() >= 0.0


def test_what_was_estimated_is_said_with_its_days(seattle: DailyWeather) -> None:
    said = " | ".join(at_seattle(seattle, APRIL, 240).fallbacks)
    assert "radiation estimated from the temperature range (FAO-56 eq. 50) on 960 of 960 days" in said
    assert "minimum temperature as dew point (FAO-56 eq. 48) on 960 of 960 days" in said
    assert "wind" not in said  # the file has it


def test_a_composed_year_is_one_run_that_goes_round(greensboro: DailyWeather) -> None:
    found = seasons(greensboro, date(2028, 10, 1), 240, latitude_deg=36.1, elevation_m=273)
    assert found.composed
    (run,) = found.runs
    assert run.dates[0] == date(2028, 10, 1)
    assert run.dates[-1] == date(2028, 10, 1) + timedelta(days=239)
    by_month_day = greensboro.table.set_axis(greensboro.table.index.strftime("%m-%d"))
    for day, tmax in zip(run.dates, run.tmax_c, strict=True):
        assert tmax == by_month_day.loc[day.strftime("%m-%d"), "tmax_c"]


def test_a_composed_year_gives_its_whole_rain_and_a_plausible_demand(greensboro: DailyWeather) -> None:
    (run,) = seasons(greensboro, date(2027, 6, 1), 365, latitude_deg=36.1, elevation_m=273).runs
    assert run.rain_mm.sum() == pytest.approx(greensboro.table["rain_mm"].sum())
    assert 900 < run.eto_mm.sum() < 1300  # the Carolinas, mm a year, from memory


def test_29_february_of_a_composed_year_is_named(greensboro: DailyWeather) -> None:
    (run,) = seasons(greensboro, date(2028, 2, 28), 3, latitude_deg=36.1, elevation_m=273).runs
    assert run.dates == (date(2028, 2, 28), date(2028, 2, 29), date(2028, 3, 1))
    assert run.tmax_c[1] == run.tmax_c[0]
    assert run.filled == ("2028-02-29: the weather of 28 February, as a typical year has no 29th",)


def test_a_season_crosses_the_new_year_and_names_the_years_left_out(seattle: DailyWeather) -> None:
    found = at_seattle(seattle, date(2028, 11, 1), 200)
    assert [run.year for run in found.runs] == [2012, 2013, 2014]
    assert found.runs[0].dates[-1] == date(2012, 11, 1) + timedelta(days=199)
    first, last = found.left_out
    assert "61 of 200 days" in first  # November and December 2011
    assert "2011-11-01" in first
    assert "and 51 more" in first
    assert "season from 2015-11-01: 139 of 200 days" in last


def test_leap_days_are_counted_as_days(seattle: DailyWeather) -> None:
    runs = at_seattle(seattle, date(2028, 2, 1), 60).runs
    assert [run.dates[-1] for run in runs] == [date(2012, 3, 31)] + [date(y, 4, 1) for y in (2013, 2014, 2015)]


def test_planting_on_29_february_starts_on_1_march_elsewhere(seattle: DailyWeather) -> None:
    runs = at_seattle(seattle, date(2028, 2, 29), 100).runs
    assert [run.dates[0] for run in runs] == [date(2012, 2, 29)] + [date(y, 3, 1) for y in (2013, 2014, 2015)]


def test_a_gap_leaves_its_season_out_and_is_never_filled_unasked() -> None:
    weather = invented("2013-01-01", 730, lost=("2013-05-03", "2013-05-04"))
    found = at_seattle(weather, APRIL, 100)
    assert [run.year for run in found.runs] == [2014]
    assert found.left_out == ("season from 2013-04-01: 2 of 100 days lack tmin, tmax or rain (2013-05-03, 2013-05-04)",)


def test_a_short_gap_is_filled_on_request_day_by_day() -> None:
    weather = invented("2013-01-01", 730, lost=("2013-05-03", "2013-05-04"))
    run = at_seattle(weather, APRIL, 100, fill_gaps_days=2).runs[0]
    assert run.year == 2013
    before, after = run.tmin_c[31], run.tmin_c[34]
    assert run.tmin_c[32:34] == pytest.approx([before + (after - before) / 3, before + 2 * (after - before) / 3])
    assert run.rain_mm[32:34].tolist() == [0.0, 0.0]
    how = "tmin_c interpolated, tmax_c interpolated, rain_mm taken as zero"
    assert run.filled == (f"2013-05-03: {how}", f"2013-05-04: {how}")


def test_a_gap_longer_than_asked_for_is_not_filled() -> None:
    weather = invented("2013-01-01", 365, lost=("2013-05-03", "2013-05-04", "2013-05-05"))
    with pytest.raises(WetfootError, match="2013-05-03, 2013-05-04, 2013-05-05"):
        at_seattle(weather, APRIL, 100, fill_gaps_days=2)


def test_a_filled_minimum_never_passes_a_measured_maximum() -> None:
    rows = pd.DataFrame({"date": pd.date_range("2013-04-01", periods=3), "rain_mm": 0.0})
    rows = rows.assign(tmin_c=[20.0, np.nan, 20.0], tmax_c=[30.0, 12.0, 30.0])
    weather = checked(rows, "invented record", composed=False)
    run = at_seattle(weather, APRIL, 3, fill_gaps_days=1).runs[0]
    assert run.tmin_c.tolist() == [20.0, 12.0, 20.0]


def test_a_gap_in_a_composed_year_is_filled_over_the_new_year(greensboro: DailyWeather) -> None:
    month_day = greensboro.table.index.strftime("%m-%d")
    table = greensboro.table.mask(pd.Series(month_day == "12-31", index=greensboro.table.index), axis=0)
    gappy = DailyWeather(table, "invented gap", True, ())
    run = seasons(gappy, date(2027, 12, 30), 3, 36.1, 273, fill_gaps_days=1).runs[0]
    assert run.tmax_c[1] == pytest.approx((run.tmax_c[0] + run.tmax_c[2]) / 2)
    assert run.filled[0].startswith("2027-12-31: ")


def test_no_whole_season_names_the_days_and_how_to_mend() -> None:
    weather = invented("2013-04-01", 60)
    with pytest.raises(WetfootError) as refused:
        at_seattle(weather, APRIL, 75)
    message = str(refused.value)
    assert "15 of 75 days" in message
    assert "2013-05-31" in message
    assert "and 5 more" in message
    assert "fill_gaps_days" in message


@pytest.mark.parametrize(("days", "fill"), [(0, 0), (-3, 0), (5000, 0), (100, -1)])
def test_a_season_that_cannot_be_is_refused(seattle: DailyWeather, days: int, fill: int) -> None:
    with pytest.raises(WetfootError):
        at_seattle(seattle, APRIL, days, fill_gaps_days=fill)


def test_the_southern_summer_is_around_the_new_year() -> None:
    weather = invented("2013-01-01", 365)
    run = seasons(weather, date(2028, 1, 1), 365, latitude_deg=-30.0, elevation_m=100).runs[0]
    assert run.daylight_h[0] > 13.5 > 10.5 > run.daylight_h[180]
    assert run.eto_mm[:30].mean() > 1.8 * run.eto_mm[165:195].mean()


def test_measured_values_go_before_estimates_day_by_day() -> None:
    """One July day at Uccle (FAO-56 example 18), then the same day lacking one thing after another."""
    day = {"tmin_c": 12.3, "tmax_c": 21.5, "rain_mm": 0.0, "wind_2m_m_s": 2.0776}
    humid = {"rh_min_pct": 63.0, "rh_max_pct": 84.0}
    rows = pd.DataFrame(
        [
            {"date": "2013-07-06", **day, **humid, "sunshine_h": 9.25},
            {"date": "2014-07-06", **day, **humid, "solar_mj_m2": 22.07},
            {"date": "2015-07-06", **day, "sunshine_h": 9.25, "wind_2m_m_s": np.nan},
            {"date": "2016-07-06", "tmin_c": 12.3, "tmax_c": 21.5, "rain_mm": 0.0},
        ]
    )
    weather = checked(rows, "FAO-56 example 18 and variants of it", composed=False)
    found = seasons(weather, date(2028, 7, 6), 1, latitude_deg=50.8, elevation_m=100)
    eto = [run.eto_mm[0] for run in found.runs]
    assert eto[0] == pytest.approx(3.88, abs=0.01)  # printed: 3.9
    assert eto[1] == pytest.approx(3.88, abs=0.01)
    assert sorted(found.fallbacks) == [
        "humidity estimated, with the minimum temperature as dew point (FAO-56 eq. 48) on 2 of 4 days",
        "radiation estimated from hours of sunshine (FAO-56 eq. 35) on 2 of 4 days",
        "radiation estimated from the temperature range (FAO-56 eq. 50) on 1 of 4 days",
        "wind taken as 2 m/s (FAO-56 chapter 3, the mean of many stations) on 2 of 4 days",
    ]
    ra = et.extraterrestrial_radiation_mj_m2(50.8, 188)  # 2016 is a leap year
    rs = et.radiation_from_temperature_mj_m2(ra, 12.3, 21.5, 100)
    ea = et.vapour_pressure_from_tmin_kpa(12.3)
    rn = et.net_shortwave_mj_m2(rs) - et.net_longwave_mj_m2(12.3, 21.5, ea, rs, et.clear_sky_radiation_mj_m2(ra, 100))
    assert eto[3] == pytest.approx(float(et.penman_monteith_mm(12.3, 21.5, ea, rn, 2.0, 100)))


def test_a_polar_winter_gives_no_water_use_and_no_nan() -> None:
    weather = invented("2013-12-01", 31, tmin_c=-30.0, tmax_c=-25.0)
    run = seasons(weather, date(2028, 12, 1), 31, latitude_deg=75.0, elevation_m=0).runs[0]
    assert np.isfinite(run.eto_mm).all()
    assert run.eto_mm.max() < 0.5
