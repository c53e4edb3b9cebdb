"""Check a table of days as it came from a file, and bring it into the form of `DailyWeather`.

Nothing is mended silently: a value that cannot be is set to not measured, and named by day. What makes the
whole file doubtful (a wrong unit, several rows a day) is refused.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date
from typing import Any

import pandas as pd

from wetfoot.errors import refuse
from wetfoot.weather.daily import (
    COLUMNS,
    FIRST_YEAR,
    LAST_YEAR,
    NOT_MEASURED,
    OPTIONAL,
    REQUIRED,
    DailyWeather,
    Finding,
)

# What no place on earth reaches near the ground; 500 mm and 60 m/s are passed by tropical cyclones only.
LIMITS = {
    "tmin_c": (-60.0, 60.0),
    "tmax_c": (-60.0, 60.0),
    "rain_mm": (0.0, 500.0),
    "solar_mj_m2": (0.0, 50.0),  # above the atmosphere it is 46 at most
    "sunshine_h": (0.0, 24.0),
    "tdew_c": (-60.0, 40.0),
    "rh_min_pct": (0.0, 100.0),
    "rh_max_pct": (0.0, 100.0),
    "wind_2m_m_s": (0.0, 60.0),
}
# (column, the median lies above, and not above, what the values look like)
DOUBTFUL_MEDIANS = (
    ("tmax_c", 45.0, 120.0, "degrees Fahrenheit, or tenths of a degree"),
    ("tmax_c", 120.0, float("inf"), "kelvin, or tenths of a degree"),
    ("rh_max_pct", 0.0, 1.0, "a fraction instead of per cent"),
    ("solar_mj_m2", 50.0, float("inf"), "W/m2 instead of MJ/m2 a day"),
    ("wind_2m_m_s", 25.0, float("inf"), "another unit than m/s"),
)
WETTEST_MM_PER_DAY = 33.0  # 12 m a year: the wettest places on earth (Khasi Hills), from memory
DRY_MM_PER_DAY = 0.4  # 150 mm a year: a desert, or rain in inches, or rain that is not in the file
ENOUGH_DAYS = 300


def checked(rows: pd.DataFrame, source: str, composed: bool, noticed: Iterable[Finding] = ()) -> DailyWeather:
    """Return the daily weather that a reader found, checked.

    Args:
        rows: column ``date`` (days, in any order, maybe several rows a day) and any of `COLUMNS`, as numbers.
        source: file name and format, in words.
        composed: whether it is a typical year, put together from months of different years.
        noticed: what the reader noticed itself.

    Raises:
        WetfootError: if there is no usable day, most days have several rows, or a unit looks wrong.
    """
    rows = rows.reindex(columns=["date", *COLUMNS]).astype(dict.fromkeys(COLUMNS, float))
    rows["date"] = pd.to_datetime(rows["date"]).dt.as_unit("s").dt.normalize()
    findings = list(noticed)
    rows = _within_reason(rows, findings)
    _refuse_wrong_units(rows, source)
    table = _one_row_a_day(rows, source, findings)
    findings.extend(_blank_impossible(table))
    _refuse_swapped(table, source)
    findings.extend(_blank_crossed(table, "tmin_c", "tmax_c"))
    findings.extend(_blank_crossed(table, "rh_min_pct", "rh_max_pct"))
    if not table[list(REQUIRED)].notna().all(axis=1).any():
        counts = ", ".join(f"{column} on {table[column].notna().sum()} days" for column in REQUIRED)
        raise refuse(source, f"no day has all of tmin, tmax and rain ({counts})", "days with all three")
    if composed:
        table = _one_year(table, findings)
    else:
        table = table.reindex(pd.date_range(table.index[0], table.index[-1], unit="s", name="date"))
    findings.extend(_missing_runs(table))
    findings.extend(_about_columns(table))
    order = sorted(findings, key=lambda f: (f.day or date.min, f.column, f.what))
    return DailyWeather(table, source, composed, tuple(order))


def day_of(stamp: Any) -> date:
    """Return the plain date of a row's index entry."""
    return pd.Timestamp(stamp).date()


def _within_reason(rows: pd.DataFrame, findings: list[Finding]) -> pd.DataFrame:
    sure = rows["date"].dt.year.between(FIRST_YEAR, LAST_YEAR)
    for day in rows["date"][~sure].dropna().drop_duplicates():
        what = f"{day_of(day)} is outside {FIRST_YEAR} to {LAST_YEAR}; left out"
        findings.append(Finding(None, "date", what))
    kept: pd.DataFrame = rows.loc[sure]
    return kept


def _refuse_wrong_units(rows: pd.DataFrame, source: str) -> None:
    for column, above, not_above, looks_like in DOUBTFUL_MEDIANS:
        median = float(rows[column].median())
        if above < median <= not_above:
            raise refuse(
                f"{source}, {column}",
                f"the middle value is {median:g}: looks like {looks_like}",
                "deg C, mm, MJ/m2 a day, %, m/s unless the heading says otherwise",
                "write the unit into the heading, as in 'tmin (F)' or 'rain (in)', or name the file's format",
            )
    rain = rows["rain_mm"].dropna()
    if len(rain) >= ENOUGH_DAYS and float(rain.mean()) > WETTEST_MM_PER_DAY:
        raise refuse(
            f"{source}, rain_mm",
            f"{rain.mean() * 365.25:.0f} mm a year falls nowhere: looks like tenths of a millimetre",
            "rain in mm, unless the heading says otherwise",
            "divide by ten, or name the file's format",
        )


