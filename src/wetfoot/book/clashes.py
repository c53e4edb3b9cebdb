"""What stands in the way of writing records into a book that has others already."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from sqlalchemy import Connection, select

from wetfoot.book.entries import Record, Visit
from wetfoot.book.stock_entries import RECORD_TYPES, HealthTest
from wetfoot.book.tables import TABLE_OF, record_from
from wetfoot.errors import Problem

_CHUNK = 10_000  # ids in one question; SQLite takes 32,766 variables (its documented limits, from memory)


def records_by_id(connection: Connection, ids: Iterable[str]) -> dict[str, Record]:
    """Return those of the records that the book has, by their ids."""
    return {record.id: record for record in _look_up(connection, ids, "id")}


def successors(connection: Connection, ids: Iterable[str]) -> dict[str, Record]:
    """Return, for each of the ids that was corrected, the record that corrected it."""
    return {str(record.supersedes): record for record in _look_up(connection, ids, "supersedes")}


def chain(connection: Connection, record: Record, back: bool) -> list[Record]:
    """Return what a record corrected (back), or else what corrected it, nearest first."""
    what, table = type(record), TABLE_OF[type(record)]
    found: list[Record] = []
    while True:
        where = table.c.id == record.supersedes if back else table.c.supersedes == record.id
        row = connection.execute(select(table).where(where)).first()
        if row is None:
            return found
        record = record_from(what, row)
        found.append(record)


def clashes(connection: Connection, records: Sequence[Record]) -> list[list[Problem]]:
    """Return, for each record, why it cannot be written after those before it that can; mostly empty lists.

    Ids may be taken; what is to be corrected may not be there, be of another type, or be corrected already;
    the visit may not be there.
    """
    named = {id for record in records for id in (record.id, *pointed_to(record)) if id}
    present = records_by_id(connection, named)
    corrected = successors(connection, {record.supersedes for record in records if record.supersedes})
    found = []
    for record in records:
        problems = [
            *_id_taken(record, present),
            *_cannot_correct(connection, record, present, corrected),
            *_not_there(record, "visit_id", Visit, present),
            *_not_there(record, "confirms", HealthTest, present),
        ]
        if not problems:
            present[record.id] = record
            if record.supersedes:
                corrected[record.supersedes] = record
        found.append(problems)
    return found


def pointed_to(record: Record) -> list[str]:
    """Return the ids of the records that must be in the book before this one can be."""
    named = (getattr(record, name, None) for name in ("supersedes", "visit_id", "confirms"))
    return [id for id in named if id]


def _id_taken(record: Record, present: dict[str, Record]) -> list[Problem]:
    if record.id not in present:
        return []
    return [Problem("id", f"{record.id} is in the book already", "a fresh id", "write a correction instead")]


def _cannot_correct(
    connection: Connection, record: Record, present: dict[str, Record], corrected: dict[str, Record]
) -> list[Problem]:
    id = record.supersedes
    if id is None:
        return []
    older = present.get(id)
    if older is None:
        return [Problem("supersedes", f"there is no record {id} to correct", "a record's id", "check it")]
    if type(older) is not type(record):
        what = f"record {id} is a {type(older).__name__}; a {type(record).__name__} cannot correct it"
        fix = "withdraw that one and add this one"
        return [Problem("supersedes", what, "a record of the same type", fix)]
    if id in corrected:
        newest = [corrected[id], *chain(connection, corrected[id], back=False)][-1]
        when = f" on {newest.written_at:%Y-%m-%d}" if newest.written_at else ""
        what = f"record {id} has been corrected already, by {newest.id} ({newest.who}{when})"
        return [Problem("supersedes", what, "a record that still holds", f"correct {newest.id} instead")]
    return []


def _not_there(record: Record, field: str, what: type[Record], present: dict[str, Record]) -> list[Problem]:
    id = getattr(record, field, None)
    if id is None or isinstance(present.get(id), what):
        return []
    word = "visit" if what is Visit else "test"
    return [Problem(field, f"there is no {word} {id}", f"the id of a {word}", "leave it out")]


def _look_up(connection: Connection, values: Iterable[str], column: str) -> list[Record]:
    wanted = list(dict.fromkeys(values))
    found: list[Record] = []
    for what in RECORD_TYPES:
        table = TABLE_OF[what]
        for start in range(0, len(wanted), _CHUNK):
            question = select(table).where(table.c[column].in_(wanted[start : start + _CHUNK]))
            found += [record_from(what, row) for row in connection.execute(question)]
    return found
