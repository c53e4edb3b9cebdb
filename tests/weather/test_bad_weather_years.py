"""Records that cannot be used for the site are refused with what to do. Invented tables are marked by their source."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import vega_datasets

from wetfoot.errors import WetfootError
from wetfoot.weather.checks import checked
from wetfoot.weather.daily import DailyWeather
from wetfoot.weather.hemisphere import refuse_other_hemisphere
from wetfoot.weather.read import read_weather
from wetfoot.weather.seasons import seasons

PATH = Path(vega_datasets.__file__).parent / "_data" / "seattle-weather.csv"
SEATTLE = read_weather(PATH)


def test_a_record_of_the_other_hemisphere_is_refused_by_its_warm_months() -> None:
    """Seattle's file has no radiation; its warmest month is August."""
    with pytest.raises(WetfootError) as refused:
        seasons(SEATTLE, date(2027, 10, 1), 200, latitude_deg=-47.45, elevation_m=130.0)
    message = str(refused.value)
    assert "August" in message
    assert "north positive, south negative" in message


@pytest.mark.parametrize("latitude", [47.45, 30.0, 5.0, -5.0])
def test_the_right_hemisphere_and_the_tropics_are_taken(latitude: float) -> None:
    refuse_other_hemisphere(SEATTLE, latitude)


def invented(hottest_day: int, amplitude_c: float, days: int = 730) -> DailyWeather:
    rows = pd.DataFrame({"date": pd.date_range("2013-01-01", periods=days), "rain_mm": 1.0})
    turn = 2.0 * np.pi * (rows["date"].dt.day_of_year - hottest_day) / 365.25
    noise = np.random.default_rng(1).normal(0.0, 3.0, days)
    rows = rows.assign(tmin_c=20.0 + amplitude_c * np.cos(turn) + noise).assign(tmax_c=lambda t: t["tmin_c"] + 9.0)
    return checked(rows, "invented record", composed=False)


def test_monsoon_heat_before_the_rains_is_no_other_hemisphere() -> None:
    refuse_other_hemisphere(invented(hottest_day=120, amplitude_c=6.0), 22.0)  # hottest about 1 May


def test_a_southern_record_at_a_southern_site_is_taken() -> None:
    southern = invented(hottest_day=20, amplitude_c=8.0)
    refuse_other_hemisphere(southern, -30.0)
    with pytest.raises(WetfootError, match="January"):
        refuse_other_hemisphere(southern, 30.0)


def test_weather_without_seasons_or_of_part_of_a_year_tells_nothing() -> None:
    refuse_other_hemisphere(invented(20, 0.0), 30.0)
    refuse_other_hemisphere(invented(20, 8.0, days=200), 30.0)


def test_exchanged_columns_are_refused_with_what_to_do() -> None:
    rows = pd.DataFrame({"date": pd.date_range("2014-06-01", periods=30), "rain_mm": 0.0})
    rows = rows.assign(tmin_c=25.0, tmax_c=15.0)
    with pytest.raises(WetfootError, match=r"above the maximum on 30 of 30 days[^§]*exchange the two headings"):
        checked(rows, "invented.csv", composed=False)


def test_exchanged_headings_of_a_file_are_refused(tmp_path: Path) -> None:
    text = PATH.read_text().replace("temp_max,temp_min", "temp_min,temp_max", 1)
    (tmp_path / "exchanged.csv").write_text(text)
    with pytest.raises(WetfootError, match="exchange the two headings"):
        read_weather(tmp_path / "exchanged.csv")


@pytest.mark.parametrize("missing", ["precipitation", "temp_max", "temp_min"])
def test_a_missing_variable_is_named_and_how_to_give_it(tmp_path: Path, missing: str) -> None:
    (tmp_path / "lacking.csv").write_text(pd.read_csv(PATH).drop(columns=missing).to_csv(index=False))
    with pytest.raises(WetfootError) as refused:
        read_weather(tmp_path / "lacking.csv")
    (problem,) = refused.value.problems
    assert {"precipitation": "rain", "temp_max": "tmax", "temp_min": "tmin"}[missing] in problem.what
    assert problem.fix
