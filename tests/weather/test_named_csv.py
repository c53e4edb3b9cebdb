"""A grower brings a CSV file with named columns. All small files are invented."""

from __future__ import annotations

import random
from datetime import date
from pathlib import Path

import pandas as pd
import pytest
import vega_datasets
from hypothesis import given, settings
from hypothesis import strategies as st

from wetfoot.errors import WetfootError
from wetfoot.weather.daily import COLUMNS, DailyWeather
from wetfoot.weather.headings import read_heading
from wetfoot.weather.named_csv import read_named_csv
from wetfoot.weather.read import read_weather

SEATTLE = Path(vega_datasets.__file__).parent / "_data" / "seattle-weather.csv"
THREE_DAYS = "date,tmin,tmax,rain\n2014-06-01,15,25,0\n2014-06-02,16,26,12.5\n2014-06-03,14,22,3\n"


def read(text: str) -> DailyWeather:
    return read_named_csv(text, "yard.csv")


def whats(weather: DailyWeather) -> str:
    return " | ".join(finding.what for finding in weather.findings)


def test_four_real_years_of_seattle() -> None:
    weather = read_weather(SEATTLE)
    assert len(weather.table) == 1461  # the file's 1,461 days, 2012 to 2015
    assert not weather.composed
    assert weather.table.index[0] == pd.Timestamp("2012-01-01")
    assert weather.table.index.name == "date"
    assert tuple(weather.table.columns) == COLUMNS
    # the file's second line, 2012/01/02: 10.9 mm, 10.6 and 2.8 C, wind 4.5
    second = weather.table.iloc[1]
    assert (second["rain_mm"], second["tmax_c"], second["tmin_c"]) == (10.9, 10.6, 2.8)
    assert second["wind_2m_m_s"] == pytest.approx(4.5 * 0.748, rel=1e-3)  # FAO-56 annex 2, table 2.9: 10 m
    # climate normals of Seattle, from memory: 950 mm a year, mean 11.5 C; these years were warm and wet
    assert weather.table["rain_mm"].sum() / 4 == pytest.approx(950, rel=0.25)
    assert weather.table[["tmin_c", "tmax_c"]].mean().mean() == pytest.approx(11.5, abs=1.5)


def test_units_in_headings_are_converted() -> None:
    weather = read("date,Tmin (F),tmax_f,rain_in,wind (mph)\n2014-06-01,50,77,1,10\n")
    row = weather.table.iloc[0]
    assert row["tmin_c"] == pytest.approx(10.0)
    assert row["tmax_c"] == pytest.approx(25.0)
    assert row["rain_mm"] == pytest.approx(25.4)
    assert row["wind_2m_m_s"] == pytest.approx(4.4704 * 0.748, rel=1e-3)


@pytest.mark.parametrize(
    ("heading", "written", "column", "read_as"),
    [
        ("TempMax [K]", 300.15, "tmax_c", 27.0),
        ("T min (°C)", 3.0, "tmin_c", 3.0),
        ("Precipitation (cm)", 2.0, "rain_mm", 20.0),
        ("solar (W/m²)", 250.0, "solar_mj_m2", 21.6),
        ("ghi_kwh_m2", 5.0, "solar_mj_m2", 18.0),
        ("sunshine_min", 90.0, "sunshine_h", 1.5),
        ("wind_2m_km_h", 7.2, "wind_2m_m_s", 2.0),
        ("u2", 2.5, "wind_2m_m_s", 2.5),
        ("wind (kn)", 10.0, "wind_10m_m_s", 5.14444),
        ("RH max (%)", 95.0, "rh_max_pct", 95.0),
    ],
)
def test_headings_as_people_write_them(heading: str, written: float, column: str, read_as: float) -> None:
    meaning = read_heading(heading)
    assert meaning is not None
    assert meaning.column == column
    assert written * meaning.scale + meaning.offset == pytest.approx(read_as, rel=1e-5)


def test_the_daily_table_can_be_written_and_read_again() -> None:
    first = read_weather(SEATTLE).table
    again = read(first.to_csv())
    pd.testing.assert_frame_equal(first, again.table, check_freq=False)


def test_a_mean_humidity_stands_for_both_extremes() -> None:
    weather = read("date,tmin,tmax,rain,rh\n2014-06-01,15,25,0,70\n")
    assert weather.table.iloc[0][["rh_min_pct", "rh_max_pct"]].tolist() == [70, 70]
    assert "eq. 19" in whats(weather)


