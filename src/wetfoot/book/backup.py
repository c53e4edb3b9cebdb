"""Keep a verified copy of a book while it is in use; copy a book to another engine."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from wetfoot.book.book_files import (
    SUM_SUFFIX,
    check_whole,
    close_file,
    disk_errors,
    part_of,
    sqlite_path,
    sum_of,
    sync_folder,
)
from wetfoot.book.contents import Contents, contents, contents_of, copy_rows
from wetfoot.book.opening import Book, open_book
from wetfoot.errors import refuse

FOLDER = "backups"


@dataclass(frozen=True)
class Backup:
    """A copy that was compared with its book: the file, what it holds, and the SHA-256 of the file."""

    file: Path
    contents: Contents
    sha256: str


def back_up(location: str | Path, target: Path, now: datetime | None = None) -> Backup:
    """Copy a book, in use or not, into one file, and compare the copy with what the book held at that moment.

    Beside it goes its SHA-256 in the form that ``sha256sum --check`` reads. A book on a database server is
    copied row by row. The file has its name only once it is complete: what ends in ``.part`` was cut short.

    Args:
        location: as in `open_book`.
        target: a folder, where the file is named after the time, or the name of a new ``.db`` file.
        now: the present instant; by default the clock's.

    Raises:
        WetfootError: if the book is damaged, the file is there already, or it cannot be written.
    """
    file = _new_file(target, now or datetime.now(UTC))
    with disk_errors(file), part_of(file) as part, _existing(location) as book:
        held = _copy_file(book, part) if book.engine.dialect.name == "sqlite" else _copy_server(book, part)
        check_whole(part)
        sum_ = sum_of(part)
        _write_sum(file, sum_)
        os.link(part, file)  # unlike a rename, this fails if another program took the name meanwhile
        sync_folder(file.parent)
    return Backup(file, held, sum_)


def copy_book(location: str | Path, target: str | Path) -> Contents:
    """Copy a book to another place or engine (a file, a PostgreSQL server and back), and compare both.

    Args:
        location: the book, as in `open_book`; it stays as it is.
        target: where the new book goes, as in `open_book`.

    Raises:
        WetfootError: if there are records at the target, or it does not hold the same afterwards.
    """
    with _existing(location) as old, open_book(target) as new:
        return copy_rows(old, new)


def _existing(location: str | Path) -> Book:
    """Open a book that is there: a wrong name must not make an empty one."""
    if isinstance(location, Path) or "://" not in location:
        path = sqlite_path(location)
        if not path.is_file():
            raise refuse(str(path), "there is no book here yet", "a season that has records", "check the folder")
    return open_book(location)


def _new_file(target: Path, now: datetime) -> Path:
    if target.suffix != ".db":
        target = target / f"book-{now.astimezone(UTC):%Y%m%dT%H%M%SZ}.db"
    if target.exists():
        raise refuse(str(target), "there is such a file already", "a new name", "a backup is never overwritten")
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise refuse(str(target.parent), f"no folder can be made ({error.strerror})", "a folder", "check it") from error
    return target


def _copy_file(book: Book, part: Path) -> Contents:
    """Copy within the transaction that counts: a writer meanwhile is in neither, whatever it commits."""
    with book.reading() as connection:
        held = contents(connection)
        raw = connection.connection.driver_connection
        assert isinstance(raw, sqlite3.Connection)
        with closing(sqlite3.connect(part)) as copy:
            raw.backup(copy)
            copy.execute("PRAGMA journal_mode = DELETE")  # one file, with nothing beside it
    with open_book(part) as copied:
        found = contents_of(copied)
    close_file(part)
    if found != held:
        raise refuse(str(part), "the copy does not hold what the book holds", "equal counts and sums", "try it again")
    return held


def _copy_server(book: Book, part: Path) -> Contents:
    with open_book(part) as copied:
        held = copy_rows(book, copied)
    close_file(part)
    return held


def _write_sum(file: Path, sum_: str) -> None:
    file.with_name(file.name + SUM_SUFFIX).write_text(f"{sum_}  {file.name}\n", "utf-8")
