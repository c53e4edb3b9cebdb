"""The one daily table that every weather reader gives, and what was noticed while reading."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import pandas as pd

REQUIRED = ("tmin_c", "tmax_c", "rain_mm")
OPTIONAL = ("solar_mj_m2", "sunshine_h", "tdew_c", "rh_min_pct", "rh_max_pct", "wind_2m_m_s")
COLUMNS = REQUIRED + OPTIONAL
FIRST_YEAR, LAST_YEAR = 1700, 2200  # a day outside was mistyped


NOT_MEASURED = "not measured on any day"  # of a column; what stands in for it is said by the season


@dataclass(frozen=True)
class Finding:
    """One thing noticed in a weather file.

    Attributes:
        day: the day it concerns (the first one, for a run of days), or None if it concerns the whole file.
        column: the column, or columns, of the daily table; ``date`` for the day itself.
        what: what was noticed, and what was done about it.
    """

    day: date | None
    column: str
    what: str


@dataclass(frozen=True)
class DailyWeather:
    """Daily weather of one place.

    Attributes:
        table: one row a day. The index ``date`` holds local calendar days, without zone, unique and sorted;
            the columns are `COLUMNS`, floats, NaN where not measured. A record of real years holds every
            calendar day from first to last; a composed year holds the days that the file has.
        source: file name and format, in words.
        composed: whether months come from different years (a typical year): no tail risk may be read from it.
        findings: what was noticed, by day.
    """

    table: pd.DataFrame
    source: str
    composed: bool
    findings: tuple[Finding, ...]
