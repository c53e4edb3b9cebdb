"""Read GHCN-Daily station files, fixed-width (.dly) or comma-separated with elements as columns.

Format: the README of GHCN-Daily (NOAA NCEI), section III; Menne et al. 2012, J. Atmos. Ocean. Tech. 29:897.
Values are whole numbers: tenths of mm, of deg C and of m/s, minutes of sunshine, per cent. An observer's day
ends when the gauge is read, often in the morning: rain may belong to the day before.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from datetime import date

import pandas as pd

from wetfoot.climate.evapotranspiration import wind_at_2m_m_s
from wetfoot.errors import refuse
from wetfoot.weather.checks import checked, day_of
from wetfoot.weather.daily import DailyWeather, Finding
from wetfoot.weather.days import parse_days
from wetfoot.weather.text import split_rows

ELEMENTS = {
    "TMIN": ("tmin_c", 0.1),
    "TMAX": ("tmax_c", 0.1),
    "PRCP": ("rain_mm", 0.1),
    "TSUN": ("sunshine_h", 1.0 / 60.0),
    "ADPT": ("tdew_c", 0.1),
    "RHMN": ("rh_min_pct", 1.0),
    "RHMX": ("rh_max_pct", 1.0),
    "AWND": ("wind_2m_m_s", 0.1),
}
FAILED_CHECKS = {
    "D": "duplicate check",
    "G": "gap check",
    "I": "internal consistency check",
    "K": "streak or frequent-value check",
    "L": "check on length of multiday period",
    "M": "megaconsistency check",
    "N": "naught check",
    "O": "climatological outlier check",
    "R": "lagged range check",
    "S": "spatial consistency check",
    "T": "temporal consistency check",
    "W": "temperature too warm for snow",
    "X": "bounds check",
    "Z": "later investigation",
}
DLY_LINE = re.compile(r"([A-Z0-9_\-]{11})(\d{4})(0[1-9]|1[0-2])([A-Z0-9]{4})(.*)")
MISSING = -9999
WIND_NOTE = "station wind is taken as measured at 10 m and converted to 2 m (FAO-56 eq. 47)"


def read_ghcn_dly(text: str, name: str) -> DailyWeather:
    """Return the daily weather of a fixed-width GHCN-Daily file of one station.

    Args:
        text: the file's text.
        name: the file's name, for messages.

    Raises:
        WetfootError: if no line has the format, there are several stations, or an element is missing.
    """
    days: dict[date, dict[str, float]] = {}
    findings: list[Finding] = []
    stations: set[str] = set()
    for number, line in enumerate(text.splitlines(), start=1):
        match = DLY_LINE.match(line)
        if match is None:
            if line.strip():
                what = f"line {number} is not in the .dly format; left out"
                findings.append(Finding(None, "date", what))
            continue
        stations.add(match[1])
        if match[4] in ELEMENTS:
            for day, value, flags in _days_of_line(match, number, findings):
                _put(
                    days.setdefault(day, {}),
                    day,
                    match[4],
                    _kept(day, match[4], value, flags, findings),
                    findings,
                )
    _refuse_several(stations, name)
    rows = pd.DataFrame([{"date": day, **values} for day, values in days.items()], columns=_columns(days))
    return _daily(rows, f"{name} (GHCN-Daily, fixed width)", findings)


def _columns(days: dict[date, dict[str, float]]) -> list[str]:
    return ["date", *dict.fromkeys(column for values in days.values() for column in values)]


def _days_of_line(
    match: re.Match[str], number: int, findings: list[Finding]
) -> Iterator[tuple[date, float, tuple[str, str]]]:
    """Yield day, value and (measurement, quality) flags of each measured day of a month's line."""
    body = match[5]
    for of_month in range(1, 32):
        cell = body[8 * of_month - 8 : 8 * of_month].ljust(8)
        written = cell[:5].strip()
        if written in ("", str(MISSING)):
            continue
        try:
            yield date(int(match[2]), int(match[3]), of_month), float(int(written)), (cell[5], cell[6])
        except ValueError:
            what = f"line {number}: {written!r} for day {of_month} of month {match[3]}/{match[2]} is left out"
            findings.append(Finding(None, ELEMENTS[match[4]][0], what))


def _kept(day: date, element: str, value: float, flags: tuple[str, str], findings: list[Finding]) -> float:
    """Return a value in the daily table's unit, or NaN if it failed a quality check."""
    column, scale = ELEMENTS[element]
    measurement, quality = (flag.strip() for flag in flags)
    if quality:
        failed = FAILED_CHECKS.get(quality, "a check that is not listed")
        what = f"{value * scale:g} has quality flag {quality} ({failed}); taken as not measured"
        findings.append(Finding(day, column, what))
        return float("nan")
    if measurement == "P":
        findings.append(Finding(day, column, "a missing value that the archive presumes to be 0"))
    return value * scale


