"""What is wrong in a weather file is named by day, or refused. All tables are invented."""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd
import pytest

from wetfoot.errors import WetfootError
from wetfoot.weather.checks import checked
from wetfoot.weather.daily import DailyWeather, Finding

JUNE_2 = date(2014, 6, 2)


def june(days: int = 5, **columns: object) -> pd.DataFrame:
    table = pd.DataFrame({"date": pd.date_range("2014-06-01", periods=days)})
    return table.assign(**({"tmin_c": 15.0, "tmax_c": 25.0, "rain_mm": 2.0} | columns))


def check(rows: pd.DataFrame, composed: bool = False) -> DailyWeather:
    return checked(rows, "invented.csv", composed)


def dated(weather: DailyWeather) -> list[Finding]:
    return [finding for finding in weather.findings if finding.day]


def test_a_clean_table_has_no_dated_finding() -> None:
    weather = check(june())
    assert dated(weather) == []
    assert weather.table["tmin_c"].tolist() == [15.0] * 5


def test_a_gap_stays_a_gap_and_is_one_finding() -> None:
    weather = check(june(10).drop(index=[1, 2, 3]))
    assert len(weather.table) == 10
    assert weather.table["rain_mm"].isna().sum() == 3
    assert dated(weather) == [
        Finding(JUNE_2, "tmin_c, tmax_c, rain_mm", "not measured on 2014-06-02 to 2014-06-04 (3 days)")
    ]


def test_a_composed_year_is_not_filled_up_with_calendar_days() -> None:
    rows = june(5)
    rows.loc[3:, "date"] = pd.to_datetime(["1991-06-04", "1991-06-05"])
    weather = check(rows, composed=True)
    assert len(weather.table) == 5
    assert weather.table.index.is_monotonic_increasing
    assert sum(finding.column == "date" for finding in weather.findings) == 360  # what the year lacks


def test_a_composed_year_with_a_day_twice_keeps_the_earlier() -> None:
    rows = june(2)
    rows.loc[1, "date"] = pd.Timestamp("1991-06-01")
    rows.loc[1, "rain_mm"] = 7.0
    weather = check(rows, composed=True)
    assert weather.table["rain_mm"].tolist() == [7.0]
    assert "another year" in dated(weather)[0].what


def test_equal_rows_of_one_day_are_kept_once() -> None:
    rows = june()
    weather = check(pd.concat([rows, rows.iloc[[1]]]))
    assert weather.table["rain_mm"].tolist() == [2.0] * 5
    assert dated(weather) == [Finding(JUNE_2, "date", "2 equal rows; the first is kept")]


def test_different_rows_of_one_day_are_reported_and_not_chosen_from() -> None:
    rows = june()
    weather = check(pd.concat([rows, rows.iloc[[1]].assign(rain_mm=9.0)]))
    assert weather.table.loc["2014-06-02"].isna().all()
    assert "2 and 9" in next(f.what for f in dated(weather) if f.column == "rain_mm")


def test_several_rows_for_most_days_are_refused() -> None:
    rows = june()
    with pytest.raises(WetfootError, match="several different rows"):
        check(pd.concat([rows, rows.assign(rain_mm=9.0)]))


def test_minimum_above_maximum_is_not_swapped() -> None:
    rows = june()
    rows.loc[1, "tmin_c"] = 30.0
    weather = check(rows)
    assert weather.table.loc["2014-06-02", ["tmin_c", "tmax_c"]].isna().all()
    assert weather.table.loc["2014-06-02", "rain_mm"] == 2.0
    assert any("minimum 30 is above the maximum 25" in finding.what for finding in dated(weather))


@pytest.mark.parametrize(
    ("column", "value"),
    [
        ("tmin_c", -61.0),
        ("tmax_c", 61.0),
        ("rain_mm", -0.1),
        ("rain_mm", 501.0),
        ("rh_min_pct", -1.0),
        ("rh_max_pct", 101.0),
        ("wind_2m_m_s", 61.0),
        ("wind_2m_m_s", -1.0),
        ("solar_mj_m2", -1.0),
        ("rain_mm", np.inf),
    ],
)
def test_what_cannot_be_is_taken_as_not_measured(column: str, value: float) -> None:
    rows = june()
    rows[column] = rows.get(column, pd.Series(10.0, index=rows.index))
    rows.loc[1, column] = value
    weather = check(rows)
    assert np.isnan(weather.table.loc["2014-06-02", column])
    assert any(f.day == JUNE_2 and f.column == column and "outside" in f.what for f in weather.findings)


@pytest.mark.parametrize(
    ("columns", "looks_like"),
    [
        ({"tmin_c": 60.0, "tmax_c": 77.0}, "Fahrenheit"),
        ({"tmin_c": 288.0, "tmax_c": 298.0}, "kelvin"),
        ({"tmin_c": 150.0, "tmax_c": 250.0}, "tenths"),
        ({"rh_max_pct": 0.95}, "fraction"),
        ({"solar_mj_m2": 240.0}, "W/m2"),
    ],
)
def test_a_unit_that_looks_wrong_throughout_is_refused(columns: dict[str, float], looks_like: str) -> None:
    with pytest.raises(WetfootError, match=looks_like):
        check(june(**columns))


def test_more_rain_than_falls_anywhere_is_refused_over_a_year_but_not_over_a_wet_week() -> None:
    assert check(june(7, rain_mm=60.0)).table["rain_mm"].sum() == 420.0
    with pytest.raises(WetfootError, match="tenths of a millimetre"):
        check(june(365, rain_mm=60.0))


def test_hardly_any_rain_is_remarked_on() -> None:
    weather = check(june(365, rain_mm=0.08))  # 1150 mm written in inches is 45
    assert any(f.column == "rain_mm" and "inches" in f.what for f in weather.findings)


def test_no_usable_day_is_refused() -> None:
    with pytest.raises(WetfootError, match="no day has all"):
        check(june(rain_mm=np.nan))
