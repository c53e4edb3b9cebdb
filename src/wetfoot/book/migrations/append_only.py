"""Triggers by which the database itself refuses to change or delete what stands in a table."""

from __future__ import annotations

from collections.abc import Sequence

from alembic import op


def make_append_only(table: str, unique: Sequence[str] = ("id",)) -> None:
    """Refuse UPDATE and DELETE on a table from now on, whoever sends them.

    SQLite's INSERT OR REPLACE deletes without firing delete triggers, so there an insert that would replace a
    row is refused too. For PostgreSQL the same goes for TRUNCATE.

    Args:
        table: its name.
        unique: every column that is unique in it.
    """
    dialect = op.get_context().dialect.name
    statements = {"sqlite": _sqlite, "postgresql": _postgresql}[dialect](table, unique)
    for statement in statements:
        op.execute(statement)


def _sqlite(table: str, unique: Sequence[str]) -> list[str]:
    refusal = f"SELECT RAISE(ABORT, 'rows of {table} are never changed or deleted: write a correction')"
    clash = " OR ".join(f"{column} = NEW.{column}" for column in ("rowid", *unique))
    return [
        f"CREATE TRIGGER {table}_no_update BEFORE UPDATE ON {table} BEGIN {refusal}; END",
        f"CREATE TRIGGER {table}_no_delete BEFORE DELETE ON {table} BEGIN {refusal}; END",
        f"CREATE TRIGGER {table}_no_replace BEFORE INSERT ON {table} "
        f"WHEN EXISTS (SELECT 1 FROM {table} WHERE {clash}) BEGIN {refusal}; END",
    ]


def _postgresql(table: str, unique: Sequence[str]) -> list[str]:
    return [
        # without a per cent sign, which drivers take for a parameter
        "CREATE OR REPLACE FUNCTION wetfoot_append_only() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN RAISE EXCEPTION "
        "USING MESSAGE = 'rows of ' || TG_TABLE_NAME || ' are never changed or deleted: write a correction'; END $$",
        f"CREATE TRIGGER {table}_append_only BEFORE UPDATE OR DELETE OR TRUNCATE ON {table} "
        "FOR EACH STATEMENT EXECUTE FUNCTION wetfoot_append_only()",
    ]
