"""Write into a book, correct what was wrong, and read what holds now or how it came to be.

Nothing is changed or deleted: a correction is a new record that supersedes the older one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime
from typing import TypeVar

from sqlalchemy import ColumnElement, Connection, insert, select

from wetfoot.book.checks import doubts_about, problems_in, with_doubts
from wetfoot.book.clashes import chain, clashes, records_by_id
from wetfoot.book.entries import (
    EVENT_KINDS,
    READING_KINDS,
    Event,
    Reading,
    Record,
    TopUp,
    Visit,
    new_id,
)
from wetfoot.book.opening import Book, open_book
from wetfoot.book.stock_entries import HOLD_KINDS, RECORD_TYPES, Hold
from wetfoot.book.tables import TABLE_OF, record_from, row_of
from wetfoot.errors import Problem, WetfootError, refuse

__all__ = [
    "Book",
    "Event",
    "Reading",
    "Record",
    "TopUp",
    "Visit",
    "add",
    "all_current",
    "correct",
    "current",
    "every",
    "history",
    "open_book",
    "withdraw",
]

R = TypeVar("R", bound=Record)
_KINDS: dict[type[Record], tuple[str, ...]] = {Reading: READING_KINDS, Event: EVENT_KINDS, Hold: HOLD_KINDS}


def add(book: Book, *records: R, now: datetime | None = None) -> tuple[R, ...]:
    """Write records, all or none of them, and return them as they were written.

    Args:
        book: an open book.
        records: in an order in which each comes after what it points to.
        now: the present instant; by default the clock's.

    Raises:
        WetfootError: for everything impossible in any of them, ids that the book has already, and corrections
            of what is not there or was corrected before.
    """
    now = now or datetime.now(UTC)
    _refuse([problems_in(record) for record in records])
    marked = tuple(_marked(record, now) for record in records)
    with book.writing() as connection:
        _refuse(clashes(connection, marked))
        insert_records(connection, marked)
    return marked


def correct(book: Book, id: str, new: R, who: str, reason: str, now: datetime | None = None) -> R:
    """Write a record in place of an older one, which stays in its history, and return it as it was written.

    Args:
        book: an open book.
        id: the older record's id.
        new: what holds instead; `dataclasses.replace(old, value=...)` will do.
        who: who corrects.
        reason: why the older one is wrong.
        now: the present instant; by default the clock's.

    Raises:
        WetfootError: if there is no such record, it is of another type, or was corrected before.
    """
    known = {record.id: record for record in history(book, id)}
    correction = replace(
        new,
        id=new_id() if new.id in known else new.id,
        written_at=None,
        supersedes=id,
        who=who,
        reason=reason,
        doubt=None if new.doubt == known[id].doubt else new.doubt,  # an old doubt is judged anew
    )
    return add(book, correction, now=now)[0]


def withdraw(book: Book, id: str, who: str, reason: str, now: datetime | None = None) -> Record:
    """Say that a record should never have been written (twice the same, a mix-up); its history stays."""
    return correct(book, id, replace(_found(book, id), withdrawn=True), who, reason, now)


def current(
    book: Book,
    what: type[R],
    kind: str | None = None,
    since: datetime | None = None,
    until: datetime | None = None,
) -> list[R]:
    """Return the records that hold now, in the order of their instants, without what was superseded.

    Args:
        book: an open book.
        what: a type of record, such as `Visit`, `Reading` or `Lot`.
        kind: only this kind of reading, event or hold, e.g. 'ec'.
        since: from this instant on.
        until: before this instant.

    Raises:
        WetfootError: if the kind is not known.
    """
    known = _KINDS.get(what, ())
    if kind is not None and kind not in known:
        allowed = ", ".join(known) or f"no kind, for a {what.__name__}"
        raise refuse("kind", f"{kind!r} is not a kind that the book knows", allowed, "choose one")
    with book.reading() as connection:
        return current_records(connection, what, kind, since, until)


def current_records(
    connection: Connection,
    what: type[R],
    kind: str | None = None,
    since: datetime | None = None,
    until: datetime | None = None,
) -> list[R]:
    """Return what `current` returns, over a connection in whose transaction more is done."""
    table = TABLE_OF[what]
    question = select(table).where(holds(what))
    if kind is not None:
        question = question.where(table.c.kind == kind)
    if since is not None:
        question = question.where(table.c.at >= since)
    if until is not None:
        question = question.where(table.c.at < until)
    ordered = question.order_by(table.c.at, table.c.written_at, table.c.id)
    return [record_from(what, row) for row in connection.execute(ordered)]


def holds(what: type[Record]) -> ColumnElement[bool]:
    """Return the condition that a record of a type was neither superseded nor withdrawn."""
    table = TABLE_OF[what]
    newer = table.alias()
    superseded = select(newer.c.id).where(newer.c.supersedes == table.c.id).exists()
    return ~superseded & table.c.withdrawn.is_(False)


def all_current(book: Book, types: Sequence[type[Record]] = RECORD_TYPES) -> list[Record]:
    """Return the records of the types that hold at this moment, each type in the order of its instants."""
    with book.reading() as connection:
        return [record for what in types for record in current_records(connection, what)]


def every(book: Book) -> list[Record]:
    """Return all records, superseded and withdrawn ones too, in the order of their instants."""
    with book.reading() as connection:
        found = [record_from(what, row) for what in RECORD_TYPES for row in connection.execute(select(TABLE_OF[what]))]
    return sorted(found, key=lambda record: (record.at, str(record.written_at), record.id))


def history(book: Book, id: str) -> list[Record]:
    """Return a record with all that it corrected and all that corrected it, the oldest first.

    Raises:
        WetfootError: if the book has no such record.
    """
    record = _found(book, id)
    with book.reading() as connection:
        older = chain(connection, record, back=True)
        return [*reversed(older), record, *chain(connection, record, back=False)]


def insert_records(connection: Connection, records: Sequence[Record]) -> None:
    """Write records that were checked, of each type in the given order."""
    for what in RECORD_TYPES:
        rows = [row_of(record) for record in records if type(record) is what]
        if rows:
            connection.execute(insert(TABLE_OF[what]), rows)


def _marked(record: R, now: datetime) -> R:
    doubt = with_doubts(record.doubt, doubts_about(record, now))
    return replace(record, written_at=record.written_at or now, doubt=doubt)


def _refuse(problems_of_each: Sequence[Sequence[Problem]]) -> None:
    """Raise all problems of all records at once, saying which record each is about."""
    found = []
    for number, problems in enumerate(problems_of_each, start=1):
        ahead = f"record {number}, " if len(problems_of_each) > 1 else ""
        found += [replace(problem, where=ahead + problem.where) for problem in problems]
    if found:
        raise WetfootError(found)


def _found(book: Book, id: str) -> Record:
    with book.reading() as connection:
        record = records_by_id(connection, [id]).get(id)
    if record is None:
        raise refuse("id", f"the book has no record {id}", "the id of a record", "check it")
    return record
