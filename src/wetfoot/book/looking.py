"""Look into a book that may be large: the newest records, how many there are, the last reading of a place."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime

from sqlalchemy import Connection, select, text

from wetfoot.book.entries import Reading, Record
from wetfoot.book.opening import Book
from wetfoot.book.records import holds
from wetfoot.book.stock_entries import RECORD_TYPES
from wetfoot.book.stock_layout import WORDS
from wetfoot.book.tables import TABLE_OF, record_from

Among = Mapping[type[Record], str]
"""Types of record, each with the condition on its rows ``r`` of what is looked at, in SQL of our own."""
EVERYTHING: Among = dict.fromkeys(RECORD_TYPES, "TRUE")
_KIND_IS = {
    "harvest": "r.cause IS NULL",
    "cull": "r.cause IS NOT NULL",
    "hold": "r.kind = 'hold'",
    "release": "r.kind = 'release'",
}


def stock_among(words: Iterable[str]) -> Among:
    """Return what to look at for records of planting stock that stand under some words, as 'lot' or 'cull'."""
    found: dict[type[Record], list[str]] = {}
    for word in words:
        found.setdefault(WORDS[word][0], []).append(_KIND_IS.get(word, "TRUE"))
    return {what: " OR ".join(conditions) for what, conditions in found.items()}


def last_reading(
    book: Book, kind: str, place: str, since: datetime | None = None, until: datetime | None = None
) -> Reading | None:
    """Return the last of what `current` would return of a kind at a place, without reading the others."""
    table = TABLE_OF[Reading]
    question = select(table).where(holds(Reading), table.c.kind == kind, table.c.place == place)
    if since is not None:
        question = question.where(table.c.at >= since)
    if until is not None:
        question = question.where(table.c.at < until)
    newest = question.order_by(table.c.at.desc(), table.c.written_at.desc(), table.c.id.desc()).limit(1)
    with book.reading() as connection:
        row = connection.execute(newest).first()
    return record_from(Reading, row) if row else None


def newest(book: Book, count: int, skip: int = 0, superseded: bool = False, among: Among = EVERYTHING) -> list[Record]:
    """Return some records in the order of their instants, the newest first.

    Args:
        book: an open book.
        count: how many at most.
        skip: how many newer ones to leave out.
        superseded: whether to give those too that were superseded or withdrawn.
        among: what to look at; records of all types if not given.
    """
    order = "ORDER BY at DESC, written_at DESC, id DESC"
    types = list(among)
    last = " UNION ALL ".join(
        f"SELECT * FROM (SELECT {at} AS type, r.at, r.written_at, r.id FROM {TABLE_OF[what].name} AS r "
        f"WHERE {_which(what, among, superseded)} {order} LIMIT :most) AS t{at}"
        for at, what in enumerate(types)
    )
    question = text(f"SELECT type, id FROM ({last}) AS found {order} LIMIT :count OFFSET :skip")
    with book.reading() as connection:
        chosen = connection.execute(question, {"most": skip + count, "count": count, "skip": skip}).all()
        by_id: dict[str, Record] = {}
        for at in {row.type for row in chosen}:
            by_id |= _by_id(connection, types[at], [row.id for row in chosen if row.type == at])
    return [by_id[row.id] for row in chosen]


def _which(what: type[Record], among: Among, superseded: bool) -> str:
    return f"({among[what]})" + ("" if superseded else f" AND {_HOLDS.format(table=TABLE_OF[what].name)}")


def _by_id(connection: Connection, what: type[Record], ids: list[str]) -> dict[str, Record]:
    table = TABLE_OF[what]
    return {row.id: record_from(what, row) for row in connection.execute(select(table).where(table.c.id.in_(ids)))}


def count_records(book: Book, superseded: bool = False, among: Among = EVERYTHING) -> int:
    """Return how many records the book has among some, those that hold or, if `superseded`, all."""
    if among is EVERYTHING:
        # few are superseded: to take these away is quicker than to ask of each record whether it holds
        corrections = "SELECT -count(*) FROM {table} AS r WHERE r.supersedes IS NOT NULL"
        less = [] if superseded else [corrections, f"{corrections} AND r.withdrawn AND {_LAST}"]
        counts = ["SELECT count(*) AS n FROM {table}", *less]
        parts = [part.format(table=TABLE_OF[what].name) for what in among for part in counts]
    else:
        counted = "SELECT count(*) AS n FROM {} AS r WHERE {}"
        parts = [counted.format(TABLE_OF[what].name, _which(what, among, superseded)) for what in among]
    with book.reading() as connection:
        return int(connection.execute(text(f"SELECT sum(n) FROM ({' UNION ALL '.join(parts)}) AS c")).scalar_one())


_LAST = "NOT EXISTS (SELECT 1 FROM {table} AS newer WHERE newer.supersedes = r.id)"
_HOLDS = f"NOT r.withdrawn AND {_LAST}"
