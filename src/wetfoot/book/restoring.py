"""Put a backup in the place of a book; the book that it replaces is kept aside."""

from __future__ import annotations

import os
import shutil
import sqlite3
import tempfile
from contextlib import closing
from dataclasses import dataclass, replace
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
from wetfoot.book.contents import Contents, contents_of, copy_rows, row_digests
from wetfoot.book.opening import FILE_NAME, open_book
from wetfoot.book.tables import Base
from wetfoot.errors import WetfootError, refuse

_WAIT_S = 2.0
_A_BACKUP = "a file that 'wetfoot book backup' made"


@dataclass(frozen=True)
class Restored:
    """A book that was put back.

    Attributes:
        book: its file or address.
        contents: what it holds now.
        kept_aside: the file that stood there before, or None.
        missing: how many rows of that file the restored book does not have; None if it could not be read.
        compared: whether the backup's own sum was there to compare it with.
    """

    book: str
    contents: Contents
    kept_aside: Path | None
    missing: int | None
    compared: bool


def restore(location: str | Path, source: Path, force: bool = False, now: datetime | None = None) -> Restored:
    """Put a backup in the place of a book; what stood there is kept aside under another name.

    Args:
        location: as in `open_book`; on a database server the book must be empty.
        source: the backup.
        force: also if the book there has rows that the backup lacks.
        now: the present instant; by default the clock's.

    Raises:
        WetfootError: if the backup is no book, damaged, or of a newer version; if the book has rows that would
            be missing (without ``force``); if another program has the book open.
    """
    compared = _compare_sum(source)
    if isinstance(location, str) and not location.startswith("sqlite"):
        with tempfile.TemporaryDirectory(prefix="wetfoot-") as folder:
            copied = Path(folder) / FILE_NAME
            _readable_copy(source, copied)
            with open_book(copied) as old, open_book(location) as new:
                return Restored(new.where, copy_rows(old, new), None, 0, compared)
    path = sqlite_path(location)
    with disk_errors(path), part_of(path) as part:
        held = _readable_copy(source, part)
        missing = _missing(path, part) if path.is_file() else 0
        if missing and not force:
            what = f"the book has {missing:,} rows that the backup {source.name} does not have"
            raise refuse(str(path), what, "a backup that has them all", "use --force; the book is kept aside")
        aside = _keep_aside(path, now or datetime.now(UTC)) if path.is_file() else None
        part.replace(path)
        sync_folder(path.parent)
    return Restored(str(path), held, aside, missing, compared)


def _readable_copy(source: Path, part: Path) -> Contents:
    """Copy a backup (it stays untouched), bring the copy to the newest tables, and return what it holds."""
    try:
        with source.open("rb") as file:
            if file.read(16) != b"SQLite format 3\x00":
                raise refuse(str(source), "this file is not a book", _A_BACKUP, "choose another file")
        address = f"{source.resolve().as_uri()}?mode=ro"
        with closing(sqlite3.connect(address, uri=True)) as old, closing(sqlite3.connect(part)) as new:
            old.backup(new)
        check_whole(part)
        with open_book(part) as book:
            held = contents_of(book)
        close_file(part)
    except WetfootError as error:
        raise WetfootError(replace(each, where=str(source)) for each in error.problems) from error
    except (OSError, sqlite3.Error) as error:
        said = getattr(error, "strerror", None) or error
        raise refuse(str(source), f"the backup cannot be read ({said})", _A_BACKUP, "try an older one") from error
    return held


def _missing(path: Path, part: Path) -> int | None:
    """Return how many rows of a book a backup does not have; None if the book is too damaged to tell."""
    try:
        with open_book(path) as old, open_book(part) as new, old.reading() as there, new.reading() as here:
            lacking = (
                set(row_digests(there, table)) - set(row_digests(here, table)) for table in Base.metadata.sorted_tables
            )
            return sum(len(rows) for rows in lacking)
    except WetfootError:
        return None
    finally:
        close_file(part)


def _keep_aside(path: Path, now: datetime) -> Path:
    """Copy a book with what SQLite keeps beside it; the name itself stays until the new book takes it."""
    whole = _shut(path)
    aside = path.with_name(f"{path.stem}-replaced-{now.astimezone(UTC):%Y%m%dT%H%M%S%fZ}{path.suffix}")
    for ending in ("-wal", "-shm", ""):
        beside = Path(str(path) + ending)
        if beside.is_file():
            shutil.copy2(beside, str(aside) + ending)
    if not whole:
        # a log left behind would be played into the new book
        for ending in ("-wal", "-shm", "-journal"):
            Path(str(path) + ending).unlink(missing_ok=True)
    return aside


def _shut(path: Path) -> bool:
    """Make one file of a book, which succeeds only if nobody has it open; return False if it is damaged."""
    try:
        with closing(sqlite3.connect(path, timeout=_WAIT_S)) as connection:
            connection.execute("PRAGMA journal_mode = DELETE")
    except sqlite3.OperationalError as error:
        if "locked" not in str(error):
            return False
        fix = "stop 'wetfoot serve' and every other program that uses it"
        raise refuse(str(path), "another program has this book open", "a book that nobody uses", fix) from error
    except sqlite3.DatabaseError:
        return False
    return True


def _compare_sum(source: Path) -> bool:
    """Compare a backup with the sum beside it; return False if there is none."""
    if not os.path.isfile(source):  # noqa: PTH113 (unlike Path.is_file it takes names that no file can have)
        raise refuse(str(source), "there is no such file", _A_BACKUP, "check its name")
    beside = source.with_name(source.name + SUM_SUFFIX)
    if not beside.is_file():
        return False
    wanted = beside.read_text("utf-8", "replace").split(maxsplit=1)[:1]
    if wanted != [sum_of(source)]:
        what = "this file is not the one that was written (its SHA-256 is another)"
        raise refuse(str(source), what, f"the sum in {beside.name}", "use an older backup; it was changed or damaged")
    return True
