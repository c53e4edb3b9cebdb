"""Books of earlier revisions, made with the migrations, kept as SQL text, laid on either engine; records invented."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from alembic import command
from alembic.config import Config
from sqlalchemy import Connection, MetaData, create_engine, insert, select
from sqlalchemy.engine import make_url

import wetfoot.book

KEPT = Path(__file__).parent.parent / "book" / "earlier"
REVISIONS = tuple(sorted(path.stem.removeprefix("at_") for path in KEPT.glob("at_*.sql")))


def lay(revision: str, location: str | Path, scratch: Path) -> None:
    """Lay the book of an earlier revision into a folder, or into an empty database on a server."""
    if isinstance(location, Path):
        _from_text(revision, location / "book.db")
        return
    file = scratch / f"{revision}.db"
    _from_text(revision, file)
    old, new = (
        create_engine(f"sqlite:///{file}"),
        create_engine(make_url(location).set(drivername="postgresql+psycopg")),
    )
    with old.connect() as here, new.begin() as there:
        _migrate(there, revision)
        _copy(here, there)
    old.dispose()
    new.dispose()


def _from_text(revision: str, file: Path) -> None:
    with closing(sqlite3.connect(file)) as connection:
        connection.executescript((KEPT / f"at_{revision}.sql").read_text("utf-8"))


def _migrate(connection: Connection, revision: str) -> None:
    config = Config()
    config.set_main_option("script_location", str(Path(wetfoot.book.__path__[0]) / "migrations"))
    config.attributes["connection"] = connection
    command.upgrade(config, revision)


def _copy(here: Connection, there: Connection) -> None:
    old, new = MetaData(), MetaData()
    old.reflect(here)
    new.reflect(there)
    for table in new.sorted_tables:
        rows = [{name: _with_zone(value) for name, value in row.items()}
                for row in here.execute(select(old.tables[table.name])).mappings()]  # fmt: skip
        if table.name != "alembic_version" and rows:
            there.execute(insert(table), rows)


def _with_zone(value: Any) -> Any:
    return value.replace(tzinfo=UTC) if isinstance(value, datetime) else value
