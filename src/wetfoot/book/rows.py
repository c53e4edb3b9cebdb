"""Read one row of a spreadsheet as a record, or say all that keeps it from being one."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime, time, timedelta
from typing import Any, TypeVar
from uuid import UUID, uuid5
from zoneinfo import ZoneInfo

from wetfoot.book.checks import PlacesKnown, doubts_about, problems_in, zone_named
from wetfoot.book.entries import TANK, TOP_UP_PARTS, Event, Reading, Record, TopUp
from wetfoot.book.instants import NOON, instant, read_date, read_time
from wetfoot.book.layout import DERIVED, Meaning, meaning_of, plain
from wetfoot.errors import Problem, WetfootError, refuse
from wetfoot.quantities import parse

T = TypeVar("T")
_FROM_FILES = UUID("5b0c1d0e-5c0f-4d3c-9a52-6f1f3d6f0a77")
_BARE_NUMBER = re.compile(r"[+-]?[\d./\s]*\d[\d./\s]*(?:[eE][+-]?\d+)?")
_EC_UNITS = {
    **dict.fromkeys(("ms", "ms/cm"), "mS/cm"),
    **dict.fromkeys(("us", "us/cm", "µs", "µs/cm", "μs", "μs/cm"), "uS/cm"),
}
_YES_NO = {"yes": True, "y": True, "true": True, "1": True, "no": False, "n": False, "false": False, "0": False}


@dataclass(frozen=True)
class Reader:
    """What the rows of a file are read with: who imports, where, when, and what stands there."""

    zone: str
    places: PlacesKnown
    who: str
    now: datetime


@dataclass(frozen=True)
class Entry:
    """A row that could be read: its number, its record, and whether the file gave the record's id and writer."""

    row: int
    record: Record
    own_id: bool
    own_who: bool
    doubts: tuple[str, ...]


def content_of(cells: Mapping[str, str]) -> str:
    """Return what a row says, the same whatever the order and the spelling of its columns."""
    said = {column: text for column, text in cells.items() if text and column not in DERIVED}
    return json.dumps(said, sort_keys=True)


def id_from(content: str, occurrence: int) -> str:
    """Return the id of a row without one: the same each time the file is read.

    Args:
        content: what the row says.
        occurrence: 1 for the first row of a file that says it, 2 for the second.
    """
    return str(uuid5(_FROM_FILES, f"{occurrence} {content}"))


def read_row(row: int, cells: Mapping[str, str], id: str, reader: Reader) -> Entry:
    """Return a row as an entry.

    Args:
        row: its number in the file.
        cells: its texts by column.
        id: its id if the row has none of its own.
        reader: what holds for all rows.

    Raises:
        WetfootError: with all that keeps the row from being a record.
    """
    problems: list[Problem] = []
    meaning = _try(problems, lambda: meaning_of(cells.get("what", "")))
    moment = _try(problems, lambda: _moment(cells, reader))
    shared = _try(problems, lambda: _shared(cells, id, reader))
    own, doubts = (_try(problems, lambda: _own(cells, meaning)) if meaning else None) or ({}, [])
    if problems or not (meaning and moment and shared is not None):
        raise WetfootError(problems)
    at, zone, timed, doubt = moment
    record = meaning.record(at=at, zone=zone, **shared, **own)
    problems = problems_in(record)
    if problems:
        raise WetfootError(problems)
    record = _as_known(record, reader.places)
    now = reader.now if timed else _end_of_day(reader.now, zone)
    found = ([doubt] if doubt else []) + doubts + doubts_about(record, now, reader.places)
    return Entry(row, record, bool(cells.get("id")), bool(cells.get("who")), tuple(found))


