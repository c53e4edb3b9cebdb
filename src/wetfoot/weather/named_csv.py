"""Read a plain CSV file with one row a day, whose columns have names, with units in the headings."""

from __future__ import annotations

import math

import pandas as pd

from wetfoot.climate.evapotranspiration import wind_at_2m_m_s
from wetfoot.errors import Problem, WetfootError, refuse
from wetfoot.weather.checks import checked, day_of
from wetfoot.weather.daily import REQUIRED, DailyWeather, Finding
from wetfoot.weather.days import parse_days
from wetfoot.weather.headings import RH_MEAN, WIND_10M, Heading, plain, read_heading
from wetfoot.weather.text import split_rows

DATE_NAMES = ("date", "day", "datetime", "time", "timestamp")
DATE_PARTS = (("year", "month", "day"), ("yyyy", "mm", "dd"), ("yr", "mo", "dy"))
NOT_MEASURED = {"", "na", "n/a", "nan", "null", "none", "-", "--", "m", "missing", ".", "*", "?"}
NOT_MEASURED_NUMBERS = (-99.0, -99.9, -999.0, -999.9, -9999.0, -9900.0, 9999.0, 9999.9, 99999.0)
HEADING_WITHIN = 40
_ASKED = "a date and columns such as tmin, tmax, rain; optional solar, sunshine, tdew, rh_min, rh_max, wind"


def read_named_csv(text: str, name: str) -> DailyWeather:
    """Return the daily weather of a CSV file with named columns.

    Units are metric unless the heading says otherwise. Wind is taken as measured at 10 m (the WMO standard)
    unless the heading says 2 m. A mean humidity stands for both extremes: FAO-56 eq. 17 becomes its eq. 19.

    Args:
        text: the file's text.
        name: the file's name, for messages.

    Raises:
        WetfootError: if a required column is missing or ambiguous, or the values do not pass `checked`.
    """
    source = f"{name} (CSV with named columns)"
    rows, decimal_comma = split_rows(text, name)
    at = _heading_row(rows)
    headings = rows[at] if at < len(rows) else []
    lines = {number: row for number, row in enumerate(rows[at + 1 :], start=at + 2) if any(row)}
    cells = pd.DataFrame(
        [(row + [""] * len(headings))[: len(headings)] for row in lines.values()],
        index=list(lines),
        columns=range(len(headings)),
        dtype=object,
    )
    wanted, findings = _wanted(headings, name)
    if cells.empty:
        raise refuse(name, "there are headings but no rows under them", "one row a day", "add the daily rows")
    days, not_dates = parse_days(_written_days(headings, cells), name)
    findings += not_dates
    table = pd.DataFrame({"date": days})
    for column, (position, heading) in wanted.items():
        values, notes = _numbers(cells[position], days, column, decimal_comma)
        table[column] = values * heading.scale + heading.offset
        findings += notes
    return checked(_standard(table[days.notna()], findings), source, composed=False, noticed=findings)


def _heading_row(rows: list[list[str]]) -> int:
    """Return the first row that names a date and a quantity; else the first row with anything in it."""
    for at, row in enumerate(rows[:HEADING_WITHIN]):
        if _date_positions(row) and any(read_heading(cell) for cell in row):
            return at
    return next((at for at, row in enumerate(rows) if any(row)), len(rows))


def _date_positions(headings: list[str]) -> list[int]:
    """Return where the date stands: one column, or year, month and day; empty if nowhere."""
    names = [plain(heading) for heading in headings]
    for parts in DATE_PARTS:
        if all(part in names for part in parts):
            return [names.index(part) for part in parts]
    return next(([names.index(name)] for name in DATE_NAMES if name in names), [])


def _written_days(headings: list[str], cells: pd.DataFrame) -> pd.Series:
    positions = _date_positions(headings)
    if len(positions) == 1:
        return cells[positions[0]].astype(str)
    year, month, day = (cells[position].astype(str) for position in positions)
    return year + "-" + month.str.zfill(2) + "-" + day.str.zfill(2)


def _wanted(headings: list[str], name: str) -> tuple[dict[str, tuple[int, Heading]], list[Finding]]:
    """Return position and meaning of each column to read; refuse what is missing or said twice."""
    wanted: dict[str, tuple[int, Heading]] = {}
    problems: list[Problem] = []
    findings: list[Finding] = []
    found = ", ".join(heading for heading in headings if heading)[:500] or "none"
    for position, text in enumerate(headings):
        heading = read_heading(text)
        if heading is None:
            continue
        if math.isnan(heading.scale):
            what = f"the unit in {text!r} is not known"
            if heading.column in REQUIRED:
                problems.append(Problem(name, what, "units such as C, F, mm, in", "change the heading"))
            else:
                findings.append(Finding(None, heading.column, f"{what}; the column is left out"))
        elif heading.column in wanted:
            earlier = headings[wanted[heading.column][0]]
            what = f"columns {earlier!r} and {text!r} may both be {heading.column}"
            problems.append(Problem(name, what, "one of them", "delete or rename one"))
        else:
            wanted[heading.column] = (position, heading)
    missing = [column for column in REQUIRED if column not in wanted]
    if not _date_positions(headings):
        missing.insert(0, "date")
    if missing and not problems:
        what = f"no column for {', '.join(missing)} (columns found: {found})"
        problems.append(Problem(name, what, _ASKED, "name the columns in the first row"))
    if problems:
        raise WetfootError(problems)
    return wanted, findings


def _numbers(cells: pd.Series, days: pd.Series, column: str, decimal_comma: bool) -> tuple[pd.Series, list[Finding]]:
    """Return cells as floats, NaN where not measured, with a finding for each cell that is no number."""
    text = cells.astype(str).str.strip()
    trace = text.str.lower().isin(["t", "trace"]) if column == "rain_mm" else pd.Series(False, index=text.index)
    text = text.mask(trace, "0")  # 'T' is the observers' sign for rain too little to measure
    if decimal_comma:
        text = text.str.replace(",", ".", regex=False)
    values = pd.to_numeric(text, errors="coerce").astype(float)
    values = values.mask(values.isin(NOT_MEASURED_NUMBERS))
    odd = pd.to_numeric(text, errors="coerce").isna() & ~text.str.lower().isin(NOT_MEASURED) & days.notna()
    notes = [
        Finding(day_of(days[line]), column, f"{text[line]!r} is not a number; taken as not measured")
        for line in text.index[odd]
    ]
    return values, notes


def _standard(table: pd.DataFrame, findings: list[Finding]) -> pd.DataFrame:
    """Turn wind at 10 m and mean humidity into columns of the daily table, unless it has them already."""
    if WIND_10M in table and "wind_2m_m_s" not in table:
        table = table.assign(wind_2m_m_s=wind_at_2m_m_s(table[WIND_10M], 10.0))
        what = "taken as measured at 10 m and converted to 2 m (FAO-56 eq. 47)"
        findings.append(Finding(None, "wind_2m_m_s", what))
    if RH_MEAN in table and not {"rh_min_pct", "rh_max_pct"} & set(table):
        table = table.assign(rh_min_pct=table[RH_MEAN], rh_max_pct=table[RH_MEAN])
        what = "the file has the mean humidity only, which stands for both (FAO-56 eq. 19)"
        findings.append(Finding(None, "rh_min_pct, rh_max_pct", what))
    return table
