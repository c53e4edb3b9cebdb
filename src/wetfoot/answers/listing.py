"""The records as a page lists them, the newest first, found by the words that they hold."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from wetfoot.answers.readings import book_location
from wetfoot.book.clashes import records_by_id, successors
from wetfoot.book.entries import Record
from wetfoot.book.layout import COLUMNS, rows_of
from wetfoot.book.looking import EVERYTHING, Among, count_records, newest
from wetfoot.book.opening import Book, open_book
from wetfoot.book.records import every
from wetfoot.plan.model import Plan


@dataclass(frozen=True)
class Entry:
    """A record as a page lists it: its cells by column, and whether it was corrected or withdrawn since."""

    id: str
    cells: Mapping[str, str]
    over: bool


@dataclass(frozen=True)
class Page:
    """Some of the records: ``entries`` has one for each part of a top-up, ``count`` is of all that were found."""

    entries: tuple[Entry, ...]
    count: int
    number: int
    pages: int


@dataclass(frozen=True)
class Text:
    """All that a record says, in small letters, to be searched."""

    id: str
    over: bool
    words: str


def entries(plan: Plan, folder: Path) -> list[Entry]:
    """Return all records of the season's book, the newest first, one for each part of a top-up."""
    with open_book(book_location(plan, folder)) as book:
        records = every(book)
    superseded = {record.supersedes: record.id for record in records if record.supersedes}
    return _listed(reversed(records), superseded)


def texts(plan: Plan, folder: Path) -> list[Text]:
    """Return what there is to be searched in the season's book, the newest record first."""
    found: dict[str, Text] = {}
    for entry in entries(plan, folder):
        before = found[entry.id].words if entry.id in found else ""
        found[entry.id] = Text(entry.id, entry.over, f"{before} {' '.join(entry.cells.values()).casefold()}")
    return list(found.values())


def records_page(
    plan: Plan, folder: Path, number: int, size: int, superseded: bool = False, among: Among = EVERYTHING
) -> Page:
    """Return a page of the season's records, reading no others.

    Args:
        plan: the plan.
        folder: the season's folder.
        number: of the page, from 1; the last page for one beyond.
        size: records a page.
        superseded: whether to list those too that were corrected or withdrawn.
        among: which records, as `wetfoot.book.looking.stock_among` gives them; all if not given.
    """
    with open_book(book_location(plan, folder)) as book:
        count = count_records(book, superseded, among)
        pages = max(1, -(-count // size))
        number = min(max(number, 1), pages)
        found = newest(book, size, (number - 1) * size, superseded, among)
        return Page(tuple(_listed(found, _successors(book, found) if superseded else {})), count, number, pages)


def found_page(
    plan: Plan, folder: Path, find: str, among: Sequence[Text], number: int, size: int, superseded: bool = False
) -> Page:
    """Return a page of the records that hold all words of ``find``, as `records_page`; ``among`` is from `texts`."""
    for word in find.casefold().split():
        among = [text for text in among if word in text.words]
    ids = [text.id for text in among if superseded or not text.over]
    pages = max(1, -(-len(ids) // size))
    number = min(max(number, 1), pages)
    with open_book(book_location(plan, folder)) as book:
        chosen = ids[(number - 1) * size : number * size]
        with book.reading() as connection:
            by_id = records_by_id(connection, chosen)
        found = [by_id[id] for id in chosen]
        return Page(tuple(_listed(found, _successors(book, found))), len(ids), number, pages)


def _successors(book: Book, records: Sequence[Record]) -> dict[str, str]:
    with book.reading() as connection:
        return {id: record.id for id, record in successors(connection, [each.id for each in records]).items()}


def _listed(records: Iterable[Record], superseded: Mapping[str, str]) -> list[Entry]:
    listed = []
    for record in records:
        over = record.id in superseded or record.withdrawn
        for row in rows_of(record, superseded):
            cells = {column: str(cell) for column, cell in zip(COLUMNS, row, strict=True) if cell not in (None, "")}
            listed.append(Entry(record.id, cells, over))
    return listed
