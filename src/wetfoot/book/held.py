"""Rows of files that could not be recorded, kept word for word so that nothing is dropped."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import ColumnElement, Connection, func, insert, select, true

from wetfoot.book.opening import Book
from wetfoot.book.rows import id_from
from wetfoot.book.sorting import RowReport
from wetfoot.book.tables import HELD, SETTLED
from wetfoot.errors import refuse


@dataclass(frozen=True)
class Held:
    """A row as it stood in its file, with its headings, and why it could not be recorded."""

    id: str
    file: str
    row: int
    reason: str
    headings: tuple[str, ...]
    cells: tuple[str, ...]
    who: str
    written_at: datetime


@dataclass(frozen=True)
class Settled:
    """What became of a held row: the id of the record it was mended to, None if it was dropped; and why."""

    held_id: str
    record_id: str | None
    reason: str
    who: str
    written_at: datetime


def held_rows(book: Book) -> list[Held]:
    """Return all rows that were ever held, by the moment of their import and their number."""
    with book.reading() as connection:
        return _held(connection, true())


def open_rows(book: Book) -> list[Held]:
    """Return the held rows that are not settled yet, in the order of `held_rows`."""
    with book.reading() as connection:
        return _held(connection, _is_open())


def count_open(book: Book) -> int:
    """Return how many held rows are not settled yet."""
    with book.reading() as connection:
        return connection.execute(select(func.count()).select_from(HELD).where(_is_open())).scalar_one()


def settled_rows(book: Book) -> list[tuple[Held, Settled]]:
    """Return the held rows that were settled, and how, the last settled first."""
    with book.reading() as connection:
        by_id = {row.id: row for row in _held(connection, ~_is_open())}
        found = connection.execute(select(SETTLED).order_by(SETTLED.c.written_at.desc(), SETTLED.c.held_id))
        return [(by_id[row.held_id], Settled(**row._asdict())) for row in found]


def open_row(connection: Connection, id: str) -> Held:
    """Return a held row that is not settled yet.

    Raises:
        WetfootError: if there is none such.
    """
    found = _held(connection, (HELD.c.id == id) & _is_open())
    if not found:
        raise refuse("row", "no such row is kept aside, or it was settled before", "a row of the list", "look again")
    return found[0]


def settle(connection: Connection, settled: Settled) -> None:
    """Write what became of a held row, over a connection that may write; the row itself stays."""
    connection.execute(insert(SETTLED), vars(settled))


def _is_open() -> ColumnElement[bool]:
    return ~select(SETTLED.c.held_id).where(SETTLED.c.held_id == HELD.c.id).exists()


def _held(connection: Connection, where: ColumnElement[bool]) -> list[Held]:
    question = select(HELD).where(where).order_by(HELD.c.written_at, HELD.c.file, HELD.c.row_number)
    return [
        Held(
            row.id,
            row.file,
            row.row_number,
            row.reason,
            tuple(row.cells["headings"]),
            tuple(row.cells["cells"]),
            row.who,
            row.written_at,
        )
        for row in connection.execute(question)
    ]


def keep_held(
    connection: Connection,
    file: str,
    headings: Sequence[str],
    texts: Mapping[int, Sequence[str]],
    held: Sequence[RowReport],
    who: str,
    now: datetime,
) -> None:
    """Keep rows that are not kept already.

    Args:
        connection: one that may write.
        file: the file's name.
        headings: its headings.
        texts: the cells of every row by its number.
        held: the rows to keep.
        who: who imports.
        now: the present instant.
    """
    seen: Counter[str] = Counter()
    rows = {}
    for report in sorted(held, key=lambda report: report.row):
        cells = {"headings": list(headings), "cells": list(texts[report.row])}
        content = json.dumps(cells)
        seen[content] += 1
        id = id_from(content, seen[content])
        rows[id] = {
            "id": id,
            "file": file,
            "row_number": report.row,
            "reason": report.reason,
            "cells": cells,
            "who": who,
            "written_at": now,
        }
    there = set(connection.execute(select(HELD.c.id)).scalars())
    new = [row for id, row in rows.items() if id not in there]
    if new:
        connection.execute(insert(HELD), new)
