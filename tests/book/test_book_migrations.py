"""The migrations make exactly the tables that the code speaks of, on both engines."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.operations import Operations
from alembic.script import ScriptDirectory

import wetfoot.book
from wetfoot.book.migrations.versions import r0001_records
from wetfoot.book.records import Book
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


@pytest.mark.parametrize("table", ["visits", "readings", "top_ups", "events", "held_rows"])
def test_postgresql_would_refuse_changes_too(table: str) -> None:
    said = io.StringIO()
    options = {"as_sql": True, "output_buffer": said}
    with Operations.context(MigrationContext.configure(dialect_name="postgresql", opts=options)):
        r0001_records.upgrade()
    assert f"CREATE TABLE {table}" in said.getvalue()
    assert f"BEFORE UPDATE OR DELETE OR TRUNCATE ON {table} " in said.getvalue()
