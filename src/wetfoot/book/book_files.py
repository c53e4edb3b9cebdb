"""What keeping and putting back a book have in common: files that are whole or not there, checked, on the disk."""

from __future__ import annotations

import hashlib
import os
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from wetfoot.book.opening import FILE_NAME
from wetfoot.errors import refuse

SUM_SUFFIX = ".sha256"


def sqlite_path(location: str | Path) -> Path:
    """Return the file of a book that is none on a server."""
    path = Path(str(location).removeprefix("sqlite:///"))
    return path if path.is_file() or path.suffix == ".db" else path / FILE_NAME


@contextmanager
def part_of(file: Path) -> Iterator[Path]:
    """Give a name beside a file to write to, that no other program uses; nothing of it is left."""
    handle, name = tempfile.mkstemp(prefix=file.name + ".", suffix=".part", dir=file.parent)
    os.close(handle)
    try:
        yield Path(name)
    finally:
        for ending in ("", "-wal", "-shm", "-journal"):
            Path(name + ending).unlink(missing_ok=True)


@contextmanager
def disk_errors(file: Path) -> Iterator[None]:
    """Turn what the disk or SQLite refuses into words."""
    try:
        yield
    except (OSError, sqlite3.Error) as error:
        said = getattr(error, "strerror", None) or error
        what = f"the copy could not be made ({said}); what was there is as it was"
        raise refuse(str(file), what, "a disk with room, a book not damaged", "see what it says") from error


def close_file(part: Path) -> None:
    """Fold what SQLite keeps beside a file into it (opening a book sets write-ahead logging) and force it to disk."""
    with closing(sqlite3.connect(part)) as connection:
        connection.execute("PRAGMA journal_mode = DELETE")
    with part.open("rb+") as file:
        os.fsync(file.fileno())


def check_whole(path: Path) -> None:
    """Refuse a file of which SQLite itself says that it is not whole."""
    try:
        with closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)) as connection:
            said = [str(row[0]) for row in connection.execute("PRAGMA integrity_check(5)")]
            said += [f"{row[0]} points to a missing row" for row in connection.execute("PRAGMA foreign_key_check")][:5]
    except sqlite3.DatabaseError as error:
        said = [str(error)]
    if said != ["ok"]:
        text = "; ".join(line for line in said if line != "ok").replace("\n", " ")
        fix = "restore an older backup; keep this file"
        raise refuse(str(path), f"the book is damaged ({text[:300]})", "an undamaged book", fix)


def sum_of(path: Path) -> str:
    """Return the SHA-256 of a file, in hex."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def sync_folder(folder: Path) -> None:
    """Force a new name to disk; where a folder cannot be opened (Windows) the system sees to it."""
    if os.name == "posix":
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
