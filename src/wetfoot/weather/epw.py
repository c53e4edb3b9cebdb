"""Read EPW files: a year of hours, mostly a typical one, sometimes several real years.

Format: EnergyPlus Auxiliary Programs, EnergyPlus Weather File (EPW) Data Dictionary, which also gives the
marks for missing values.
"""

from __future__ import annotations

import io

import pandas as pd
from pvlib.iotools import read_epw as pvlib_read_epw

from wetfoot.errors import refuse
from wetfoot.weather.checks import checked
from wetfoot.weather.daily import DailyWeather
from wetfoot.weather.hourly import days_of_hours

HEADER_LINES = 8
FIELD_COUNT = 35
HOURS_OF_LEAP_YEAR = 8784
# field of the file, and the value from which on it means 'missing'
FIELDS = {
    "temp_c": ("temp_air", 99.9),
    "dew_c": ("temp_dew", 99.9),
    "rh_pct": ("relative_humidity", 999.0),
    "ghi_wh_m2": ("ghi", 9999.0),
    "wind_10m_m_s": ("wind_speed", 999.0),
    "rain_mm": ("liquid_precipitation_depth", 999.0),
    "rain_period_h": ("liquid_precipitation_quantity", 99.0),
}


def read_epw(text: str, name: str) -> DailyWeather:
    """Return the daily weather of an EPW file.

    It counts as a composed year unless it holds more than one year of hours in unbroken order: a single real
    year cannot be told from a typical one, and says as little about bad years.

    Args:
        text: the file's text.
        name: the file's name, for messages.

    Raises:
        WetfootError: if the text is not EPW, is not hourly, or has no temperature or rain.
    """
    try:
        found, _ = pvlib_read_epw(io.StringIO(_regular(text.splitlines(), name)))
        # hours 1 to 24 name the end of the hour; pvlib moves them to 0 to 23 of the same day
        hours = pd.DataFrame({"day": found.index.tz_localize(None).normalize()}, index=found.index)
        for column, (field, missing) in FIELDS.items():
            numbers = pd.to_numeric(found[field], errors="coerce").astype(float)
            hours[column] = numbers.mask(numbers >= missing)
    except (ValueError, KeyError, TypeError, IndexError, AttributeError, OverflowError) as error:
        what = f"this is not a whole EPW file ({type(error).__name__}: {error})"
        raise refuse(name, what[:300], "EPW as published", "get the file again, or another format") from error
    composed = len(hours) <= HOURS_OF_LEAP_YEAR or not bool(hours["day"].is_monotonic_increasing)
    kind = "EPW, a typical or single year" if composed else "EPW, several years"
    days, findings = days_of_hours(hours.reset_index(drop=True))
    return checked(days, f"{name} ({kind})", composed, findings)


def _regular(lines: list[str], name: str) -> str:
    """Return the text as pvlib expects it: 8 header lines, and rows of 35 fields."""
    ends = [at for at, line in enumerate(lines[:200]) if line.upper().startswith("DATA PERIODS")]
    if not ends:
        raise refuse(name, "there is no line 'DATA PERIODS'", "EPW as published", "get the file again")
    per_hour = [*lines[ends[0]].split(","), "", "", ""][2].strip()
    if per_hour not in ("", "1"):
        raise refuse(name, f"the file has {per_hour} records an hour", "one record an hour", "get the hourly file")
    cells = (line.split(",") for line in lines[ends[0] + 1 :] if line.strip())
    rows = [",".join((row + [""] * FIELD_COUNT)[:FIELD_COUNT]) for row in cells]
    return "\n".join([lines[0].replace('"', ""), *["-"] * (HEADER_LINES - 1), *rows])
