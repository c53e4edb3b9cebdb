"""The migrations make exactly the tables that the code speaks of, on both engines."""

from __future__ import annotations

import io
import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pytest
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.operations import Operations
from alembic.script import ScriptDirectory
from sqlalchemy import create_engine

import wetfoot.book
from wetfoot.book.migrations.versions import r0001_records, r0002_stock, r0003_settled
from wetfoot.book.records import Book, Event, add, current, open_book
from wetfoot.book.stock_entries import Lot
from wetfoot.book.tables import HEAD, Base


def test_a_new_book_has_exactly_the_tables_of_the_code(book: Book) -> None:
    options = {"compare_type": True, "compare_server_default": True}
    with book.reading() as connection:
        assert compare_metadata(MigrationContext.configure(connection, opts=options), Base.metadata) == []


def test_the_newest_revision_is_the_one_the_code_expects() -> None:
    config = Config()
    config.set_main_option("script_location", str(Path(wetfoot.book.__path__[0]) / "migrations"))
    assert ScriptDirectory.from_config(config).get_heads() == [HEAD]


def test_constraints_are_named_as_the_code_names_them(book: Book) -> None:
    # compare_metadata does not look at CHECK constraints, nor at names of foreign keys on SQLite
    with book.reading() as connection:
        made = connection.exec_driver_sql("SELECT group_concat(sql) FROM sqlite_master").scalar()
    names = [str(each.name) for table in Base.metadata.tables.values() for each in table.constraints]
    assert len(names) > 20
    assert [name for name in names if f"CONSTRAINT {name} " not in str(made)] == []


@pytest.mark.parametrize("table", Base.metadata.tables)
def test_postgresql_would_refuse_changes_too(table: str) -> None:
    said = io.StringIO()
    options = {"as_sql": True, "output_buffer": said}
    with Operations.context(MigrationContext.configure(dialect_name="postgresql", opts=options)):
        r0001_records.upgrade()
        r0002_stock.upgrade()
        r0003_settled.upgrade()
    assert f"CREATE TABLE {table}" in said.getvalue()
    assert f"BEFORE UPDATE OR DELETE OR TRUNCATE ON {table} " in said.getvalue()


def at_revision(folder: Path, revision: str) -> Path:
    """Make a book with the migrations up to a revision."""
    config = Config()
    config.set_main_option("script_location", str(Path(wetfoot.book.__path__[0]) / "migrations"))
    engine = create_engine(f"sqlite:///{folder}/book.db")
    with engine.begin() as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, revision)
    engine.dispose()
    return folder / "book.db"


def test_an_old_book_keeps_all_it_has_and_takes_planting_stock(tmp_path: Path) -> None:
    path = at_revision(tmp_path, "0001")
    same = ("2026-05-01 12:00:00.000000", "UTC", "Ann", None, "2026-05-01 13:00:00.000000", None, None, 0, None)
    old = [
        ("one", *same, "pot_moved", "East", 3, None),
        ("two", *same[:-4], "typo", None, 0, "one", "leak", None, None, None),
    ]
    with closing(sqlite3.connect(path)) as raw, raw:
        assert raw.execute("SELECT count(*) FROM sqlite_master WHERE name = 'lots'").fetchone() == (0,)
        raw.executemany("INSERT INTO events VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)", old)
    with open_book(tmp_path) as book:
        (kept,) = current(book, Event)
        assert (kept.id, kept.kind, kept.supersedes, kept.reason) == ("two", "leak", "one", "typo")
        add(book, Lot(at=datetime(2026, 5, 2, tzinfo=UTC), zone="UTC", who="Ann", lot="A"))
        assert [lot.lot for lot in current(book, Lot)] == ["A"]
    with closing(sqlite3.connect(path)) as raw:
        assert raw.execute("SELECT * FROM events ORDER BY id").fetchall() == old
        assert raw.execute("SELECT version_num FROM alembic_version").fetchall() == [(HEAD,)]
        with pytest.raises(sqlite3.IntegrityError, match="never changed or deleted"):
            raw.execute("DELETE FROM events")
