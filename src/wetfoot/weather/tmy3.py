"""Read TMY3 files: a typical year of hours, put together from months of different years.

Format: Wilcox & Marion 2008, Users Manual for TMY3 Data Sets, NREL/TP-581-43156, table 1-2.
"""

from __future__ import annotations

import io

import numpy as np
import pandas as pd
from pvlib.iotools import read_tmy3 as pvlib_read_tmy3

from wetfoot.errors import refuse
from wetfoot.weather.checks import checked
from wetfoot.weather.daily import DailyWeather
from wetfoot.weather.hourly import days_of_hours

DAY, TIME = "Date (MM/DD/YYYY)", "Time (HH:MM)"
FIELDS = {
    "temp_c": "temp_air",
    "dew_c": "temp_dew",
    "rh_pct": "relative_humidity",
    "ghi_wh_m2": "ghi",  # W/m2, the mean of the hour, so Wh/m2 in the hour
    "wind_10m_m_s": "wind_speed",
    "rain_mm": "Lprecip depth (mm)",
    "rain_period_h": "Lprecip quantity (hr)",
}


def read_tmy3(text: str, name: str) -> DailyWeather:
    """Return the daily weather of a TMY3 file.

    Args:
        text: the file's text.
        name: the file's name, for messages.

    Raises:
        WetfootError: if the text is not TMY3, or has no temperature or rain.
    """
    source = f"{name} (TMY3, a typical year)"
    try:
        found, _ = pvlib_read_tmy3(io.StringIO(text), map_variables=True)
        hours = pd.DataFrame({"day": _days(found)})
        for column, field in FIELDS.items():
            hours[column] = _measured(found[field]) if field in found else np.nan
    except (ValueError, KeyError, TypeError, IndexError, AttributeError, OverflowError) as error:
        what = f"this is not a whole TMY3 file ({type(error).__name__}: {error})"
        raise refuse(name, what[:300], "TMY3 as published", "get the file again, or another format") from error
    days, findings = days_of_hours(hours.reset_index(drop=True))
    return checked(days, source, composed=True, noticed=findings)


def _days(found: pd.DataFrame) -> pd.Series:
    """Return the day of each hour: a stamp names its end, so 00:00 (as 24:00) ends the day before."""
    day = pd.to_datetime(found[DAY], format="%m/%d/%Y")
    at_midnight = found[TIME].str.strip().str.startswith("00:00")
    return day - pd.to_timedelta(at_midnight.astype(int), unit="D")


def _measured(values: pd.Series) -> pd.Series:
    """Return numbers, NaN where the file has -9900 (the manual's mark), 9999 or no number."""
    numbers = pd.to_numeric(values, errors="coerce").astype(float)
    return numbers.mask((numbers <= -9900.0) | (numbers >= 9999.0))