def joined(first: Entry, second: Entry) -> Entry | None:
    """Return two parts of one top-up, with the same id of their own, as one; None if they are not that."""
    one, two = first.record, second.record
    if not (isinstance(one, TopUp) and isinstance(two, TopUp)):
        return None
    added = {name: getattr(two, name) for name in TOP_UP_PARTS if getattr(two, name) is not None}
    if any(getattr(one, name) is not None for name in added):
        return None
    nothing: dict[str, Any] = dict.fromkeys(TOP_UP_PARTS)
    if replace(one, **nothing) != replace(two, **nothing):
        return None
    doubts = tuple(dict.fromkeys(first.doubts + second.doubts))
    return replace(first, record=replace(one, **added), doubts=doubts)


def differences(book_has: Record, entry: Entry) -> list[str]:
    """Return the fields in which a row says something else than the record of the same id in the book.

    Left out is what a file may lack or say in other words: typed text, zone, visit, doubt, moment of writing.
    """
    told = entry.record
    names = ["at", "note", "supersedes", "reason", "withdrawn", *(["who"] if entry.own_who else [])]
    if type(book_has) is not type(told):
        return ["what"]
    if isinstance(told, (Reading, Event)):
        names += ["kind", "place", "pot"]
    if isinstance(told, Reading):
        names += ["value", "temperature_c"]
    if isinstance(told, TopUp):
        names += ["place", *TOP_UP_PARTS]
    return [name for name in names if getattr(book_has, name) != getattr(told, name)]


def _try(problems: list[Problem], read: Callable[[], T]) -> T | None:
    """Return what was read; None, with the problems noted, if it could not be."""
    try:
        return read()
    except WetfootError as error:
        problems += error.problems
        return None


def _moment(cells: Mapping[str, str], reader: Reader) -> tuple[datetime, str, bool, str | None]:
    """Return the instant, the zone's name, whether a time was given, and what is doubtful about it."""
    name = cells.get("zone") or reader.zone
    zone = zone_named(name)
    if zone is None:
        raise refuse("zone", f"{name!r} is not a time zone", "an IANA name such as 'Asia/Manila'", "correct it")
    day, behind = read_date(cells.get("date", ""))
    typed = cells.get("time") or behind
    clock = read_time(typed) if typed else NOON
    try:
        at, doubt = instant(day, clock, zone)
    except OverflowError as error:
        raise refuse("date", f"{day} is out of the calendar", "1900 to 2200", "correct it") from error
    return at, name, bool(typed), doubt


def _end_of_day(now: datetime, name: str) -> datetime:
    """Return the end of the local day: a date without a time is in the future only after it."""
    local = now.astimezone(zone_named(name) or UTC)
    return max(now, datetime.combine(local.date(), time(23, 59), tzinfo=local.tzinfo))


def _shared(cells: Mapping[str, str], id: str, reader: Reader) -> dict[str, Any]:
    return {
        "id": _id("id", cells) or id,
        "who": cells.get("who") or reader.who,
        "note": cells.get("note"),
        "supersedes": _id("corrects", cells),
        "reason": cells.get("reason"),
        "doubt": cells.get("doubt"),
        "withdrawn": _yes("withdrawn", cells, False),
        "written_at": _written_at(cells),
    }


def _id(column: str, cells: Mapping[str, str]) -> str | None:
    text = cells.get(column)
    if not text:
        return None
    try:
        return str(UUID(text))
    except ValueError as error:
        raise refuse(column, f"{text!r} is not an id of the book", "a uuid, or nothing", "empty it") from error


def _yes(column: str, cells: Mapping[str, str], otherwise: bool) -> bool:
    text = cells.get(column)
    if not text:
        return otherwise
    if text.casefold() not in _YES_NO:
        raise refuse(column, f"{text!r} is neither yes nor no", "yes, no, or nothing", "correct it")
    return _YES_NO[text.casefold()]


def _written_at(cells: Mapping[str, str]) -> datetime | None:
    text = cells.get("written at")
    if not text:
        return None
    try:
        found = datetime.fromisoformat(text)
    except ValueError as error:
        allowed = "an instant such as 2026-05-01T09:30:00+00:00"
        raise refuse("written at", f"{text!r} is not an instant", allowed, "empty it") from error
    return found if found.tzinfo else found.replace(tzinfo=UTC)


