"""Sort the rows of a file: what is new, what the book has already, and what cannot be recorded."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection

from wetfoot.book.checks import with_doubts
from wetfoot.book.clashes import clashes, pointed_to, records_by_id
from wetfoot.book.entries import TOP_UP_PARTS, Event, Reading, Record, TopUp, Visit
from wetfoot.book.records import current_records
from wetfoot.book.rows import Entry, Reader, content_of, differences, id_from, joined, read_row
from wetfoot.book.stock_entries import RECORD_TYPES
from wetfoot.book.stock_layout import own_values
from wetfoot.errors import Problem, WetfootError


@dataclass(frozen=True)
class RowReport:
    """What became of one row: its number in the file, the id of its record if it has one, and why."""

    row: int
    id: str | None = None
    reason: str = ""


@dataclass
class Sorted:
    """Where the rows have been sorted to so far; each row is in one of the three.

    Attributes:
        entries: what can be recorded, as far as is known.
        there: rows that the book has, or that the file has twice under one id.
        held: rows that cannot be recorded.
    """

    entries: list[Entry] = field(default_factory=list)
    there: list[RowReport] = field(default_factory=list)
    held: list[RowReport] = field(default_factory=list)

    def hold(self, entry: Entry, reason: str) -> None:
        """Put all rows of an entry with those that cannot be recorded."""
        self.held += reports_of(entry, reason)


def read_all(rows: Mapping[int, Mapping[str, str]], reader: Reader) -> Sorted:
    """Return every row read, the rows of one top-up joined.

    Args:
        rows: the texts of each row by column, by the row's number.
        reader: what holds for all rows.
    """
    found = Sorted()
    seen: Counter[str] = Counter()
    for row, cells in rows.items():
        content = content_of(cells)
        seen[content] += 1
        try:
            found.entries.append(read_row(row, cells, id_from(content, seen[content]), reader))
        except WetfootError as error:
            found.held.append(RowReport(row, cells.get("id", "").lower() or None, _reason(error.problems)))
    _join(found)
    return found


def _join(found: Sorted) -> None:
    """Make one entry of the rows with one id: parts of a top-up, or the same twice; hold what contradicts."""
    one_of: dict[str, Entry] = {}
    unreadable = {report.id: report.row for report in found.held if report.id}
    for entry in found.entries:
        id = entry.record.id
        first = one_of.get(id)
        if id in unreadable and isinstance(entry.record, TopUp):
            found.hold(entry, f"belongs to the top-up of row {unreadable[id]}, which could not be read")
        elif first is None:
            one_of[id] = entry
        elif both := joined(first, entry):
            one_of[id] = both
        elif not differences(first.record, entry):
            found.there += reports_of(entry, f"the same as row {first.rows[0]}")
        else:
            found.hold(entry, f"row {first.rows[0]} has the same id, but says otherwise")
    found.entries = list(one_of.values())


def _reason(problems: Iterable[Problem]) -> str:
    return " ".join(str(problem) for problem in problems)


def set_aside_known(connection: Connection, found: Sorted) -> None:
    """Set aside the entries whose id the book has: as already there, or held if they say something else."""
    book_has = records_by_id(connection, [entry.record.id for entry in found.entries])
    new = []
    for entry in found.entries:
        there = book_has.get(entry.record.id)
        if there is None:
            new.append(entry)
        elif differing := differences(there, entry):
            what = f"the book has this record with another {', '.join(differing)}"
            found.hold(entry, f"{what}; to correct it, name it under 'corrects' in a row without an id")
        else:
            found.there += reports_of(entry, "the book has it")
    found.entries = new


def set_aside_clashing(connection: Connection, found: Sorted) -> None:
    """Hold the entries that point to what is not there, or correct what was corrected; order the others."""
    entries = _in_order(found.entries)
    problems = clashes(connection, [entry.record for entry in entries])
    found.entries = []
    for entry, its in zip(entries, problems, strict=True):
        if its:
            found.hold(entry, _reason(its))
        else:
            found.entries.append(entry)


def _in_order(entries: Sequence[Entry]) -> list[Entry]:
    """Return entries so that visits come first, and each after what it corrects or confirms."""
    by_id = {entry.record.id: entry for entry in entries}
    placed: dict[str, Entry] = {}
    for entry in sorted(entries, key=lambda entry: RECORD_TYPES.index(type(entry.record))):
        stack, met = [entry], set[str]()
        while stack:
            step = stack[-1]
            named = [id for id in pointed_to(step.record) if id not in placed and id not in met]
            before = [by_id[id] for id in named if id in by_id]
            if step.record.id in met or not before:
                placed[stack.pop().record.id] = step
            else:
                met.add(step.record.id)
                stack += before
    return list(placed.values())


def marked(connection: Connection, entries: Sequence[Entry], now: datetime) -> list[Entry]:
    """Return entries as they are written: with all doubts about them, and the moment of writing."""
    same = _said_before(connection, entries)
    found: dict[str, Entry] = {}
    for entry in sorted(entries, key=lambda entry: entry.rows):
        said = list(_sayings(entry.record))
        doubts = list(entry.doubts)
        if not entry.own_id and not entry.record.supersedes:
            doubts += dict.fromkeys(f"the same as {same[saying]}" for saying in said if saying in same)
        same |= {saying: f"row {entry.rows[0]}" for saying in said if saying not in same}
        written_at = entry.record.written_at or now
        doubt = with_doubts(entry.record.doubt, doubts)
        record = replace(entry.record, written_at=written_at, doubt=doubt)
        found[record.id] = replace(entry, record=record)
    return [found[entry.record.id] for entry in entries]


def _said_before(connection: Connection, entries: Sequence[Entry]) -> dict[tuple[Any, ...], str]:
    """Return what the book's current records say in the time that the entries cover."""
    if not entries:
        return {}
    first = min(entry.record.at for entry in entries)
    last = max(entry.record.at for entry in entries) + timedelta(seconds=1)
    return {
        saying: f"record {record.id}"
        for what in RECORD_TYPES
        for record in current_records(connection, what, since=first, until=last)
        for saying in _sayings(record)
    }


def _sayings(record: Record) -> Iterator[tuple[Any, ...]]:
    """Give what a record says: what, where, when and how much; two that say the same may be one."""
    if isinstance(record, Reading):
        yield record.kind, record.place, record.pot, record.at, record.value
    elif isinstance(record, TopUp):
        parts = ((name, getattr(record, name)) for name in TOP_UP_PARTS)
        yield from ((name, record.place, record.at, litres) for name, litres in parts if litres is not None)
    elif isinstance(record, Event):
        yield record.kind, record.place, record.pot, record.at, record.note
    elif isinstance(record, Visit):
        yield "visit", record.who, record.at
    else:
        yield type(record), record.at, *own_values(record)


def reports_of(entry: Entry, reason: str) -> list[RowReport]:
    """Return one report for each row of an entry."""
    return [RowReport(row, entry.record.id, reason) for row in entry.rows]
