"""Rows of files that could not be recorded, kept word for word so that nothing is dropped."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, insert, select

from wetfoot.book.opening import Book
from wetfoot.book.rows import id_from
from wetfoot.book.sorting import RowReport
from wetfoot.book.tables import HELD


@dataclass(frozen=True)
class Held:
    """A row as it stood in its file, with its headings, and why it could not be recorded."""

    file: str
    row: int
    reason: str
    headings: tuple[str, ...]
    cells: tuple[str, ...]
    who: str
    written_at: datetime


def held_rows(book: Book) -> list[Held]:
    """Return all rows that were ever held, by the moment of their import and their number."""
    with book.reading() as connection:
        found = connection.execute(select(HELD).order_by(HELD.c.written_at, HELD.c.file, HELD.c.row_number))
        return [
            Held(
                row.file,
                row.row_number,
                row.reason,
                tuple(row.cells["headings"]),
                tuple(row.cells["cells"]),
                row.who,
                row.written_at,
            )
            for row in found
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
