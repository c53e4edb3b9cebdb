"""The sheet of days: visits with what to expect, and the stages of the crop, by month."""

from __future__ import annotations

from datetime import date
from itertools import groupby
from typing import Any

from wetfoot.answers.calendar import Entry
from wetfoot.answers.dossier import Dossier
from wetfoot.quantities import System
from wetfoot.sheets.press import Sheet

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip


def visits(dossier: Dossier) -> Sheet:
    """Return the sheet of days."""
    system = dossier.plan.units
    months = groupby(dossier.calendar, key=lambda entry: (entry.on.year, entry.on.month))
    says = {
        "months": [
            {"name": f"{MONTHS[month - 1]} {year}", "days": [_day(entry, system) for entry in entries]}
            for (year, month), entries in months
        ],
        "every": dossier.plan.visits.every_d,
    }
    return Sheet("visits.typ", "Visits", says)


def day_text(on: date, system: System) -> str:
    """Return a date as it is read in the yard.

    >>> day_text(date(2027, 4, 5), "metric"), day_text(date(2027, 4, 5), "US")
    ('Mon 5 Apr', 'Mon, Apr 5')
    """
    weekday, month = WEEKDAYS[on.weekday()], MONTHS[on.month - 1][:3]
    return f"{weekday}, {month} {on.day}" if system == "US" else f"{weekday} {on.day} {month}"


def date_text(on: date, system: System) -> str:
    """Return a date with its year.

    >>> date_text(date(2027, 4, 5), "metric"), date_text(date(2027, 4, 5), "US")
    ('5 April 2027', 'April 5, 2027')
    """
    month = MONTHS[on.month - 1]
    return f"{month} {on.day}, {on.year}" if system == "US" else f"{on.day} {month} {on.year}"


def _day(entry: Entry, system: System) -> dict[str, Any]:
    return {
        "on": day_text(entry.on, system),
        "day": f"{entry.day}",
        "title": entry.title,
        "words": entry.words,
        "visit": entry.visit,
    }
