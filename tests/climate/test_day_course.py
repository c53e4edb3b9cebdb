"""The course of sun and air through a day, against published examples, another algorithm and a real record."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pvlib
import pytest
from numpy.typing import NDArray

from wetfoot.climate.day_course import course_of_days, course_of_hours
from wetfoot.climate.day_shapes import air_temperature_c, radiation_share, split_global, sun_position, wind_course_m_s

TMY3 = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"
LATITUDE, LONGITUDE, ELEVATION = 36.1, -79.95, 273.0


@pytest.fixture(scope="module")
def july() -> pd.DataFrame:
    """Hours of July at Greensboro (TMY3: real hours of one year), stamped at their ends in standard time."""
    hours, _ = pvlib.iotools.read_tmy3(TMY3, map_variables=True, coerce_year=1990)
    started = hours.index - pd.Timedelta(hours=1)
    return hours[started.month == 7]


def daily(hours: pd.DataFrame, column: str) -> NDArray[np.float64]:
    return hours[column].to_numpy(float).reshape(-1, 24)


def test_sun_position_is_the_published_example() -> None:
    """Reda & Andreas 2004 (NREL/TP-560-34302), appendix A.5: 17 October 2003, 12:30:30 at UTC-7 (from memory)."""
    time = pd.DatetimeIndex(["2003-10-17 12:30:30-07:00"])
    height, azimuth = sun_position(time, 39.742476, -105.1786, 1830.14)
    assert height[0] == pytest.approx(39.872046, abs=2e-4)  # e0, before refraction
    assert azimuth[0] == pytest.approx(194.340241, abs=2e-4)


@pytest.mark.parametrize("latitude", [52.0, 0.0, -35.0])
def test_sun_position_agrees_with_another_algorithm(latitude: float) -> None:
    """pvlib's ephemeris (Hughes 1985) is independent of NREL's algorithm."""
    times = pd.date_range("2027-01-05", periods=90, freq="97h", tz="UTC")
    height, azimuth = sun_position(times, latitude, 138.0)
    other = pvlib.solarposition.ephemeris(times, latitude, 138.0)
    assert height == pytest.approx(other["elevation"].to_numpy(), abs=0.03)
    turned = (azimuth - other["azimuth"].to_numpy() + 180.0) % 360.0 - 180.0
    clear_of_zenith = np.abs(height) < 80.0
    assert np.abs(turned[clear_of_zenith]).max() < 0.15


def test_times_need_a_zone() -> None:
    with pytest.raises(ValueError, match="zone"):
        sun_position(pd.DatetimeIndex(["2027-01-05"]), 0.0, 0.0)


def test_hourly_share_is_the_textbooks() -> None:
    """Duffie & Beckman, Solar Engineering of Thermal Processes, example 2.13.1: Melbourne, January (from memory)."""
    assert radiation_share(-52.5, 107.0) == pytest.approx(0.076, abs=5e-4)


@pytest.mark.parametrize("sunset", [60.0, 80.0, 90.0, 105.0, 115.0])
def test_hourly_shares_make_about_a_day(sunset: float) -> None:
    hour_angles = (np.arange(24 * 60) + 0.5) / 60 * 15.0 - 180.0
    assert radiation_share(hour_angles, sunset).sum() / 60 == pytest.approx(1.0, abs=0.02)


def test_air_meets_the_days_extremes() -> None:
    rise = np.array([6.0, 6.1, 6.2])
    low, high = np.array([10.0, 14.0, 12.0]), np.array([25.0, 30.0, 22.0])
    assert air_temperature_c(24 * np.arange(3) + rise, low, high, rise) == pytest.approx(low)
    assert air_temperature_c(24 * np.arange(3) + 14.0, low, high, rise) == pytest.approx(high)
    course = air_temperature_c(np.linspace(0, 72, 20_001), low, high, rise)
    assert np.abs(np.diff(course)).max() < 0.02  # no jump at midnight or sunrise
    assert low.min() <= course.min() <= course.max() <= high.max()


@pytest.mark.parametrize("rise", [0.0, 12.0, 13.9])
def test_polar_days_have_a_course_too(rise: float) -> None:
    course = air_temperature_c(np.linspace(0, 24, 97), [-20.0], [-10.0], [rise])
    assert np.all((course >= -20.0) & (course <= -10.0))


def test_real_july_air_is_spread_within_two_degrees(july: pd.DataFrame) -> None:
    """The record's own hours are the reference: root mean square error of the spread air temperature."""
    air = daily(july, "temp_air")
    days = pd.date_range("1990-07-01", periods=31)
    course = course_of_days(
        days, air.min(1), air.max(1), daily(july, "ghi").sum(1) * 0.0036, LATITUDE, LONGITUDE, ELEVATION
    )
    spread = np.interp(july.index.astype("int64"), course.middle.as_unit(july.index.unit).astype("int64"), course.air_c)
    error = spread - air.ravel()
    assert np.sqrt(np.mean(error**2)) < 2.0
    assert abs(error.mean()) < 1.0


