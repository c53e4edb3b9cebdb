"""Nobody changes the past: the database itself refuses, whatever program sends the statement."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from wetfoot.book.exchange import PlacesKnown, import_records
from wetfoot.book.held import Settled, open_rows, settle
from wetfoot.book.records import Event, Reading, TopUp, Visit, add, open_book
from wetfoot.book.stock_entries import STOCK_TYPES
from wetfoot.book.tables import Base

NOON = datetime(2026, 5, 1, 12, tzinfo=UTC)
TABLES = tuple(Base.metadata.tables)
STOCK: tuple[dict[str, Any], ...] = (
    {"lot": "A", "parents": ("B",)},
    {"batch": "C", "lot": "A", "pieces": 20},
    {"pot": "East 1", "place": "East", "pieces": 3, "batch": "C"},
    {"pot": "East 1", "place": "East", "to": "West"},
    {"lot": "D", "kg": 4.5, "pot": "East 1"},
    {"lot": "D", "kg": 4.0},
    {"lot": "D", "kg": 2.0, "to": "Bob"},
    {"lot": "D", "agent": "bacterial wilt", "result": "negative"},
    {"lot": "D", "kind": "hold", "cause": "waits for a test"},
)


@pytest.fixture
def raw(tmp_path: Path) -> Iterator[sqlite3.Connection]:
    """A connection past all of our code to a book with one row in each table."""
    same: dict[str, Any] = {"at": NOON, "zone": "UTC", "who": "Ann"}
    bad = tmp_path / "bad.csv"
    bad.write_text("date,what,value\nyesterday,visit,\n")
    with open_book(tmp_path) as book:
        add(book, Visit(**same), Reading(kind="rain", value=3.0, **same))
        add(book, TopUp(water_l=9.0, **same), Event(kind="pest", **same))
        add(book, *(what(**same, **own) for what, own in zip(STOCK_TYPES, STOCK, strict=True)))
        import_records(book, bad, zone="UTC", places=PlacesKnown(), who="Ann", now=NOON)
        with book.writing() as connection:
            settle(connection, Settled(open_rows(book)[0].id, None, "no day was written", "Ann", NOON))
    with closing(sqlite3.connect(tmp_path / "book.db", isolation_level=None)) as connection:
        yield connection


@pytest.mark.parametrize("table", TABLES)
@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE {} SET who = 'Bob'",
        "UPDATE OR REPLACE {} SET who = 'Bob'",
        "DELETE FROM {}",
        "INSERT OR REPLACE INTO {} SELECT * FROM {}",
    ],
)
def test_rows_cannot_be_changed_or_deleted(raw: sqlite3.Connection, table: str, statement: str) -> None:
    before = raw.execute(f"SELECT * FROM {table}").fetchall()
    assert len(before) == 1
    with pytest.raises(sqlite3.IntegrityError, match="never changed or deleted"):
        raw.execute(statement.format(table, table))
    assert raw.execute(f"SELECT * FROM {table}").fetchall() == before


def test_a_row_cannot_be_replaced_by_its_hidden_number(raw: sqlite3.Connection) -> None:
    columns = [name for _, name, *_ in raw.execute("PRAGMA table_info(events)")]
    other = ", ".join("'another'" if name == "id" else name for name in columns)
    statement = f"INSERT OR REPLACE INTO events (rowid, {', '.join(columns)}) SELECT rowid, {other} FROM events"
    with pytest.raises(sqlite3.IntegrityError, match="never changed or deleted"):
        raw.execute(statement)


def test_the_database_refuses_a_second_correction_of_the_same_row(raw: sqlite3.Connection) -> None:
    columns = [name for _, name, *_ in raw.execute("PRAGMA table_info(events)")]
    new = {"supersedes": "id", "reason": "'typo'"}
    statement = "INSERT INTO events ({}) SELECT {} FROM events WHERE supersedes IS NULL"
    for id, refused in (("'one'", False), ("'two'", True)):
        values = ", ".join((new | {"id": id}).get(name, name) for name in columns)
        if refused:
            with pytest.raises(sqlite3.IntegrityError):
                raw.execute(statement.format(", ".join(columns), values))
        else:
            raw.execute(statement.format(", ".join(columns), values))
