"""Whether a season's folder is sound: its book, backups, leftovers and room on the disk, each with the way back."""

from __future__ import annotations

import shutil
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from wetfoot.answers.readings import book_location
from wetfoot.book.backup import FOLDER as BACKUPS
from wetfoot.book.book_files import SUM_SUFFIX, sum_of
from wetfoot.book.health import BookHealth, book_health
from wetfoot.errors import Problem, WetfootError
from wetfoot.plan.model import Plan

BACKUP_DAYS = 7
LEAST_FREE_BYTES = 500_000_000
LEFT_OVER_HOURS = 1.0
PHOTOS = "photos"
_JPEG_BEGINS, _JPEG_ENDS = b"\xff\xd8", b"\xff\xd9"  # SOI and EOI markers, ITU-T T.81, table B.1
_DAY_S, _HOUR_S = 86_400.0, 3_600.0


@dataclass(frozen=True)
class Health:
    """How a folder is.

    Attributes:
        sound: what was looked at and found in order, in words.
        problems: what is damaged, with the way back.
        warnings: what is not damage but should be seen to.
    """

    sound: tuple[str, ...]
    problems: tuple[Problem, ...]
    warnings: tuple[str, ...]


def folder_health(plan: Plan, folder: Path, now_s: float | None = None) -> Health:
    """Return how the book and the folder of a season are; nothing in them is changed.

    Args:
        plan: of the season, which names the book.
        folder: the season's folder.
        now_s: the present instant in seconds since 1970; by default the clock's.
    """
    now = time.time() if now_s is None else now_s
    try:
        book = book_health(book_location(plan, folder))
    except WetfootError as refused:
        return Health((), tuple(refused.problems), tuple(_folder_warnings(folder, True, now)))
    problems = book.problems if book else ()
    warnings = (*(book.notes if book else ()), *_folder_warnings(folder, bool(book and book.rows), now))
    return Health((_sound(book),) if not problems else (), problems, warnings)


def _sound(book: BookHealth | None) -> str:
    if book is None:
        return "Book: none yet; it is made with the first record."
    return f"Book: whole; {book.rows} rows, tables of version {book.revision}."


def _folder_warnings(folder: Path, has_records: bool, now_s: float) -> Iterator[str]:
    if has_records:
        yield from _backup_warnings(folder, now_s)
    yield from _left_over(folder, now_s)
    yield from _broken_photos(folder)
    free = shutil.disk_usage(folder).free
    if free < LEAST_FREE_BYTES:
        yield f"Only {free // 1_000_000} MB are free on the disk of the season's folder: make room before it is full."


def _backup_warnings(folder: Path, now_s: float) -> Iterator[str]:
    found = sorted((folder / BACKUPS).glob("*.db"), key=lambda path: path.stat().st_mtime)
    if not found:
        yield "The book has records and no backup in the folder 'backups': make one with 'wetfoot book backup'."
        return
    newest = found[-1]
    days = (now_s - newest.stat().st_mtime) / _DAY_S
    if days > BACKUP_DAYS:
        yield f"The last backup, {newest.name}, is {days:.0f} days old: make one with 'wetfoot book backup'."
    beside = newest.with_name(newest.name + SUM_SUFFIX)
    if not beside.is_file():
        yield f"The last backup, {newest.name}, has no {SUM_SUFFIX} file beside it: nothing tells whether it is whole."
    elif beside.read_text("utf-8", "replace").split(maxsplit=1)[:1] != [sum_of(newest)]:
        yield f"The last backup, {newest.name}, is not the file that was written: make a new one, and keep the older."


def _left_over(folder: Path, now_s: float) -> Iterator[str]:
    """Yield what was cut short: a write that is under way now is younger."""
    parts = [path for path in folder.rglob("*.part") if now_s - path.stat().st_mtime > LEFT_OVER_HOURS * _HOUR_S]
    if parts:
        names = ", ".join(str(path.relative_to(folder)) for path in sorted(parts)[:3])
        more = f" and {len(parts) - 3} more" if len(parts) > 3 else ""
        yield f"Left over from work that was cut short: {names}{more}. They may be deleted."


def _broken_photos(folder: Path) -> Iterator[str]:
    broken = [path.name for path in sorted((folder / PHOTOS).glob("*.jpg")) if not _is_whole(path)]
    if broken:
        yield f"{len(broken)} photos are cut off or no pictures, first {broken[0]}: take them from a copy."


def _is_whole(path: Path) -> bool:
    raw = path.read_bytes()
    return raw.startswith(_JPEG_BEGINS) and raw.endswith(_JPEG_ENDS)