def test_real_july_sun_is_spread_and_keeps_each_days_total(july: pd.DataFrame) -> None:
    ghi = daily(july, "ghi")
    solar = ghi.sum(1) * 0.0036
    days = pd.date_range("1990-07-01", periods=31)
    course = course_of_days(days, [20.0] * 31, [30.0] * 31, solar, LATITUDE, LONGITUDE, ELEVATION)
    assert course.global_w_m2.reshape(31, -1).sum(1) * 900.0 / 1e6 == pytest.approx(solar, rel=1e-12)
    sunny = solar > np.quantile(solar, 0.7)
    spread = np.interp(
        (july.index - pd.Timedelta(minutes=30)).astype("int64"),
        course.middle.as_unit(july.index.unit).astype("int64"),
        course.global_w_m2,
    ).reshape(31, 24)
    assert np.sqrt(np.mean((spread - ghi)[sunny] ** 2)) < 60.0  # W/m2, on the sunniest third of the days


def test_split_closes_and_matches_the_measured_split_of_sunny_july(july: pd.DataFrame) -> None:
    ends = july.index
    split = course_of_hours(ends, july["temp_air"], july["ghi"], LATITUDE, LONGITUDE, ELEVATION, steps_per_hour=1)
    closed = split.beam_w_m2 * np.sin(np.radians(split.sun_height_deg)) + split.diffuse_w_m2
    assert closed == pytest.approx(split.global_w_m2, abs=1e-9)
    assert split.beam_w_m2.sum() == pytest.approx(july["dni"].sum(), rel=0.1)


def test_split_of_a_dark_sky_is_all_diffuse() -> None:
    beam, diffuse = split_global(np.array([20.0, 0.0]), np.array([40.0, -10.0]), np.array([180, 180]))
    assert beam[0] < 1.0
    assert diffuse[0] == pytest.approx(20.0, rel=0.02)
    assert beam[1] == diffuse[1] == 0.0


def test_wind_keeps_its_mean() -> None:
    up = np.tile(np.arange(24) >= 10, (2, 1))
    course = wind_course_m_s(np.array([2.0, 3.0]), up)
    assert course.mean(axis=1) == pytest.approx([2.0, 3.0])
    assert course[0, 12] == pytest.approx(2 * course[0, 2])


@pytest.mark.parametrize(
    ("days", "low", "high", "solar", "named"),
    [
        (["2027-07-01", "2027-07-03"], [10, 10], [20, 20], [20, 20], "consecutive"),
        ([], [], [], [], "at least one"),
        (["2027-07-01"], [22], [20], [20], "2027-07-01"),
        (["2027-07-01"], [float("nan")], [20], [20], "tmin_c"),
        (["2027-07-01"], [10], [20], [-1], "solar_mj_m2"),
        (["2027-07-01"], [10], [20], [60], "2027-07-01"),
    ],
)
def test_impossible_days_are_named(
    days: list[str], low: list[float], high: list[float], solar: list[float], named: str
) -> None:
    with pytest.raises(ValueError, match=named):
        course_of_days(pd.DatetimeIndex(days), low, high, solar, LATITUDE, LONGITUDE)


def test_impossible_hours_are_named(july: pd.DataFrame) -> None:
    with pytest.raises(ValueError, match="consecutive"):
        course_of_hours(july.index[[0, 2]], [20, 20], [0, 0], LATITUDE, LONGITUDE)
    with pytest.raises(ValueError, match="global_w_m2"):
        course_of_hours(july.index[:2], [20, 20], [0, -5], LATITUDE, LONGITUDE)
    with pytest.raises(ValueError, match="air_c"):
        course_of_hours(july.index[:2], [20, float("nan")], [0, 0], LATITUDE, LONGITUDE)
