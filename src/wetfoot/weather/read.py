"""Read a weather file of any of the open formats."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

from wetfoot.errors import refuse
from wetfoot.weather.daily import DailyWeather
from wetfoot.weather.epw import read_epw
from wetfoot.weather.ghcn_daily import DLY_LINE, read_ghcn_csv, read_ghcn_dly
from wetfoot.weather.named_csv import read_named_csv
from wetfoot.weather.text import read_text
from wetfoot.weather.tmy3 import read_tmy3

READERS: dict[str, Callable[[str, str], DailyWeather]] = {
    "named_csv": read_named_csv,
    "tmy3": read_tmy3,
    "epw": read_epw,
    "ghcn_dly": read_ghcn_dly,
    "ghcn_csv": read_ghcn_csv,
}


def read_weather(path: Path, file_format: str = "auto") -> DailyWeather:
    """Return the daily weather in a file.

    Args:
        path: the file.
        file_format: one of `READERS`, or ``auto`` to tell it by what the file begins with.

    Raises:
        WetfootError: if the file cannot be read, is not of that format, or lacks what a season needs.
    """
    if file_format != "auto" and file_format not in READERS:
        formats = ", ".join(("auto", *READERS))
        raise refuse("weather format", f"{file_format!r} is not known", formats, "choose one of these")
    text = read_text(path)
    chosen = guess_format(text) if file_format == "auto" else file_format
    return READERS[chosen](text, path.name)


def guess_format(text: str) -> str:
    """Return the name of the format that a text looks like; ``named_csv`` if like no other."""
    lines = [line.strip() for line in text[:50_000].splitlines() if line.strip()][:2]
    first = lines[0].upper() if lines else ""
    if first.startswith("LOCATION,"):
        return "epw"
    if len(lines) > 1 and lines[1].upper().startswith("DATE (MM/DD/YYYY)"):
        return "tmy3"
    if DLY_LINE.match(first) and "," not in first:
        return "ghcn_dly"
    headings = [cell.strip(' "') for cell in re.split("[,;\t]", first)]
    marked = "STATION" in headings or any(cell.endswith("_ATTRIBUTES") for cell in headings)
    if marked and "DATE" in headings and {"TMAX", "TMIN", "PRCP"} & set(headings):
        return "ghcn_csv"
    return "named_csv"
