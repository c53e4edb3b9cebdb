"""Local dates and times as people write them, to instants and back, over the changes of the clocks."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, time, timedelta, timezone
from zoneinfo import ZoneInfo

from wetfoot.errors import refuse

NOON = time(12)
_DATE = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})(?:[ T]+(.*))?")
_TIME = re.compile(
    r"(\d{1,2}):(\d{2})(?::(\d{2})(?:\.(\d{1,6}))?)?\s*([ap]\.?m\.?)?\s*"
    r"(Z|[+-]\d{2}:?\d{2}(?::\d{2})?)?",
    re.IGNORECASE,
)


def read_date(text: str) -> tuple[date, str]:
    """Return a date written as ISO 8601 has it, and what stands behind it (a time, or nothing).

    >>> read_date("2026-05-01 09:30")
    (datetime.date(2026, 5, 1), '09:30')
    """
    match = _DATE.fullmatch(text.strip())
    try:
        if match:
            return date(int(match[1]), int(match[2]), int(match[3])), match[4] or ""
    except ValueError:
        pass
    raise refuse("date", f"{text!r} is not a date", "year-month-day, such as 2026-05-01", "write it so")


def read_time(text: str) -> time:
    """Return a time of day, with its offset from UTC if it has one.

    >>> read_time("9:30 pm"), read_time("01:30-10:00").utcoffset()
    (datetime.time(21, 30), datetime.timedelta(days=-1, seconds=50400))
    """
    match = _TIME.fullmatch(text.strip())
    try:
        if match:
            return _time(match)
    except ValueError:
        pass
    raise refuse("time", f"{text!r} is not a time of day", "hours:minutes, such as 09:30", "write it so")


def _time(match: re.Match[str]) -> time:
    hour, half = int(match[1]), (match[5] or "").lower()[:1]
    if half:
        if not 1 <= hour <= 12:
            raise ValueError("hours with am or pm go from 1 to 12")
        hour = hour % 12 + (12 if half == "p" else 0)
    micro = int((match[4] or "").ljust(6, "0") or 0)
    offset = time.fromisoformat("00:00" + match[6].upper()).tzinfo if match[6] else None
    return time(hour, int(match[2]), int(match[3] or 0), micro, tzinfo=offset)


def instant(day: date, clock: time, zone: ZoneInfo) -> tuple[datetime, str | None]:
    """Return the instant of a local date and time in UTC, and what is doubtful about it.

    A time that the clocks skip is taken as if they had not been put forward yet, a time that comes twice as
    the first of the two (PEP 495, fold = 0), unless the time says its offset.

    >>> instant(date(2026, 3, 8), time(2, 30), ZoneInfo("America/New_York"))[1]
    '02:30 does not exist on 2026-03-08 (clocks go forward); taken as 03:30'
    """
    if clock.tzinfo is not None:
        return datetime.combine(day, clock).astimezone(UTC), None
    first = datetime.combine(day, clock, tzinfo=zone)
    found = first.astimezone(UTC)
    shown = found.astimezone(zone)
    if shown.time() != clock:
        skipped = f"{clock:%H:%M} does not exist on {day} (clocks go forward); taken as {shown:%H:%M}"
        return found, skipped
    if is_twice(first):
        return found, f"{clock:%H:%M} comes twice on {day} (clocks go back); taken as the first"
    return found, None


def is_twice(local: datetime) -> bool:
    """Return whether the local time of day comes twice on its date, because the clocks are put back."""
    if local.replace(fold=0).utcoffset() == local.replace(fold=1).utcoffset():
        return False
    back = local.replace(fold=0).astimezone(UTC).astimezone(local.tzinfo)
    return back.replace(tzinfo=None, fold=0) == local.replace(tzinfo=None, fold=0)


def written(at: datetime, zone: ZoneInfo) -> tuple[str, str]:
    """Return an instant as local date and time, with the offset only where the time comes twice.

    >>> written(datetime(2026, 11, 1, 6, 30, tzinfo=UTC), ZoneInfo("America/New_York"))
    ('2026-11-01', '01:30-05:00')
    """
    local = at.astimezone(zone)
    exact = "minutes" if not (local.second or local.microsecond) else "auto"
    offset = timezone(local.utcoffset() or timedelta()) if is_twice(local) else None
    clock = local.time().replace(tzinfo=offset)
    return local.date().isoformat(), clock.isoformat(timespec=exact)
