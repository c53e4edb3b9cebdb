"""Made-up years against the record: Seattle (vega_datasets, four real years) and Greensboro (TMY3, pvlib)."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pvlib
import pytest
import vega_datasets
from scipy.stats import binom

from wetfoot.weather.comparison import Compared, compare, rain_table, residual_table
from wetfoot.weather.generator import fit_generator
from wetfoot.weather.more_years import How, more_seasons
from wetfoot.weather.read import read_weather
from wetfoot.weather.seasons import Seasons, seasons

SEATTLE = read_weather(Path(vega_datasets.__file__).parent / "_data" / "seattle-weather.csv")
GREENSBORO = read_weather(Path(pvlib.__file__).parent / "data" / "723170TYA.CSV")
APRIL = date(2027, 4, 1)


def made(how: How, seed: int = 1) -> Seasons:
    return more_seasons(SEATTLE, APRIL, 245, 47.45, 130.0, how, 1004, seed)


def row(rows: tuple[Compared, ...], what: str, month: int = 0) -> Compared:
    (found,) = (r for r in rows if r.what.startswith(what) and r.month == month)
    return found


@pytest.mark.parametrize("how", ["resampled", "generated"])
def test_a_thousand_years_agree_with_four_real_ones(how: How) -> None:
    rows = compare(made(how))
    outside = [r for r in rows if not r.inside]
    assert len(rows) == 46  # nine months of four rows, and ten of the season
    assert len(outside) <= binom.ppf(0.99, len(rows), 0.05)  # 95 % intervals: so many by chance
    assert row(rows, "longest dry spell of all").inside
    assert row(rows, "longest wet spell of all").inside


def test_a_thousand_years_agree_with_the_typical_year() -> None:
    laid = more_seasons(GREENSBORO, APRIL, 245, 36.1, 273.0, "generated", 1001, 1)
    rows = compare(laid)
    assert sum(not r.inside for r in rows) <= binom.ppf(0.99, len(rows), 0.05)


def test_values_of_the_record_are_those_of_the_file() -> None:
    """The same statistics taken from the file by pandas."""
    rows = compare(made("generated"))
    table = SEATTLE.table
    may = table[table.index.to_series().dt.month == 5]
    assert row(rows, "wet days", 5).record == pytest.approx(100.0 * (may["rain_mm"] >= 0.1).mean())
    assert row(rows, "rain, mm", 5).record == pytest.approx(may["rain_mm"].sum() / 4)
    assert row(rows, "mean of lowest", 5).record == pytest.approx(may["tmin_c"].mean())
    assert row(rows, "mean of highest", 5).record == pytest.approx(may["tmax_c"].mean())
    seasonal = [table.loc[f"{year}-04-01" : f"{year}-12-01", "rain_mm"] for year in range(2012, 2016)]
    spells = []
    for rain in seasonal:
        dry = rain < 0.1
        spells.append(int(dry.groupby((dry != dry.shift()).cumsum()).sum().max()))
    assert row(rows, "longest dry spell of all").record == max(spells)
    assert row(rows, "longest dry spell of a season").record == np.mean(spells)
    assert row(rows, "rain of the driest").record == pytest.approx(min(rain.sum() for rain in seasonal))
    assert row(rows, "wettest day").record == max(rain.max() for rain in seasonal)


def test_weather_that_is_not_the_records_is_found_out() -> None:
    laid = made("generated")
    warmer = tuple(replace(run, tmax_c=run.tmax_c + 3.0) for run in laid.runs[4:])
    wetter = tuple(replace(run, rain_mm=2.0 * run.rain_mm) for run in laid.runs[4:])
    shuffled = tuple(replace(run, rain_mm=np.random.default_rng(i).permutation(run.rain_mm))
                     for i, run in enumerate(laid.runs[4:]))  # fmt: skip
    record = laid.record
    assert not row(compare(replace(laid, runs=record + warmer)), "mean of highest", 7).inside
    assert not row(compare(replace(laid, runs=record + wetter)), "rain of the season").inside
    assert not row(compare(replace(laid, runs=record + shuffled)), "longest dry spell of a season").inside


def test_a_record_of_the_same_law_is_inside_as_often_as_stated() -> None:
    """Generated years taken as the record, again and again: about 5 % of the rows outside."""
    laid = made("generated")
    runs = laid.runs[4:]
    outside = [
        sum(not r.inside for r in compare(replace(laid, runs=runs[4 * at : 4 * at + 4] + runs[400:], made=600)))
        for at in range(20)
    ]
    assert 0.02 < np.mean(outside) / 46 < 0.10


def test_the_same_table_every_time() -> None:
    laid = made("resampled")
    assert compare(laid) == compare(laid)


def test_without_made_up_years_there_is_nothing_to_compare() -> None:
    with pytest.raises(ValueError, match="made-up"):
        compare(seasons(SEATTLE, APRIL, 245, 47.45, 130.0))


def test_parameters_are_shown_by_month_and_variable() -> None:
    fitted = fit_generator(SEATTLE, 47.45)
    rows = rain_table(fitted)
    assert [r["month"] for r in rows][::11] == ["January", "December"]
    july = SEATTLE.table[SEATTLE.table.index.to_series().dt.month == 7]["rain_mm"]
    assert rows[6]["wet days"] == (july >= 0.1).sum()
    assert rows[6]["rain of a wet day, mm"] == pytest.approx(july[july >= 0.1].mean())
    chain = residual_table(fitted)
    assert [r["variable"] for r in chain] == ["tmax", "tmin", "wind"]
    assert chain[0]["A, tmax of the day before"] == pytest.approx(fitted.a[0, 0])
    assert chain[0]["B, random tmin"] == 0.0  # B is lower triangular
