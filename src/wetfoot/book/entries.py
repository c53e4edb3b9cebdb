"""What stands in the book, as frozen records in base units: visits, readings, top-ups, events."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, fields
from datetime import UTC, datetime
from typing import Any
from uuid import uuid4

TANK = "tank"
READING_KINDS = ("tank_volume", "ec", "level", "rain", "solution_temperature", "medium_temperature")
EVENT_KINDS = (
    "leak",
    "split_pot",
    "float_stuck",
    "overflow_seen",
    "pot_moved",
    "pot_removed",
    "bank_cleaned",
    "flush",
    "pest",
    "disease_sign",
    "weather_damage",
    "other",
)
TOP_UP_PARTS = ("water_l", "stock_a_l", "stock_b_l")

# XML 1.0 (section 2.2) has no place for these, so a workbook could not carry them; PostgreSQL refuses NUL.
_UNPRINTABLE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")


def new_id() -> str:
    """Return a fresh id, made by whoever writes (a phone without a network too)."""
    return str(uuid4())


def tidy(text: str) -> str:
    r"""Return a text without outer space and unprintable characters, its line ends as '\\n'.

    >>> tidy("  two\r\nlines\x00 ")
    'two\nlines'
    """
    return _UNPRINTABLE.sub("", text.replace("\r\n", "\n").replace("\r", "\n")).strip()


@dataclass(frozen=True, kw_only=True)
class Record:
    """What every record has.

    Texts are kept without outer space, an empty one as None; numbers to 12 significant digits, which no
    instrument reaches and every file format carries; instants in UTC.

    Attributes:
        at: the instant it holds for, with an offset.
        zone: IANA name of the zone of the place, for showing `at` as local time.
        who: who wrote it.
        note: anything else, in words.
        id: uuid as text.
        written_at: the instant it was written into the book; None before that.
        supersedes: id of the record this one corrects.
        reason: why it was corrected.
        doubt: what makes it unlikely, in words.
        withdrawn: it only says that the record it supersedes should never have been written.
    """

    at: datetime
    zone: str
    who: str
    note: str | None = None
    id: str = field(default_factory=new_id)
    written_at: datetime | None = None
    supersedes: str | None = None
    reason: str | None = None
    doubt: str | None = None
    withdrawn: bool = False

    def __post_init__(self) -> None:
        for item in fields(self):
            given = getattr(self, item.name)
            kept = _kept(given)
            if kept is not given:
                object.__setattr__(self, item.name, kept)


def _kept(value: Any) -> Any:
    if isinstance(value, str):
        return tidy(value) or None
    if isinstance(value, float):
        return float(f"{value:.12g}")
    if isinstance(value, datetime) and value.utcoffset() is not None:
        return _utc(value)
    if isinstance(value, tuple):
        return tuple(kept for item in value if (kept := _kept(item)) is not None)
    return value


def _utc(instant: datetime) -> datetime:
    try:
        return instant.astimezone(UTC)
    except OverflowError:  # the first or last day of the calendar; the checks refuse its year
        return instant


@dataclass(frozen=True, kw_only=True)
class Visit(Record):
    """A day a person tops up, measures and writes down."""


@dataclass(frozen=True, kw_only=True)
class Reading(Record):
    """One number that was measured.

    Attributes:
        kind: one of `READING_KINDS`.
        value: in the base unit of the kind: L, mS/cm as read, m, mm, deg C.
        place: 'tank' or the bank's name; may be None for rain.
        pot: number of the pot in its bank.
        typed: the text as a person typed it.
        temperature_c: for EC, temperature of the sample.
        compensated: for EC, whether the meter referred the value to 25 deg C by itself.
        visit_id: the visit it belongs to.
    """

    kind: str
    value: float
    place: str | None = None
    pot: int | None = None
    typed: str | None = None
    temperature_c: float | None = None
    compensated: bool = True
    visit_id: str | None = None


@dataclass(frozen=True, kw_only=True)
class TopUp(Record):
    """Water and stocks that were added, in litres, to the tank or to one bank."""

    place: str = TANK
    water_l: float | None = None
    stock_a_l: float | None = None
    stock_b_l: float | None = None
    visit_id: str | None = None


@dataclass(frozen=True, kw_only=True)
class Event(Record):
    """Something that happened: `kind` is one of `EVENT_KINDS`; the note says the rest."""

    kind: str
    place: str | None = None
    pot: int | None = None
    visit_id: str | None = None
