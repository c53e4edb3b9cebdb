"""The one layout of records in a spreadsheet: its columns, the words for what is recorded, its rows."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from wetfoot.book.checks import zone_named
from wetfoot.book.entries import EVENT_KINDS, TOP_UP_PARTS, Event, Reading, Record, TopUp, Visit
from wetfoot.book.instants import written
from wetfoot.book.spreadsheet import Cell
from wetfoot.book.stock_entries import Move
from wetfoot.book.stock_layout import ITEMS, KG, STOCK_COLUMNS, WORDS, stock_cells
from wetfoot.errors import Problem, WetfootError, refuse

# Every column, with other headings that people write for it.
COLUMNS = {
    "id": "record id",
    "date": "day; when",
    "time": "local time; time of day; clock",
    "what": "kind; type; quantity; measurement",
    "place": "bank; where; location",
    "pot": "pot number; pot no",
    "value": "reading; amount; measured",
    "unit": "units",
    "temperature": "temp; sample temperature",
    "who": "by; person; name; initials; observer",
    "note": "notes; remark; remarks; comment; comments",
    "corrects": "supersedes; corrects id",
    "reason": "why; reason for correction",
    "zone": "time zone",
    "typed": "as typed",
    "compensated": "temperature compensated",
    "visit": "visit id",
    **STOCK_COLUMNS,
    "doubt": "doubts",
    "withdrawn": "",
    "written at": "",
    "superseded by": "",
}
NEEDED = ("date", "what", "value")
DERIVED = ("doubt", "written at", "superseded by")
"""Columns that say something of a record, but are not what was recorded."""
_EVERY_RECORD = {"id", "date", "time", "what", "who", "note", "corrects", "reason", "zone", "withdrawn"}
_ALSO = {
    Visit: set[str](),
    Reading: {"place", "pot", "value", "unit", "typed", "visit"},
    TopUp: {"place", "value", "unit", "visit"},
    Event: {"place", "pot", "visit"},
    **{what: {item.column for item in items} | ({"unit"} if KG in items else set()) for what, items in ITEMS.items()},
}


@dataclass(frozen=True)
class Meaning:
    """What a word in the column `what` stands for, and how its value is read and written."""

    word: str
    record: type[Record]
    kind: str = ""
    quantity: str = ""
    unit: str = ""


MEANINGS = (
    Meaning("visit", Visit),
    Meaning("tank", Reading, "tank_volume", "volume", "L"),
    Meaning("EC", Reading, "ec", "conductivity", "mS/cm"),
    Meaning("level", Reading, "level", "depth", "m"),
    Meaning("rain", Reading, "rain", "rain", "mm"),
    Meaning("solution temperature", Reading, "solution_temperature", "temperature", "degC"),
    Meaning("medium temperature", Reading, "medium_temperature", "temperature", "degC"),
    Meaning("water added", TopUp, "water_l", "volume", "L"),
    Meaning("stock A added", TopUp, "stock_a_l", "volume", "L"),
    Meaning("stock B added", TopUp, "stock_b_l", "volume", "L"),
    *(Meaning(kind.replace("_", " "), Event, kind) for kind in EVENT_KINDS),
    *(Meaning(word, what, kind, "mass", "kg") for word, (what, kind) in WORDS.items() if what is not Move),
)
_POT_MOVED = Meaning("pot moved", Move)
_OTHER_WORDS = {
    "tank volume": "tank",
    "tank reading": "tank",
    "conductivity": "EC",
    "rainfall": "rain",
    "water temperature": "solution temperature",
    "water": "water added",
    "stock A": "stock A added",
    "stock B": "stock B added",
    "cut": "cutting",
    "planted": "planting",
    "harvested": "harvest",
    "culled": "cull",
    "store": "store check",
    "sent": "shipment",
}


def plain(text: str) -> str:
    """Return a heading or word without case, spaces, signs, and what stands in brackets.

    >>> plain("Temperature (degC)"), plain(" Stock_A added ")
    ('temperature', 'stockaadded')
    """
    return re.sub(r"[\W_]+", "", re.sub(r"\(.*?\)|\[.*?\]", "", text).casefold())


MEANING_OF = {plain(meaning.word): meaning for meaning in MEANINGS}
MEANING_OF |= {plain(other): MEANING_OF[plain(word)] for other, word in _OTHER_WORDS.items()}
_COLUMN_OF = {
    plain(name): column for column, others in COLUMNS.items() for name in (column, *others.split(";")) if plain(name)
}


def column_named(heading: str) -> str | None:
    """Return which column a heading means, or None."""
    return _COLUMN_OF.get(plain(heading))


def columns_in(headings: Sequence[str], where: str) -> dict[str, int]:
    """Return at which position each column stands.

    Raises:
        WetfootError: if a needed column is missing, or two headings mean the same column.
    """
    found: dict[str, int] = {}
    problems = []
    for position, heading in enumerate(headings):
        column = column_named(heading)
        if column in found:
            what = f"the headings {headings[found[column]]!r} and {heading!r} both mean {column!r}"
            problems.append(Problem(where, what, "one of them", "rename or remove the other"))
        elif column:
            found[column] = position
    missing = [column for column in NEEDED if column not in found]
    if missing:
        seen = ", ".join(heading for heading in headings if heading)[:500] or "none"
        what = f"there is no column {', '.join(missing)} (columns found: {seen})"
        problems.append(Problem(where, what, ", ".join(COLUMNS), "name the columns in the first row"))
    if problems:
        raise WetfootError(problems)
    return found


def meaning_of(cells: Mapping[str, str]) -> Meaning:
    """Return what a row stands for, by its word in the column `what`.

    Raises:
        WetfootError: if it stands for nothing that the book records.
    """
    word = cells.get("what", "")
    found = MEANING_OF.get(plain(word))
    if found is None:
        words = ", ".join(meaning.word for meaning in MEANINGS)
        raise refuse("what", f"{word!r} is not something that the book records", words, "choose one")
    return _POT_MOVED if found.kind == "pot_moved" and cells.get("to") else found


def columns_of(meaning: Meaning) -> set[str]:
    """Return the columns that have a place in a record; what stands in another is kept in its note."""
    ec = {"temperature", "compensated"} if meaning.kind == "ec" else set()
    return _EVERY_RECORD | set(DERIVED) | _ALSO[meaning.record] | ec


def rows_of(record: Record, superseded_by: Mapping[str, str]) -> list[list[Cell]]:
    """Return a record as rows in the order of `COLUMNS`: one row, but one for each part of a top-up.

    Args:
        record: one that stands in the book.
        superseded_by: the id of the correction by the id of each corrected record.
    """
    shared = _common_cells(record) | {"superseded by": superseded_by.get(record.id)}
    return [[cells.get(column) for column in COLUMNS] for cells in (shared | own for own in _own_cells(record))]


def _common_cells(record: Record) -> dict[str, Cell]:
    zone = zone_named(record.zone)
    assert zone, "the book has only records whose zone was checked"
    assert record.written_at, "and all of them were written"
    day, clock = written(record.at, zone)
    return {
        "id": record.id,
        "date": day,
        "time": clock,
        "who": record.who,
        "note": record.note,
        "corrects": record.supersedes,
        "reason": record.reason,
        "zone": record.zone,
        "visit": getattr(record, "visit_id", None),
        "doubt": record.doubt,
        "withdrawn": "yes" if record.withdrawn else None,
        "written at": record.written_at.isoformat(),
    }


def _own_cells(record: Record) -> list[dict[str, Cell]]:
    if isinstance(record, Reading):
        return [_reading_cells(record)]
    if isinstance(record, TopUp):
        parts = [(name, getattr(record, name)) for name in TOP_UP_PARTS]
        return [
            {"what": _word(TopUp, name), "place": record.place, "value": value, "unit": "L"}
            for name, value in parts
            if value is not None
        ]
    if isinstance(record, Event):
        return [{"what": _word(Event, record.kind), "place": record.place, "pot": record.pot}]
    if type(record) in ITEMS:
        return [stock_cells(record)]
    return [{"what": "visit"}]


def _reading_cells(reading: Reading) -> dict[str, Cell]:
    meaning: Any = next(m for m in MEANINGS if m.record is Reading and m.kind == reading.kind)
    compensated = ("yes" if reading.compensated else "no") if reading.kind == "ec" else None
    degrees = None if reading.temperature_c is None else f"{reading.temperature_c:.12g} degC"
    return {
        "what": meaning.word,
        "place": reading.place,
        "pot": reading.pot,
        "value": reading.value,
        "unit": meaning.unit,
        "temperature": degrees,
        "typed": reading.typed,
        "compensated": compensated,
    }


def _word(record: type[Record], kind: str) -> str:
    return next(meaning.word for meaning in MEANINGS if meaning.record is record and meaning.kind == kind)
