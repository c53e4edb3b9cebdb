"""EPW files, invented here after the data dictionary in EnergyPlus Auxiliary Programs.

35 fields a row: year, month, day, hour 1 to 24, minute, source flags, dry bulb, dew point, humidity,
pressure, ten of radiation and light (the 4th: global horizontal, Wh/m2), wind direction and speed, eleven
others, and at the end liquid precipitation depth (mm) and its period (h).
"""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest

from wetfoot.errors import WetfootError
from wetfoot.weather.epw import read_epw
from wetfoot.weather.read import guess_format

HEADER = [
    "LOCATION,Invented Bay,-,XXX,made up,000000,20.0,110.0,8.0,12.0",
    "DESIGN CONDITIONS,0",
    "TYPICAL/EXTREME PERIODS,0",
    "GROUND TEMPERATURES,0",
    "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0",
    'COMMENTS 1,"invented, with an odd quote',
    "COMMENTS 2,",
    "DATA PERIODS,1,1,Data,Sunday,1/1,12/31",
]
FIELD = {"temp": 6, "dew": 7, "rh": 8, "ghi": 13, "wind": 21, "rain": 33, "period": 34}
Hours = list[list[str]]


def hours(first: date, days: int) -> Hours:
    """Return rows: 20 C at hour 1 to 31.5 C at hour 24, sun 500 Wh from hour 8 to 17, 0.5 mm in hour 24."""
    rows = []
    for day in range(days):
        on = first + timedelta(days=day)
        for hour in range(1, 25):
            row = ["0"] * 35
            row[:6] = [str(on.year), str(on.month), str(on.day), str(hour), "0", "?9?9?9?9E0"]
            row[FIELD["temp"]], row[FIELD["dew"]] = f"{19.5 + hour / 2}", "18.0"
            row[FIELD["rh"]], row[9] = f"{95 - hour}", "101000"
            row[FIELD["ghi"]] = "500" if 8 <= hour <= 17 else "0"
            row[FIELD["wind"]] = "4.0"
            row[FIELD["rain"]], row[FIELD["period"]] = ("0.5" if hour == 24 else "0.0"), "1"
            rows.append(row)
    return rows


def text(rows: Hours, header: list[str] = HEADER) -> str:
    return "\n".join([*header, *(",".join(row) for row in rows)]) + "\n"


def test_a_day_of_hours() -> None:
    weather = read_epw(text(hours(date(2001, 3, 1), 2)), "bay.epw")
    assert len(weather.table) == 2
    day = weather.table.loc["2001-03-01"]
    assert (day["tmin_c"], day["tmax_c"]) == (20.0, 31.5)  # hours 1 and 24 of the same day
    assert day["rain_mm"] == 0.5
    assert day["solar_mj_m2"] == pytest.approx(5000 * 0.0036)
    assert day["tdew_c"] == 18.0
    assert (day["rh_min_pct"], day["rh_max_pct"]) == (71, 94)
    assert day["wind_2m_m_s"] == pytest.approx(4.0 * 0.748, rel=1e-3)  # FAO-56 annex 2, table 2.9


@pytest.mark.parametrize(
    ("field", "missing", "column"),
    [
        ("temp", "99.9", "tmin_c"),
        ("dew", "99.9", "tdew_c"),
        ("rh", "999", "rh_max_pct"),
        ("ghi", "9999", "solar_mj_m2"),
        ("wind", "999", "wind_2m_m_s"),
        ("rain", "999", "rain_mm"),
        ("rain", "", "rain_mm"),
    ],
)
def test_the_dictionarys_marks_for_missing(field: str, missing: str, column: str) -> None:
    rows = hours(date(2001, 3, 1), 2)
    rows[30][FIELD[field]] = missing
    weather = read_epw(text(rows), "bay.epw")
    assert weather.table[column].isna().tolist() == [False, True]
    assert any(f.day == date(2001, 3, 2) and "23 of 24" in f.what for f in weather.findings)


def test_months_from_different_years_make_a_composed_year() -> None:
    rows = hours(date(1995, 2, 28), 1) + hours(date(1989, 3, 1), 1)
    weather = read_epw(text(rows), "bay.epw")
    assert weather.composed
    assert weather.table.index.tolist() == [pd.Timestamp("1989-03-01"), pd.Timestamp("1995-02-28")]


def test_several_years_on_end_are_a_record() -> None:
    weather = read_epw(text(hours(date(2010, 1, 1), 731)), "bay.epw")
    assert not weather.composed
    assert len(weather.table) == 731


def test_an_hour_that_is_lost_leaves_its_day_unknown() -> None:
    rows = hours(date(2001, 3, 1), 2)
    del rows[40]
    assert np.isnan(read_epw(text(rows), "bay.epw").table.loc["2001-03-02", "tmin_c"])


def test_old_files_without_rain_are_refused() -> None:
    rows = [row[:33] for row in hours(date(2001, 3, 1), 2)]
    with pytest.raises(WetfootError, match="rain_mm on 0 days"):
        read_epw(text(rows), "bay.epw")


def test_a_field_too_many_does_not_shift_the_others() -> None:
    rows = [[*row, ""] for row in hours(date(2001, 3, 1), 1)]
    assert read_epw(text(rows), "bay.epw").table.iloc[0]["tmax_c"] == 31.5


def test_steps_below_an_hour_are_refused() -> None:
    header = [*HEADER[:-1], "DATA PERIODS,1,4,Data,Sunday,1/1,12/31"]
    with pytest.raises(WetfootError, match="4 records an hour"):
        read_epw(text(hours(date(2001, 3, 1), 1), header), "bay.epw")


def test_a_header_without_data_is_refused() -> None:
    with pytest.raises(WetfootError, match="EPW"):
        read_epw("\n".join(HEADER[:3]), "bay.epw")


def test_it_is_told_by_its_first_line() -> None:
    assert guess_format(text(hours(date(2001, 3, 1), 1))) == "epw"
