"""Read the day of each row of a plain CSV file, whatever order of day, month and year it is written in."""

from __future__ import annotations

import pandas as pd

from wetfoot.errors import refuse
from wetfoot.weather.daily import FIRST_YEAR, LAST_YEAR, Finding

YEAR_FIRST = ("%Y-%m-%d", "%Y/%m/%d", "%Y.%m.%d", "%Y%m%d")
DAY_FIRST = ("%d/%m/%Y", "%d.%m.%Y", "%d-%m-%Y", "%d-%b-%Y", "%d %b %Y")
MONTH_FIRST = ("%m/%d/%Y", "%m.%d.%Y", "%m-%d-%Y")
_MIDNIGHT = r"[T ]\s*0?0:00(:00(\.0*)?)?\s*(Z|[+-]00:?00)?$"


def parse_days(written: pd.Series, where: str) -> tuple[pd.Series, list[Finding]]:
    """Return the day of each row (NaT where it is none), and a finding for each row without a day.

    All rows must be written alike: the form that fits most rows is taken.

    Args:
        written: the cells, as text; the index holds line numbers.
        where: the file, for messages.

    Raises:
        WetfootError: if the rows carry times of day, no form fits, or day and month cannot be told apart.
    """
    text = written.str.strip().str.replace(_MIDNIGHT, "", regex=True)
    if text.str.contains(r"\d[T ]\s*\d{1,2}:\d\d", regex=True).mean() > 0.5:
        raise refuse(where, f"the rows carry times ({written.iloc[0]!r})", "one row a day", "sum up to days first")
    read = {form: pd.to_datetime(text, format=form, errors="coerce") for form in _forms()}
    best = max(read, key=lambda form: int(read[form].notna().sum()))
    days = read[best]
    if days.notna().sum() == 0:
        raise refuse(
            where,
            f"{written.iloc[0]!r} is not a date",
            "dates such as 2014-03-02",
            "write dates as year-month-day",
        )
    _refuse_ambiguous(read, best, where)
    days = days.where(days.dt.year.between(FIRST_YEAR, LAST_YEAR))
    findings = [
        Finding(None, "date", f"line {line}: {cell!r} is not a date; the line is left out")
        for line, cell in written[days.isna()].items()
    ]
    return days, findings


def _forms() -> tuple[str, ...]:
    return YEAR_FIRST + DAY_FIRST + MONTH_FIRST


def _refuse_ambiguous(read: dict[str, pd.Series], best: str, where: str) -> None:
    if best not in DAY_FIRST:
        return
    other = read.get(best.replace("%d", "?").replace("%m", "%d").replace("?", "%m"))
    days = read[best]
    if other is not None and other.notna().sum() == days.notna().sum() and not other.equals(days):
        raise refuse(
            where,
            "the dates can be read with the day first or with the month first",
            "dates that can be read one way only",
            "write dates as year-month-day, such as 2014-03-02",
        )
