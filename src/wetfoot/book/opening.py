"""Open a book: the file in a season's folder, or a database server, brought to the newest tables."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event, inspect, text
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError, DBAPIError

from wetfoot.book.tables import HEAD
from wetfoot.errors import WetfootError, refuse

FILE_NAME = "book.db"
BUSY_SECONDS = 10
_ONE_AT_A_TIME = 0x776574666F6F74  # any number that no other program of the same database locks
_MAGIC = b"SQLite format 3\x00"  # the first 16 bytes of every SQLite 3 file, SQLite file format, section 1.3
_A_BOOK = "a season's folder, a book.db in it, or a postgresql:// address"


@dataclass(frozen=True)
class Book:
    """An open book; `with open_book(...) as book:` closes it again.

    Attributes:
        engine: reaches the database.
        where: its file or address, as messages name it (without a password).
    """

    engine: Engine
    where: str

    def __enter__(self) -> Book:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the database."""
        self.engine.dispose()

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Give a connection on which all that is read belongs to one moment."""
        # SQLite's transactions always see one moment; PostgreSQL must be asked to
        one_moment = {} if self.engine.dialect.name == "sqlite" else {"isolation_level": "REPEATABLE READ"}
        engine = self.engine.execution_options(**one_moment)
        with _plain_errors(self.where), engine.begin() as connection:
            yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """Give a connection that alone may write; all or nothing of it is kept."""
        engine = self.engine.execution_options(writing=True)
        with _plain_errors(self.where), engine.begin() as connection:
            yield connection


def open_book(location: str | Path) -> Book:
    """Return the book at a place, made if it is not there yet, with its tables at the newest version.

    Args:
        location: a season's folder (its book is ``book.db``), a ``.db`` file, or a database URL.

    Raises:
        WetfootError: if there is no such folder or server, the file is no book, or a newer Wetfoot wrote it.
    """
    book = looked_at(location)
    try:
        _bring_up_to_date(book)
    except BaseException:
        book.close()
        raise
    return book


def looked_at(location: str | Path) -> Book:
    """Return the book at a place with its tables as they stand, whatever their version; for looking at it alone.

    Args:
        location: as in `open_book`.

    Raises:
        WetfootError: if there is no such folder, or the file is no book.
    """
    url = _url(location)
    where = url.render_as_string(hide_password=True)
    if url.get_backend_name() == "sqlite":
        path = Path(url.database or "")
        where = str(path)
        _check_file(path)
    return Book(_engine(url, where), where)


def _url(location: str | Path) -> URL:
    if "\0" in str(location):
        raise refuse("book", f"{str(location)!r} is no name of a file", _A_BOOK, "correct it")
    if isinstance(location, Path) or "://" not in location:
        try:
            return URL.create("sqlite", database=str(_file_in(Path(location))))
        except OSError as error:
            raise refuse("book", f"there can be no such file ({error.strerror})", _A_BOOK, "correct it") from error
    try:
        url = make_url(location)
    except ArgumentError as error:
        raise refuse("book", "the address of the book cannot be read", _A_BOOK, "correct it") from error
    backend = url.get_backend_name()
    if backend in ("postgres", "postgresql"):
        return url.set(drivername="postgresql+psycopg")
    if backend != "sqlite":
        raise refuse("book", f"a book cannot be kept in {backend}", _A_BOOK, "choose one of these")
    if url.database in (None, "", ":memory:"):
        raise refuse("book", "a book in memory would be lost", _A_BOOK, "name a file")
    return url.set(drivername="sqlite")


def _file_in(path: Path) -> Path:
    return path if path.is_file() or path.suffix == ".db" else path / FILE_NAME


def _check_file(path: Path) -> None:
    """Refuse, before anything can be written to it, a file that is not a book."""
    try:
        if not path.parent.is_dir():
            raise refuse(str(path.parent), "there is no such folder", "a season's folder", "make it first")
        if not path.exists() or (path.is_file() and path.stat().st_size == 0):
            return
        with path.open("rb") as file:
            magic = file.read(len(_MAGIC))
    except (OSError, ValueError) as error:
        raise refuse(str(path), f"the book cannot be opened ({error})", _A_BOOK, "check the file") from error
    if magic != _MAGIC:
        raise refuse(str(path), "this file is not a book (not a database at all)", _A_BOOK, "move it away")
    try:
        # read without changing a setting: another program's database must stay as it is
        with closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=rw", uri=True)) as connection:
            found = {name for (name,) in connection.execute("SELECT name FROM sqlite_master")}
    except sqlite3.Error as error:
        raise _damaged(str(path), error) from error
    if found and "alembic_version" not in found:
        raise refuse(str(path), "this database is not a book", _A_BOOK, "choose another file")


def _damaged(where: str, error: BaseException) -> WetfootError:
    what = f"the book cannot be read ({error})"
    return refuse(where, what, "an undamaged book", "restore the last backup beside it, and keep this file")


def _engine(url: URL, where: str) -> Engine:
    if url.get_backend_name() == "sqlite":
        engine = create_engine(url, connect_args={"timeout": BUSY_SECONDS})
        event.listen(engine, "connect", _set_up_sqlite)
        event.listen(engine, "begin", _begin_sqlite)
        return engine
    try:
        return create_engine(url, pool_pre_ping=True)
    except ImportError as error:
        what = f"the driver for this database is not installed ({error})"
        raise refuse(where, what, _A_BOOK, "install psycopg") from error


def _set_up_sqlite(connection: Any, _: object) -> None:
    connection.isolation_level = None  # transactions are begun by _begin_sqlite, not guessed by the driver
    for pragma in ("foreign_keys = ON", "journal_mode = WAL", "synchronous = FULL"):
        connection.execute(f"PRAGMA {pragma}")


def _begin_sqlite(connection: Connection) -> None:
    """Begin; a writer takes its turn at once, since one that first reads could not be made to wait later."""
    writing = connection.get_execution_options().get("writing", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")


@contextmanager
def _plain_errors(where: str) -> Iterator[None]:
    """Turn what the database says into words for people."""
    try:
        yield
    except DBAPIError as error:
        said = str(error.orig).strip()
        if "locked" in said:
            what = f"another program has been writing for more than {BUSY_SECONDS} s"
            raise refuse(where, what, "one writer at a time", "close it and try again") from error
        if "malformed" in said or "not a database" in said:
            raise _damaged(where, error.orig or error) from error
        raise refuse(where, f"the database refused ({said})", "", "see what it says, try again") from error


def _bring_up_to_date(book: Book) -> None:
    with book.reading() as connection:
        found = revision_of(connection)
    if found == HEAD:
        return
    # Alembic takes a fifth of a second to load: only a book that is new or old pays for it.
    from alembic import command
    from alembic.config import Config
    from alembic.script import ScriptDirectory

    config = Config()
    folder = str(Path(__file__).parent / "migrations")
    config.set_main_option("script_location", folder.replace("%", "%%"))
    known = {script.revision for script in ScriptDirectory.from_config(config).walk_revisions()}
    if found is not None and found not in known:
        what = f"a newer version of Wetfoot wrote this book (its tables are at {found!r})"
        raise refuse(book.where, what, f"tables up to {HEAD!r}", "update Wetfoot; the book was left as it is")
    with book.writing() as connection:
        if connection.dialect.name == "postgresql":  # as BEGIN IMMEDIATE does on SQLite: one program at a time
            connection.execute(text(f"SELECT pg_advisory_xact_lock({_ONE_AT_A_TIME})"))
        config.attributes["connection"] = connection
        command.upgrade(config, HEAD)


def revision_of(connection: Connection) -> str | None:
    """Return the revision of a book's tables, None if it has none yet."""
    if not inspect(connection).has_table("alembic_version"):
        return None
    revision: str | None = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
    return revision