def _own(cells: Mapping[str, str], meaning: Meaning) -> tuple[dict[str, Any], list[str]]:
    """Return the fields that only this type of record has, and what is doubtful about them."""
    kinds = {Reading: _reading, TopUp: _top_up, Event: _event}
    read = kinds.get(meaning.record)
    return read(cells, meaning) if read else ({}, [])


def _reading(cells: Mapping[str, str], meaning: Meaning) -> tuple[dict[str, Any], list[str]]:
    place, doubts = _place(cells), []
    if place is None and meaning.kind == "tank_volume":
        place = TANK
    if place is None and meaning.kind in ("ec", "solution_temperature"):
        place = TANK
        doubts.append("no place was given; taken as the tank")
    value = _value(cells, meaning)
    temperature_c, doubt = _temperature_c(cells)
    fields = {
        "kind": meaning.kind,
        "value": value,
        "place": place,
        "pot": _pot(cells),
        "typed": cells.get("typed") or _typed(cells),
        "temperature_c": temperature_c,
        "compensated": _yes("compensated", cells, True),
        "visit_id": _id("visit", cells),
    }
    return fields, doubts + ([doubt] if doubt else [])


def _top_up(cells: Mapping[str, str], meaning: Meaning) -> tuple[dict[str, Any], list[str]]:
    litres = _value(cells, meaning)
    return {"place": _place(cells) or TANK, meaning.kind: litres, "visit_id": _id("visit", cells)}, []


def _event(cells: Mapping[str, str], meaning: Meaning) -> tuple[dict[str, Any], list[str]]:
    said = {"kind": meaning.kind, "place": _place(cells), "pot": _pot(cells), "visit_id": _id("visit", cells)}
    return said, []


def _typed(cells: Mapping[str, str]) -> str:
    return f"{cells.get('value', '')} {cells.get('unit', '')}".strip()


def _value(cells: Mapping[str, str], meaning: Meaning) -> float:
    value, unit = cells.get("value", ""), cells.get("unit", "")
    if not value:
        raise refuse("value", f"there is no value for {meaning.word}", "a number with a unit", "write it")
    if not _BARE_NUMBER.fullmatch(value):
        if unit and not value.casefold().endswith(unit.casefold()):
            what = f"the value {value!r} is not a number in {unit!r}"
            raise refuse("value", what, "a number, with its unit in one place", "correct one of them")
        return parse(value, meaning.quantity, "value")
    if meaning.quantity == "conductivity":
        unit = _EC_UNITS.get(unit.casefold(), unit)
    return parse(f"{value} {unit}", meaning.quantity, "value")


def _temperature_c(cells: Mapping[str, str]) -> tuple[float | None, str | None]:
    text = cells.get("temperature")
    if not text:
        return None, None
    if _BARE_NUMBER.fullmatch(text):
        return parse(f"{text} degC", "temperature", "temperature"), f"temperature {text} taken as degC"
    return parse(text, "temperature", "temperature"), None


def _place(cells: Mapping[str, str]) -> str | None:
    place = cells.get("place") or None
    return TANK if place and plain(place) in (TANK, "thetank") else place


def _pot(cells: Mapping[str, str]) -> int | None:
    text = cells.get("pot")
    if not text:
        return None
    if not re.fullmatch(r"\d{1,6}", text):
        raise refuse("pot", f"{text!r} is not the number of a pot", "a whole number", "correct it")
    return int(text)


def _as_known(record: Record, places: PlacesKnown) -> Record:
    """Return a record with its bank spelled as it is known, if only case and signs differ."""
    place = getattr(record, "place", None)
    if place in (None, TANK) or place in places.banks or not isinstance(record, (Reading, TopUp, Event)):
        return record
    alike = [bank for bank in places.banks if plain(bank) == plain(str(place))]
    return replace(record, place=alike[0]) if len(alike) == 1 else record