def _put(values: dict[str, float], day: date, element: str, value: float, findings: list[Finding]) -> None:
    column = ELEMENTS[element][0]
    if column in values and values[column] != value and not (math.isnan(values[column]) and math.isnan(value)):
        what = f"given twice ({values[column]:g} and {value:g}); taken as not measured"
        findings.append(Finding(day, column, what))
        value = float("nan")
    values[column] = value


def read_ghcn_csv(text: str, name: str) -> DailyWeather:
    """Return the daily weather of a GHCN-Daily CSV file of one station, with values in tenths.

    Args:
        text: the file's text.
        name: the file's name, for messages.

    Raises:
        WetfootError: if columns are missing, there are several stations, or values have decimals, which shows
            that they were ordered in other units.
    """
    rows, _ = split_rows(text, name)
    rows = [row for row in rows if any(row)]
    headings = [cell.upper() for cell in rows[0]] if rows else []
    lacking = [need for need in ("DATE", "TMAX", "TMIN", "PRCP") if need not in headings]
    if lacking:
        what = f"no column {', '.join(lacking)} (columns found: {', '.join(headings)[:500]})"
        raise refuse(name, what, "a GHCN-Daily station file", "choose another format, or get the whole file")
    cells = pd.DataFrame([(row + [""] * len(headings))[: len(headings)] for row in rows[1:]], dtype=object)
    cells = cells.reindex(columns=range(len(headings))).set_axis(range(2, len(rows) + 1))
    cells = cells.loc[:, [headings.index(heading) for heading in dict.fromkeys(headings)]]
    cells.columns = pd.Index(list(dict.fromkeys(headings)))
    if cells.empty:
        raise refuse(name, "there are headings but no rows under them", "one row a day", "get the whole file")
    if "STATION" in cells:
        _refuse_several(set(cells["STATION"]), name)
    days, findings = parse_days(cells["DATE"].astype(str), name)
    table = pd.DataFrame({"date": days})
    for element in ELEMENTS:
        if element in cells:
            table[ELEMENTS[element][0]] = _element(cells, element, days, name, findings)
    return _daily(table[days.notna()], f"{name} (GHCN-Daily, CSV)", findings)


def _element(cells: pd.DataFrame, element: str, days: pd.Series, name: str, findings: list[Finding]) -> list[float]:
    written = cells[element].astype(str).str.strip()
    if written.str.contains(".", regex=False).any():
        raise refuse(
            f"{name}, {element}",
            "values have decimals, so they are not in tenths",
            "whole numbers in tenths of mm and deg C",
            "write the units into the headings, such as 'tmax (F)' and 'prcp (in)', and read it as named_csv",
        )
    attributes = f"{element}_ATTRIBUTES"
    flags = cells[attributes].astype(str) if attributes in cells else pd.Series("", index=cells.index)
    values: list[float] = []
    numbers = pd.to_numeric(written, errors="coerce").astype(float)
    for day, number, flag in zip(days, numbers, flags, strict=True):
        if pd.isna(day) or math.isnan(number) or number == MISSING:
            values.append(math.nan)
            continue
        measurement, quality = [*flag.split(","), "", ""][:2]
        values.append(_kept(day_of(day), element, number, (measurement, quality), findings))
    return values


def _refuse_several(stations: set[str], name: str) -> None:
    if len(stations) > 1:
        what = f"{len(stations)} stations in one file ({', '.join(sorted(stations)[:5])})"
        raise refuse(name, what, "one station", "keep the rows of the nearest station")


def _daily(rows: pd.DataFrame, source: str, findings: list[Finding]) -> DailyWeather:
    lacking = [column for column in ("tmin_c", "tmax_c", "rain_mm") if column not in rows]
    if lacking:
        found = ", ".join(str(column) for column in rows if column != "date") or "none"
        what = f"no {', '.join(lacking)} in the file (found: {found})"
        raise refuse(source, what, "the elements TMIN, TMAX and PRCP", "choose a station that measures all three")
    if "wind_2m_m_s" in rows:
        rows = rows.assign(wind_2m_m_s=wind_at_2m_m_s(rows["wind_2m_m_s"].to_numpy(float), 10.0))
        findings.append(Finding(None, "wind_2m_m_s", WIND_NOTE))
    return checked(rows, source, composed=False, noticed=findings)
