"""Settle rows of files that were kept aside: mend what they say and record it, or drop them with a reason."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import Connection

from wetfoot.answers.readings import book_location, no_book_yet
from wetfoot.answers.recording import TURN, places_of
from wetfoot.book.checks import LONGEST_NAME
from wetfoot.book.entries import tidy
from wetfoot.book.exchange import by_column
from wetfoot.book.held import Held, Settled, count_open, open_row, open_rows, settle, settled_rows
from wetfoot.book.layout import columns_in
from wetfoot.book.opening import open_book
from wetfoot.book.records import insert_records
from wetfoot.book.rows import Reader
from wetfoot.book.sorting import marked, read_all, set_aside_clashing, set_aside_known
from wetfoot.errors import refuse
from wetfoot.plan.model import Plan


@dataclass(frozen=True)
class KeptAside:
    """The rows that wait to be settled, and those that were settled, the last first."""

    waiting: tuple[Held, ...]
    settled: tuple[tuple[Held, Settled], ...]


def kept_aside(plan: Plan, folder: Path) -> KeptAside:
    """Return the rows of files that could not be recorded, and what became of them."""
    with open_book(book_location(plan, folder)) as book:
        return KeptAside(tuple(open_rows(book)), tuple(settled_rows(book)))


def count_kept_aside(plan: Plan, folder: Path) -> int:
    """Return how many rows wait to be settled; none without a book."""
    if no_book_yet(plan, folder):
        return 0
    with open_book(book_location(plan, folder)) as book:
        return count_open(book)


def mend_row(plan: Plan, folder: Path, id: str, cells: Sequence[str], who: str, reason: str = "") -> str:
    """Record a row that was kept aside as it was mended, and return what is doubtful about it, mostly nothing.

    Args:
        plan: the plan.
        folder: the season's folder.
        id: of the row.
        cells: its cells, mended, under the headings that it has.
        who: who mends it.
        reason: why, if it does not show.

    Raises:
        WetfootError: if it is no row that waits, or still cannot be recorded; then it goes on waiting.
    """
    who, now = _who(who), datetime.now(UTC)
    with TURN, open_book(book_location(plan, folder)) as book, book.writing() as connection:
        row = open_row(connection, id)
        texts = [tidy(cell) for cell in cells]
        reader = Reader(plan.site.zone, places_of(plan), row.who, now)
        record_id, doubt = _recorded(connection, row, texts, reader)
        words = "; ".join(part for part in (_changes(row, texts), reason.strip()) if part)
        settle(connection, Settled(row.id, record_id, words or "recorded as it was", who, now))
    return doubt


def drop_row(plan: Plan, folder: Path, id: str, who: str, reason: str) -> None:
    """Say that a row that was kept aside will never be recorded; it stays in the book, with the reason.

    Raises:
        WetfootError: if it is no row that waits, or there is no reason.
    """
    who = _who(who)
    if not tidy(reason):
        raise refuse("reason", "a row is dropped only for a reason", "why it will not be recorded", "write it")
    with TURN, open_book(book_location(plan, folder)) as book, book.writing() as connection:
        row = open_row(connection, id)
        settle(connection, Settled(row.id, None, tidy(reason), who, datetime.now(UTC)))


def _recorded(connection: Connection, row: Held, cells: Sequence[str], reader: Reader) -> tuple[str | None, str]:
    """Record a row and return its record's id and doubt; of a row that the book has, the id it was given."""
    named = by_column(list(cells), list(row.headings), columns_in(list(row.headings), row.file))
    found = read_all({row.row: named}, reader)
    set_aside_known(connection, found)
    set_aside_clashing(connection, found)
    if found.held:
        raise refuse(f"row {row.row}", f"it still cannot be recorded: {found.held[0].reason}", "", "mend it or drop it")
    entries = marked(connection, found.entries, reader.now)
    insert_records(connection, [entry.record for entry in entries])
    if not entries:
        return found.there[0].id, ""
    return entries[0].record.id, entries[0].record.doubt or ""


def _changes(row: Held, cells: Sequence[str]) -> str:
    pairs = zip(row.headings, row.cells, cells, strict=False)
    return "; ".join(
        f"{heading}: {old or 'empty'} became {new or 'empty'}" for heading, old, new in pairs if old != new
    )


def _who(who: str) -> str:
    if not 1 <= len(tidy(who)) <= LONGEST_NAME:
        raise refuse("who", f"{who!r} is no name", f"1 to {LONGEST_NAME} letters", "name who settles it")
    return tidy(who)
