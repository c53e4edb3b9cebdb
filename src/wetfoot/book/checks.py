"""What makes a record impossible, so that it is refused, and what makes it unlikely, so that it is marked."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from functools import lru_cache
from uuid import UUID
from zoneinfo import ZoneInfo

from wetfoot.book.entries import EVENT_KINDS, READING_KINDS, TANK, TOP_UP_PARTS, Event, Reading, Record, TopUp
from wetfoot.book.numbers import number_problems, word_problems
from wetfoot.book.stock_checks import NAMES, TEXTS, bank_moved_to, stock_doubts, stock_problems
from wetfoot.errors import Problem

LONGEST_TEXT = 10_000
LONGEST_NAME = 100
_SHORT = ("who", "place", *NAMES)
_LONG = ("note", "reason", "doubt", "typed", *TEXTS)
CLOCK_LEEWAY = timedelta(minutes=10)
_YEARS = (1900, 2200)
_LARGEST_POT = 100_000
_MOST_ADDED_L = 100_000.0


@dataclass(frozen=True)
class Range:
    """Values of a kind of reading: possible within (least, most), likely within (low, high)."""

    words: str
    unit: str
    least: float
    most: float
    low: float
    high: float


# Bounds are common practice, no source, except two from memory: impossible are rain beyond the record of
# 3,930 mm in 72 h (WMO archive of weather and climate extremes) and EC beyond sea water's 53 mS/cm at 25 C.
RANGES = {
    "tank_volume": Range("tank reading", "L", 0.0, 1e6, 0.0, 1e6),
    "ec": Range("EC", "mS/cm", 0.0, 53.0, 0.0, 5.0),
    "level": Range("level", "m", 0.0, 2.0, 0.0, 0.5),
    "rain": Range("rain", "mm", 0.0, 4000.0, 0.0, 300.0),
    "solution_temperature": Range("solution temperature", "degC", -50.0, 100.0, -5.0, 50.0),
    "medium_temperature": Range("medium temperature", "degC", -50.0, 100.0, -5.0, 50.0),
}


@dataclass(frozen=True)
class PlacesKnown:
    """What stands on the bench: pots in each bank by its name, and litres in the full tank."""

    banks: Mapping[str, int] = field(default_factory=dict)
    tank_capacity_l: float | None = None


@lru_cache(maxsize=64)
def zone_named(name: str) -> ZoneInfo | None:
    """Return the time zone of an IANA name, or None if there is none of that name."""
    try:
        return ZoneInfo(name)
    except (KeyError, ValueError, OSError, TypeError):
        return None


def problems_in(record: Record) -> list[Problem]:
    """Return all that makes a record impossible."""
    found = [*_common_problems(record)]
    if isinstance(record, Reading):
        found += _reading_problems(record)
    elif isinstance(record, TopUp):
        found += _top_up_problems(record)
    elif isinstance(record, Event):
        found += word_problems("kind", record.kind, EVENT_KINDS)
    return [*found, *stock_problems(record)]


def doubts_about(record: Record, now: datetime, places: PlacesKnown | None = None) -> list[str]:
    """Return, in words, all that makes a possible record unlikely.

    Args:
        record: one without problems.
        now: the present instant.
        places: what stands on the bench; None if that is not known.
    """
    found = []
    if record.at > now + CLOCK_LEEWAY:
        found.append("in the future")
    if isinstance(record, Reading):
        found += _reading_doubts(record)
    found += stock_doubts(record)
    return found + (_place_doubts(record, places) if places else [])


def with_doubts(told: str | None, found: list[str]) -> str | None:
    """Return what was doubted before and what was found now, each once, as one text."""
    return "; ".join(dict.fromkeys([*(told.split("; ") if told else []), *found])) or None


def _common_problems(record: Record) -> Iterator[Problem]:
    yield from _instant_problems(record)
    if not isinstance(record.zone, str) or zone_named(record.zone) is None:
        yield Problem("zone", f"{record.zone!r} is not a time zone", "an IANA name such as 'Asia/Manila'")
    for name in ("id", "supersedes", "visit_id", "confirms"):
        value = getattr(record, name, None)
        if value is not None and not is_id(value):
            yield Problem(name, f"{value!r} is not an id of a record", "a uuid", "leave it out if new")
    if record.supersedes and not record.reason:
        yield Problem("reason", "a correction needs a reason", "why the older record is wrong", "write it")
    if record.supersedes and record.supersedes == record.id:
        yield Problem("supersedes", "a record cannot correct itself", "an older record's id", "correct it")
    if record.withdrawn and not record.supersedes:
        yield Problem("withdrawn", "what should be withdrawn is not named", "an older record's id", "name it")
    yield from _text_problems(record)


def _instant_problems(record: Record) -> Iterator[Problem]:
    for name in ("at", "written_at"):
        value = getattr(record, name)
        if name == "written_at" and value is None:
            continue
        if not isinstance(value, datetime) or value.utcoffset() is None:
            yield Problem(name, f"{value!r} is not an instant", "a date and time with an offset from UTC")
        elif not _YEARS[0] <= value.year <= _YEARS[1]:
            years = f"{_YEARS[0]} to {_YEARS[1]}"
            yield Problem(name, f"the year {value.year} cannot be", years, "correct it")


def _text_problems(record: Record) -> Iterator[Problem]:
    for name in (*_SHORT, *_LONG):
        value = getattr(record, name, None)
        most = LONGEST_NAME if name in _SHORT else LONGEST_TEXT
        if value is None:
            needed = name == "who" or (name == "place" and isinstance(record, TopUp))
            if needed:
                yield Problem(name, "it is missing", "a name", "write it")
        elif not isinstance(value, str):
            yield Problem(name, f"{value!r} is not text", "text", "correct it")
        elif len(value) > most:
            yield Problem(name, f"it has {len(value):,} characters", f"at most {most:,}", "shorten it")


def is_id(value: object) -> bool:
    """Return whether a value is a uuid as the book writes it: lower case, with hyphens."""
    try:
        return isinstance(value, str) and str(UUID(value)) == value
    except ValueError:
        return False


def _reading_problems(reading: Reading) -> Iterator[Problem]:
    yield from word_problems("kind", reading.kind, READING_KINDS)
    yield from _pot_problems(reading.pot)
    if reading.kind not in READING_KINDS:
        return
    bounds = RANGES[reading.kind]
    yield from number_problems(bounds.words, reading.value, bounds.least, bounds.most, bounds.unit)
    if reading.temperature_c is not None:
        yield from number_problems("temperature", reading.temperature_c, -50.0, 100.0, "degC")
    if reading.kind != "ec" and (reading.temperature_c is not None or not reading.compensated):
        what = f"a {bounds.words} has no temperature beside it"
        yield Problem("temperature", what, "only with EC", "write the temperature as a reading of its own")
    if reading.place is None and reading.kind != "rain":
        yield Problem("place", f"a {bounds.words} needs a place", "'tank' or a bank's name", "say where")
    if reading.kind == "tank_volume" and reading.place not in (None, TANK):
        yield Problem("place", f"a tank reading cannot be in {reading.place!r}", "'tank'", "correct it")
    if reading.kind in ("level", "medium_temperature") and reading.place == TANK:
        yield Problem("place", f"a {bounds.words} is not one of the tank", "a bank's name", "say which bank")


def _pot_problems(pot: object) -> Iterator[Problem]:
    if pot is not None and not (type(pot) is int and 1 <= pot <= _LARGEST_POT):
        yield Problem("pot", f"{pot!r} is not the number of a pot", f"1 to {_LARGEST_POT:,}", "correct it")


def _top_up_problems(top_up: TopUp) -> Iterator[Problem]:
    parts = {name: getattr(top_up, name) for name in TOP_UP_PARTS}
    for name, value in parts.items():
        if value is not None:
            yield from number_problems(name, value, 0.0, _MOST_ADDED_L, "L")
    if all(value is None for value in parts.values()):
        yield Problem("top-up", "nothing was added", "water, stock A or stock B in litres", "say how much")


def _reading_doubts(reading: Reading) -> list[str]:
    bounds = RANGES[reading.kind]
    found = []
    if reading.value > bounds.high:
        found.append(f"{bounds.words} above {bounds.high:g} {bounds.unit}")
    if reading.value < bounds.low:
        found.append(f"{bounds.words} below {bounds.low:g} {bounds.unit}")
    if reading.temperature_c is not None and not -5.0 <= reading.temperature_c <= 50.0:
        found.append("temperature outside -5 to 50 degC")
    if reading.kind == "ec" and not reading.compensated and reading.temperature_c is None:
        found.append("EC without compensation and without a temperature")
    return found


def _place_doubts(record: Record, places: PlacesKnown) -> list[str]:
    place, pot = getattr(record, "place", None), getattr(record, "pot", None)
    unknown = [bank for bank in (place, bank_moved_to(record)) if bank not in (None, TANK, *places.banks)]
    found = [f"no bank is called {bank!r}" for bank in unknown]
    if isinstance(pot, int):
        if place in (None, TANK):
            found.append("a pot without its bank")
        if pot > places.banks.get(str(place), pot):
            found.append(f"bank {place!r} has {places.banks[str(place)]} pots")
    full_l = places.tank_capacity_l
    if isinstance(record, Reading) and record.kind == "tank_volume" and full_l and record.value > full_l:
        found.append(f"the tank holds {full_l:g} L")
    return found
