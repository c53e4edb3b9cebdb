"""A typical year in TMY3 format: Greensboro, North Carolina, as pvlib carries it."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd
import pvlib
import pytest

from wetfoot.errors import WetfootError
from wetfoot.weather.daily import DailyWeather
from wetfoot.weather.hourly import rain_in_mm, rain_of_each_hour
from wetfoot.weather.read import read_weather
from wetfoot.weather.tmy3 import read_tmy3

GREENSBORO = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"


@pytest.fixture(scope="module")
def weather() -> DailyWeather:
    return read_weather(GREENSBORO)


@pytest.fixture(scope="module")
def lines() -> list[str]:
    return GREENSBORO.read_text().splitlines()


def changed(lines: list[str], row: int, **cells: str) -> str:
    """Return the file with cells of one row (0 for the first hour) changed, by heading."""
    headings = lines[1].split(",")
    values = lines[2 + row].split(",")
    for name, value in cells.items():
        values[next(at for at, heading in enumerate(headings) if heading.startswith(name))] = value
    return "\n".join([*lines[: 2 + row], ",".join(values), *lines[3 + row :]])


def test_it_is_a_composed_year_of_365_days(weather: DailyWeather) -> None:
    assert weather.composed
    assert len(weather.table) == 365
    assert weather.table.drop(columns="sunshine_h").notna().all(axis=None)
    assert weather.table.index.strftime("%m-%d").nunique() == 365


def test_its_climate_is_that_of_greensboro(weather: DailyWeather) -> None:
    # Climate normals from memory: mean 14.5 C, 1070 mm of rain. Rain has no weight in choosing the months of
    # a TMY, so only its size can be checked: that rules out whole mm (8345 a year) and hundredths.
    mean = weather.table[["tmin_c", "tmax_c"]].mean(axis=1).mean()
    assert mean == pytest.approx(14.5, abs=0.7)
    assert weather.table["rain_mm"].sum() == pytest.approx(1070, rel=0.3)
    # about 4.3 to 4.6 kWh/m2 a day in the Carolinas (solar atlases, from memory)
    assert weather.table["solar_mj_m2"].mean() == pytest.approx(4.4 * 3.6, rel=0.1)


def test_one_day_by_hand(weather: DailyWeather, lines: list[str]) -> None:
    """2 January: hours 25 to 48 of the file, summed here without the reader."""
    headings = lines[1].split(",")
    hours = pd.DataFrame([line.split(",") for line in lines[26:50]], columns=headings)
    assert set(hours["Date (MM/DD/YYYY)"]) == {"01/02/1988"}
    assert hours["Time (HH:MM)"].iloc[[0, -1]].tolist() == ["01:00", "24:00"]
    day = weather.table.loc["1988-01-02"]
    assert day["tmin_c"] == pd.to_numeric(hours["Dry-bulb (C)"]).min()
    assert day["tmax_c"] == pd.to_numeric(hours["Dry-bulb (C)"]).max()
    assert day["rh_min_pct"] == pd.to_numeric(hours["RHum (%)"]).min()
    assert day["solar_mj_m2"] == pytest.approx(pd.to_numeric(hours["GHI (W/m^2)"]).sum() * 3600 / 1e6)
    assert day["rain_mm"] == pytest.approx(pd.to_numeric(hours["Lprecip depth (mm)"]).sum() / 10)
    wind = pd.to_numeric(hours["Wspd (m/s)"]).mean()
    assert day["wind_2m_m_s"] == pytest.approx(wind * 0.748, rel=1e-3)  # FAO-56 annex 2, table 2.9


def test_the_24th_hour_belongs_to_its_own_day(lines: list[str]) -> None:
    weather = read_tmy3(changed(lines, 23, **{"Dry-bulb (C)": "33.0", "Time": "24:00"}), "x")
    assert weather.table.loc["1988-01-01", "tmax_c"] == 33.0
    assert weather.table.loc["1988-01-02", "tmax_c"] < 33.0


def test_the_last_hour_of_february_stays_in_february_of_a_leap_year(lines: list[str]) -> None:
    last = next(at for at, line in enumerate(lines) if line.startswith("02/28/") and ",24:00," in line) - 2
    day = pd.Timestamp(lines[last + 2].split(",")[0])
    leap = "\n".join(lines).replace(f"/{day.year},", "/1988,")
    weather = read_tmy3(changed(leap.splitlines(), last, **{"Dry-bulb (C)": "33.0"}), "x")
    assert weather.table.loc["1988-02-28", "tmax_c"] == 33.0


def test_midnight_written_as_the_next_days_0_hour_ends_the_day_before(lines: list[str]) -> None:
    text = changed(lines, 23, **{"Date": "01/02/1988", "Time": "00:00", "Dry-bulb (C)": "33.0"})
    assert read_tmy3(text, "x").table.loc["1988-01-01", "tmax_c"] == 33.0


@pytest.mark.parametrize("missing", ["-9900", "9999", ""])
def test_a_missing_hour_of_rain_leaves_the_day_unknown(lines: list[str], missing: str) -> None:
    weather = read_tmy3(changed(lines, 5, **{"Lprecip depth": missing}), "x")
    assert np.isnan(weather.table.loc["1988-01-01", "rain_mm"])
    assert not np.isnan(weather.table.loc["1988-01-01", "tmin_c"])
    assert any(f.day == date(1988, 1, 1) and "23 of 24 hours" in f.what for f in weather.findings)


def test_a_year_without_any_rain_measured_is_refused(lines: list[str]) -> None:
    at = next(i for i, heading in enumerate(lines[1].split(",")) if heading.startswith("Lprecip depth"))
    rows = [",".join([*(c := line.split(","))[:at], "-9900", *c[at + 1 :]]) for line in lines[2:]]
    with pytest.raises(WetfootError, match="rain_mm on 0 days"):
        read_tmy3("\n".join([*lines[:2], *rows]), "x")


def test_tenths_are_told_from_millimetres_by_the_steps_of_the_gauge(weather: DailyWeather) -> None:
    assert any("tenths of a millimetre" in finding.what for finding in weather.findings)
    tips = np.arange(1, 101)  # 0.01 to 1.00 inch
    tenths = np.round(tips * 2.54)
    assert rain_in_mm(tenths)[0] == pytest.approx(tenths / 10)
    millimetres = np.tile([1.0, 2.0, 4.0, 1.0, 3.0, 6.0], 20)
    assert rain_in_mm(millimetres)[0] == pytest.approx(millimetres)
    assert rain_in_mm(tenths / 10)[0] == pytest.approx(tenths / 10)


def test_a_total_of_six_hours_is_not_counted_on_top_of_the_hourly_rain() -> None:
    nan = np.nan
    depth = np.array([1.0, 0.0, nan, nan, 0.0, 7.0, 2.0])
    period = np.array([1.0, 1.0, nan, nan, 1.0, 6.0, 1.0])
    by_hour, totals = rain_of_each_hour(depth, period)
    assert by_hour.tolist() == [1.0, 0.0, 0.0, 0.0, 0.0, 6.0, 2.0]
    assert totals == 1


def test_half_a_file_is_refused_without_a_traceback(lines: list[str]) -> None:
    with pytest.raises(WetfootError, match="not a whole TMY3 file"):
        read_tmy3("\n".join([*lines[:2], "01/01/1988"]), "x")
