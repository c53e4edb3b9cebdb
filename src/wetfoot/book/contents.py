"""What a book holds, as counts and sums that are the same on every engine, and copying it row by row."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from graphlib import TopologicalSorter
from typing import Any

from sqlalchemy import Connection, Table, insert, select

from wetfoot.book.opening import Book
from wetfoot.book.tables import Base
from wetfoot.errors import refuse

_AT_ONCE = 1000


@dataclass(frozen=True)
class Contents:
    """Rows and SHA-256 by table; two books with equal contents hold the same records.

    Attributes:
        rows: how many rows each table has.
        sums: the sum over all rows of each table, in hex, whatever order they stand in.
    """

    rows: dict[str, int]
    sums: dict[str, str]

    @property
    def count(self) -> int:
        """How many rows there are in all."""
        return sum(self.rows.values())


def contents(connection: Connection) -> Contents:
    """Return what a book at the newest version holds, as one transaction sees it."""
    rows, sums = {}, {}
    for table in Base.metadata.sorted_tables:
        digests = sorted(row_digests(connection, table))
        rows[table.name] = len(digests)
        sums[table.name] = hashlib.sha256(b"".join(digests)).hexdigest()
    return Contents(rows, sums)


def contents_of(book: Book) -> Contents:
    """Return what an open book holds at this moment."""
    with book.reading() as connection:
        return contents(connection)


def row_digests(connection: Connection, table: Table) -> Iterator[bytes]:
    """Yield the SHA-256 of each row of a table."""
    for row in connection.execute(select(table)).mappings():
        text = json.dumps({name: _plain(value) for name, value in row.items()}, sort_keys=True)
        yield hashlib.sha256(text.encode()).digest()


def _plain(value: Any) -> Any:
    return value.isoformat() if isinstance(value, datetime) else value


def copy_rows(source: Book, target: Book) -> Contents:
    """Copy all rows of one book into an empty other one, of whatever engine, and compare what both then hold.

    Args:
        source: an open book; it may be written to meanwhile, the copy is of one moment.
        target: an open book without any row.

    Returns:
        What was copied; counts and sums of both were the same.

    Raises:
        WetfootError: if the target has rows already, or does not hold the same afterwards (then it stays empty).
    """
    with source.reading() as old, target.writing() as new:
        if contents(new).count:
            fix = "name an empty database or a new file"
            raise refuse(target.where, "this book has records already", "an empty book", fix)
        wanted = contents(old)
        for table in Base.metadata.sorted_tables:
            _copy_table(old, new, table)
        if contents(new) != wanted:
            raise refuse(target.where, "the copy does not hold the same", "equal counts and sums", "try it again")
    return wanted


def _copy_table(old: Connection, new: Connection, table: Table) -> None:
    rows = {row["id"]: dict(row) for row in old.execute(select(table)).mappings()}
    ordered = [rows[id] for id in _pointed_at_first(table, rows) if id in rows]
    for start in range(0, len(ordered), _AT_ONCE):
        new.execute(insert(table), ordered[start : start + _AT_ONCE])


def _pointed_at_first(table: Table, rows: dict[str, dict[str, Any]]) -> Iterator[str]:
    """Yield the ids so that what a row corrects or confirms comes before it: the database checks each row at once."""
    own = [column.name for column in table.columns if any(key.column.table is table for key in column.foreign_keys)]
    graph = {id: [row[name] for name in own if row[name] is not None] for id, row in rows.items()}
    yield from TopologicalSorter(graph).static_order()
