"""GHCN-Daily files, invented here after its README (NOAA NCEI), section III.

A .dly line: station 1-11, year 12-15, month 16-17, element 18-21, 31 times value (5) and M, Q and S flags.
"""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from wetfoot.errors import WetfootError
from wetfoot.weather.daily import DailyWeather
from wetfoot.weather.ghcn_daily import read_ghcn_csv, read_ghcn_dly
from wetfoot.weather.read import guess_format

STATION = "XX000INVENT"
CSV = (
    "STATION,DATE,NAME,PRCP,PRCP_ATTRIBUTES,TMAX,TMAX_ATTRIBUTES,TMIN,TMIN_ATTRIBUTES\n"
    'XX000INVENT,2014-06-01,"INVENTED, YARD",   5,",,7,0700",  250,",,7",  150,",,7"\n'
    'XX000INVENT,2014-06-02,"INVENTED, YARD",    ,,  261,",I,7",  -11,",,7"\n'
    'XX000INVENT,2014-06-03,"INVENTED, YARD",   0,"T,,7",  240,",,7",  140,",,7"\n'
)


def line(element: str, values: list[int], flags: str = "  7", month: str = "201406") -> str:
    cells = [f"{value:5d}{flags}" for value in values] + ["-9999   "] * (31 - len(values))
    return f"{STATION}{month}{element}{''.join(cells)}"


def dly(*lines: str) -> DailyWeather:
    return read_ghcn_dly("\n".join(lines) + "\n", "station.dly")


MONTH = (line("TMAX", [250, 261, 240]), line("TMIN", [150, -11, 140]), line("PRCP", [5, 0, 123]))


def test_a_line_is_as_long_as_the_readme_says() -> None:
    assert len(MONTH[0]) == 269


def test_tenths_become_degrees_and_millimetres() -> None:
    weather = dly(*MONTH)
    assert weather.table.index[0].date() == date(2014, 6, 1)
    assert weather.table["tmax_c"].tolist() == pytest.approx([25.0, 26.1, 24.0])
    assert weather.table["tmin_c"].tolist() == pytest.approx([15.0, -1.1, 14.0])
    assert weather.table["rain_mm"].tolist() == pytest.approx([0.5, 0.0, 12.3])
    assert not weather.composed


def test_elements_beyond_the_three() -> None:
    more = [
        line("AWND", [40]),
        line("TSUN", [90]),
        line("ADPT", [120]),
        line("RHMN", [40]),
        line("RHMX", [90]),
    ]
    day = dly(*MONTH, *more, line("SNWD", [700])).table.iloc[0]
    assert day["sunshine_h"] == 1.5
    assert day["tdew_c"] == pytest.approx(12.0)
    assert (day["rh_min_pct"], day["rh_max_pct"]) == (40, 90)
    assert day["wind_2m_m_s"] == pytest.approx(4.0 * 0.748, rel=1e-3)  # FAO-56 annex 2, table 2.9


def test_a_value_that_failed_a_quality_check_is_not_measured() -> None:
    weather = dly(*MONTH[:2], line("PRCP", [5, 900, 12]).replace("  900  7", "  900 G7"))
    assert weather.table["rain_mm"].tolist() == pytest.approx([0.5, np.nan, 1.2], nan_ok=True)
    flagged = [f for f in weather.findings if "90 has quality flag G (gap check)" in f.what]
    assert [(f.day, f.column) for f in flagged] == [(date(2014, 6, 2), "rain_mm")]


def test_a_presumed_zero_is_remarked_on() -> None:
    weather = dly(*MONTH[:2], line("PRCP", [0, 0, 0], flags="P 7"))
    assert sum("presumes" in finding.what for finding in weather.findings) == 3
    assert weather.table["rain_mm"].tolist() == [0.0, 0.0, 0.0]


def test_days_that_a_month_does_not_have_are_left_out() -> None:
    weather = dly(*MONTH, line("PRCP", [0] * 31, month="201402"))
    assert "2014-02-28" in weather.table.index
    assert sum("left out" in finding.what for finding in weather.findings) == 3  # 29, 30, 31 February


def test_a_mistyped_year_does_not_stretch_the_record() -> None:
    weather = dly(*MONTH, line("PRCP", [0], month="902406"))
    assert len(weather.table) == 3
    assert any("9024-06-01 is outside" in finding.what for finding in weather.findings)


def test_a_value_given_twice_counts_once_or_not_at_all() -> None:
    weather = dly(*MONTH, line("PRCP", [5, 7]))
    assert weather.table["rain_mm"].isna().tolist() == [False, True, False]
    assert any("given twice (0 and 0.7)" in finding.what for finding in weather.findings)


def test_two_stations_in_a_file_are_refused() -> None:
    with pytest.raises(WetfootError, match="2 stations"):
        dly(*MONTH, MONTH[0].replace("INVENT", "SECOND"))


def test_a_station_that_measures_rain_only_is_refused() -> None:
    with pytest.raises(WetfootError, match=r"no tmin_c, tmax_c in the file \(found: rain_mm\)"):
        dly(MONTH[2])


def test_the_csv_form() -> None:
    weather = read_ghcn_csv(CSV, "station.csv")
    assert weather.table["tmin_c"].tolist() == pytest.approx([15.0, -1.1, 14.0])
    assert weather.table["rain_mm"].tolist() == pytest.approx([0.5, np.nan, 0.0], nan_ok=True)
    assert np.isnan(weather.table["tmax_c"].iloc[1])
    assert any("quality flag I (internal consistency check)" in finding.what for finding in weather.findings)


def test_the_csv_form_in_other_units_is_refused() -> None:
    with pytest.raises(WetfootError, match="not in tenths"):
        read_ghcn_csv(CSV.replace("  250", " 77.0"), "station.csv")


def test_the_csv_form_lacking_an_element_is_refused() -> None:
    with pytest.raises(WetfootError, match=r"no column PRCP \(columns found: STATION, DATE"):
        read_ghcn_csv(CSV.replace("PRCP", "SNOW"), "station.csv")


def test_both_forms_are_told_by_what_they_begin_with() -> None:
    assert guess_format("\n".join(MONTH)) == "ghcn_dly"
    assert guess_format(CSV) == "ghcn_csv"
    assert guess_format("DATE,TMAX,TMIN,PRCP\n2014-06-01,25,15,0\n") == "named_csv"