def test_semicolons_decimal_commas_and_day_first() -> None:
    weather = read("Date;Tmin;Tmax;Rain\n30.06.2014;15,5;25,1;0\n01.07.2014;16;26;2,5\n")
    assert weather.table.index.tolist() == [pd.Timestamp("2014-06-30"), pd.Timestamp("2014-07-01")]
    assert weather.table["rain_mm"].tolist() == [0.0, 2.5]


def test_month_first_is_told_by_days_above_twelve() -> None:
    weather = read("date,tmin,tmax,rain\n6/29/2014,15,25,0\n6/30/2014,15,25,0\n")
    assert weather.table.index[0] == pd.Timestamp("2014-06-29")


def test_dates_that_can_be_read_two_ways_are_refused() -> None:
    with pytest.raises(WetfootError, match="day first or with the month first"):
        read("date,tmin,tmax,rain\n5/6/2014,15,25,0\n6/6/2014,15,25,0\n")


def test_year_month_and_day_in_columns_below_a_title() -> None:
    weather = read("Invented station,,,,,\nyear,month,day,tmin,tmax,rain\n2014,6,1,15,25,T\n")
    assert weather.table.index[0] == pd.Timestamp("2014-06-01")
    assert weather.table["rain_mm"].iloc[0] == 0.0  # T, a trace


def test_marks_for_missing_become_gaps() -> None:
    weather = read(THREE_DAYS.replace("26,12.5", "-9999,NA"))
    assert weather.table.loc["2014-06-02", ["tmax_c", "rain_mm"]].isna().all()
    assert [(f.day, f.column) for f in weather.findings if f.day] == [(date(2014, 6, 2), "tmax_c, rain_mm")]


def test_text_where_a_number_should_be_is_named_by_day() -> None:
    weather = read(THREE_DAYS.replace("12.5", "wet"))
    assert any(f.day == date(2014, 6, 2) and "'wet' is not a number" in f.what for f in weather.findings)


def test_a_line_without_a_date_is_named_and_left_out() -> None:
    weather = read(THREE_DAYS + "2014-06-31,10,20,1\n")
    assert len(weather.table) == 3
    assert "line 5: '2014-06-31' is not a date" in whats(weather)


@pytest.mark.parametrize("lost", ["tmin", "tmax", "rain", "date"])
def test_a_missing_column_is_refused_with_the_columns_found(lost: str) -> None:
    with pytest.raises(WetfootError) as refused:
        read(THREE_DAYS.replace(lost, "gust"))
    assert "columns found:" in str(refused.value)
    assert "gust" in str(refused.value)


def test_two_columns_for_one_quantity_are_refused() -> None:
    with pytest.raises(WetfootError, match="'rain' and 'precip' may both be rain_mm"):
        read("date,tmin,tmax,rain,precip\n2014-06-01,15,25,0,0\n")


def test_an_unknown_unit_is_refused_where_needed_and_left_out_where_not() -> None:
    with pytest.raises(WetfootError, match="unit in 'rain \\(buckets\\)'"):
        read("date,tmin,tmax,rain (buckets)\n2014-06-01,15,25,0\n")
    weather = read("date,tmin,tmax,rain,wind (Beaufort)\n2014-06-01,15,25,0,3\n")
    assert weather.table["wind_2m_m_s"].isna().all()
    assert "Beaufort" in whats(weather)


def test_hourly_rows_are_refused() -> None:
    with pytest.raises(WetfootError, match="carry times"):
        read("date,tmin,tmax,rain\n2014-06-01 01:00,15,25,0\n2014-06-01 02:00,15,25,0\n")


def test_headings_only_are_refused() -> None:
    with pytest.raises(WetfootError, match="no rows"):
        read("date,tmin,tmax,rain\n")


@given(st.randoms(use_true_random=False))
@settings(max_examples=20, deadline=None)
def test_the_order_of_days_does_not_matter(shuffler: random.Random) -> None:
    heading, *rows = SEATTLE.read_text().splitlines()[:60]
    rows[5] = rows[4]  # and with an equal double, a differing one, and a gap
    rows[9] = rows[8].replace(",", ",1", 1)
    in_order = read("\n".join([heading, *rows]))
    shuffler.shuffle(rows)
    shuffled = read("\n".join([heading, *rows]))
    pd.testing.assert_frame_equal(in_order.table, shuffled.table)
    assert in_order.findings == shuffled.findings
