"""Read one row of a spreadsheet as a record, or say all that keeps it from being one."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime, time
from typing import Any, TypeVar
from uuid import UUID, uuid5

from wetfoot.book.cells import (
    id_in,
    moment_in,
    place_in,
    pot_in,
    temperature_in,
    typed_in,
    value_in,
    written_at_in,
    yes_in,
)
from wetfoot.book.checks import PlacesKnown, doubts_about, problems_in, zone_named
from wetfoot.book.entries import TANK, TOP_UP_PARTS, Event, Reading, Record, TopUp
from wetfoot.book.layout import DERIVED, Meaning, columns_of, meaning_of
from wetfoot.book.stock_layout import ITEMS
from wetfoot.book.stock_rows import known_bank, spelled, stock_fields
from wetfoot.errors import Problem, WetfootError

T = TypeVar("T")
_FROM_FILES = UUID("5b0c1d0e-5c0f-4d3c-9a52-6f1f3d6f0a77")
_COMPARED = {
    "at": "date",
    "kind": "what",
    "value": "value",
    **dict.fromkeys(TOP_UP_PARTS, "value"),
    **{name: name for name in ("who", "note", "place", "pot", "reason", "withdrawn")},
    "temperature_c": "temperature",
    "supersedes": "corrects",
}


@dataclass(frozen=True)
class Reader:
    """What the rows of a file are read with: who imports, where, when, and what stands there."""

    zone: str
    places: PlacesKnown
    who: str
    now: datetime


@dataclass(frozen=True)
class Entry:
    """A row that could be read, or the rows of one top-up.

    Attributes:
        rows: their numbers in the file.
        record: what it says.
        own_id: whether the file gave the record's id.
        told: the columns by which the file says something of the record.
        doubts: what makes it unlikely.
    """

    rows: tuple[int, ...]
    record: Record
    own_id: bool
    told: frozenset[str]
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
    meaning = _try(problems, lambda: meaning_of(cells))
    moment = _try(problems, lambda: moment_in(cells, reader.zone))
    shared = _try(problems, lambda: _shared(cells, id, reader))
    own, doubts = (_try(problems, lambda: _own(cells, meaning, reader.places)) if meaning else None) or ({}, [])
    if problems or not (meaning and moment and shared is not None):
        raise WetfootError(problems)
    at, zone, timed, doubt = moment
    shared["note"] = _note_with_rest(cells, meaning)
    record = meaning.record(at=at, zone=zone, **shared, **own)
    problems = problems_in(record)
    if problems:
        raise WetfootError(problems)
    record = _as_known(record, reader.places)
    now = reader.now if timed else _end_of_day(reader.now, zone)
    found = ([doubt] if doubt else []) + doubts + doubts_about(record, now, reader.places)
    told = frozenset(cells) - (set() if cells.get("who") else {"who"})
    return Entry((row,), record, bool(cells.get("id")), told, tuple(found))


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
    return replace(first, rows=first.rows + second.rows, record=replace(one, **added), doubts=doubts)


def differences(book_has: Record, entry: Entry) -> list[str]:
    """Return the fields in which a row says something else than the record of the same id in the book.

    Columns that the file does not have say nothing; nor do the typed text, the zone and the visit count.
    """
    if type(book_has) is not type(entry.record):
        return ["what"]
    compared = _COMPARED | {item.field: item.column for item in ITEMS.get(type(book_has), ())}
    return [
        name
        for name, column in compared.items()
        if column in entry.told and _compared(book_has, name) != _compared(entry.record, name)
    ]


def _compared(record: Record, name: str) -> object:
    value = getattr(record, name, None)
    return spelled(str(value)) if name == "place" else value


def _try(problems: list[Problem], read: Callable[[], T]) -> T | None:
    """Return what was read; None, with the problems noted, if it could not be."""
    try:
        return read()
    except WetfootError as error:
        problems += error.problems
        return None


def _note_with_rest(cells: Mapping[str, str], meaning: Meaning) -> str:
    """Return the note, with what stands in columns that have no place in such a record."""
    known = columns_of(meaning)
    rest = [f"{column}: {text}" for column, text in cells.items() if text and column not in known]
    return "; ".join([*([cells["note"]] if cells.get("note") else []), *rest])


def _end_of_day(now: datetime, name: str) -> datetime:
    """Return the end of the local day: a date without a time is in the future only after it."""
    local = now.astimezone(zone_named(name) or UTC)
    return max(now, datetime.combine(local.date(), time(23, 59), tzinfo=local.tzinfo))


def _shared(cells: Mapping[str, str], id: str, reader: Reader) -> dict[str, Any]:
    return {
        "id": id_in("id", cells) or id,
        "who": cells.get("who") or reader.who,
        "supersedes": id_in("corrects", cells),
        "reason": cells.get("reason"),
        "doubt": cells.get("doubt"),
        "withdrawn": yes_in("withdrawn", cells, False),
        "written_at": written_at_in(cells),
    }


def _own(cells: Mapping[str, str], meaning: Meaning, places: PlacesKnown) -> tuple[dict[str, Any], list[str]]:
    """Return the fields that only this type of record has, and what is doubtful about them."""
    if meaning.record in ITEMS:
        return stock_fields(cells, meaning, places)
    kinds = {Reading: _reading, TopUp: _top_up, Event: _event}
    read = kinds.get(meaning.record)
    return read(cells, meaning) if read else ({}, [])


def _reading(cells: Mapping[str, str], meaning: Meaning) -> tuple[dict[str, Any], list[str]]:
    place, doubts = place_in(cells), []
    if place is None and meaning.kind == "tank_volume":
        place = TANK
    if place is None and meaning.kind in ("ec", "solution_temperature"):
        place = TANK
        doubts.append("no place was given; taken as the tank")
    fields: dict[str, Any] = {
        "kind": meaning.kind,
        "value": value_in(cells, meaning),
        "place": place,
        "pot": pot_in(cells),
        "typed": typed_in(cells),
        "visit_id": id_in("visit", cells),
    }
    if meaning.kind == "ec":
        temperature_c, doubt = temperature_in(cells)
        doubts += [doubt] if doubt else []
        fields |= {"temperature_c": temperature_c, "compensated": yes_in("compensated", cells, True)}
    return fields, doubts


def _top_up(cells: Mapping[str, str], meaning: Meaning) -> tuple[dict[str, Any], list[str]]:
    litres = value_in(cells, meaning)
    return {"place": place_in(cells) or TANK, meaning.kind: litres, "visit_id": id_in("visit", cells)}, []


def _event(cells: Mapping[str, str], meaning: Meaning) -> tuple[dict[str, Any], list[str]]:
    said = {"kind": meaning.kind, "place": place_in(cells), "pot": pot_in(cells), "visit_id": id_in("visit", cells)}
    return said, []


def _as_known(record: Record, places: PlacesKnown) -> Record:
    """Return a record with its bank spelled as it is known, if only case and signs differ."""
    if not isinstance(record, (Reading, TopUp, Event)) or record.place is None:
        return record
    return replace(record, place=known_bank(record.place, places))