def _refuse_swapped(table: pd.DataFrame, source: str) -> None:
    """Refuse a file whose minimum lies above its maximum on most days: the two columns are exchanged."""
    both = table[["tmin_c", "tmax_c"]].dropna()
    crossed = int((both["tmin_c"] > both["tmax_c"]).sum())
    if crossed > len(both) / 2:
        raise refuse(
            f"{source}, tmin_c and tmax_c",
            f"the minimum is above the maximum on {crossed} of {len(both)} days: the two columns look exchanged",
            "the day's lowest temperature as tmin, its highest as tmax",
            "exchange the two headings",
        )


def _one_row_a_day(rows: pd.DataFrame, source: str, findings: list[Finding]) -> pd.DataFrame:
    """Merge several rows of one day: equal ones to the first, different ones to a day not measured."""
    rows = rows.sort_values("date", kind="stable")
    repeated = rows[rows["date"].duplicated(keep=False)]
    table = rows.drop_duplicates("date").set_index("date")
    different = repeated[~repeated.duplicated(keep=False)]["date"].nunique()
    if different > len(table) / 2:
        raise refuse(
            source,
            f"{different} of {len(table)} days have several different rows",
            "one row a day of one place",
            "give daily values of a single station",
        )
    for stamp, same_day in repeated.groupby("date"):
        unlike = [column for column in COLUMNS if same_day[column].nunique(dropna=False) > 1]
        if not unlike:
            findings.append(Finding(day_of(stamp), "date", f"{len(same_day)} equal rows; the first is kept"))
            continue
        table.loc[stamp, :] = float("nan")
        for column in unlike:
            values = " and ".join(f"{value:g}" for value in sorted(same_day[column], key=str))
            what = f"several rows differ ({values}); the day is taken as not measured"
            findings.append(Finding(day_of(stamp), column, what))
    return table


def _blank_impossible(table: pd.DataFrame) -> Iterator[Finding]:
    for column, (lowest, highest) in LIMITS.items():
        values = table[column]
        wrong = values[(values < lowest) | (values > highest)]
        for stamp, value in wrong.items():
            what = f"{value:g} is outside {lowest:g} to {highest:g}; taken as not measured"
            yield Finding(day_of(stamp), column, what)
        table.loc[wrong.index, column] = float("nan")


def _blank_crossed(table: pd.DataFrame, low: str, high: str) -> Iterator[Finding]:
    wrong = table[table[low] > table[high]]
    for stamp, row in wrong.iterrows():
        what = f"the minimum {row[low]:g} is above the maximum {row[high]:g}; both taken as not measured"
        yield Finding(day_of(stamp), f"{low}, {high}", what)
    table.loc[wrong.index, [low, high]] = float("nan")


def _one_year(table: pd.DataFrame, findings: list[Finding]) -> pd.DataFrame:
    """Keep one row for each month and day, and report the days that a composed year lacks."""
    month_days = table.index.to_series().dt.strftime("%m-%d")
    for stamp in table.index[month_days.duplicated()]:
        what = "another year of the file has this day too; the earlier one is kept"
        findings.append(Finding(day_of(stamp), "date", what))
    have = set(month_days)
    for day in pd.date_range("2001-01-01", "2001-12-31"):
        if day.strftime("%m-%d") not in have:
            findings.append(Finding(None, "date", f"the typical year has no {day.day} {day.month_name()}"))
    kept: pd.DataFrame = table.loc[~month_days.duplicated()]
    return kept


def _missing_runs(table: pd.DataFrame) -> Iterator[Finding]:
    """Yield one finding for each run of days that lack the same required columns."""
    lacking = pd.Series("", index=table.index)
    for column in REQUIRED:
        lacking = lacking.mask(table[column].isna(), lacking + ", " + column)
    run = (lacking != lacking.shift()).cumsum()
    for _, days in lacking[lacking != ""].groupby(run):
        first, last = day_of(days.index[0]), day_of(days.index[-1])
        until = f" to {last} ({len(days)} days)" if len(days) > 1 else ""
        yield Finding(first, str(days.iloc[0])[2:], f"not measured on {first}{until}")


def _about_columns(table: pd.DataFrame) -> Iterator[Finding]:
    for column in OPTIONAL:
        measured = int(table[column].notna().sum())
        if measured == 0:
            yield Finding(None, column, NOT_MEASURED)
        elif measured < len(table):
            yield Finding(None, column, f"measured on {measured} of {len(table)} days")
    rain = table["rain_mm"].dropna()
    if len(rain) >= ENOUGH_DAYS and float(rain.mean()) < DRY_MM_PER_DAY:
        what = f"{rain.mean() * 365.25:.0f} mm of rain a year: a desert, inches, or rain that is not in the file"
        yield Finding(None, "rain_mm", what)
