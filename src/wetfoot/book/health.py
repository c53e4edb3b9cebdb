"""Whether a book is whole: what SQLite itself finds, its tables' version, its corrections. Nothing is changed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

from sqlalchemy import Connection, Table, func, select

from wetfoot.book.book_files import check_whole, sqlite_path
from wetfoot.book.opening import looked_at, revision_of
from wetfoot.book.tables import HEAD, Base
from wetfoot.errors import Problem

_WAY_BACK = "put the last backup back with 'wetfoot book restore'; the book that is there is kept aside"


@dataclass(frozen=True)
class BookHealth:
    """What was found: the rows of all tables, the version of the tables, and what is wrong or will change."""

    where: str
    rows: int
    revision: str | None
    problems: tuple[Problem, ...]
    notes: tuple[str, ...]


def book_health(location: str | Path) -> BookHealth | None:
    """Return how a book is, without bringing it up to date; None if there is no book yet.

    Args:
        location: as in `wetfoot.book.opening.open_book`.

    Raises:
        WetfootError: if it cannot be read at all: damaged, no book, no such server.
    """
    if isinstance(location, Path) or "://" not in location or location.startswith("sqlite"):
        path = sqlite_path(location)
        if not path.is_file():
            return None
        # first, as a damaged book may be told as another kind of fault by what reads its rows
        with looked_at(location):
            check_whole(path)
    with looked_at(location) as book, book.reading() as connection:
        revision = revision_of(connection)
        if revision != HEAD:
            return BookHealth(book.where, 0, revision, *_other_version(book.where, revision))
        rows = sum(connection.execute(select(func.count()).select_from(each)).scalar_one() for each in _tables())
        return BookHealth(book.where, rows, revision, tuple(_broken_chains(connection)), ())


def _tables() -> list[Table]:
    return list(Base.metadata.sorted_tables)


def _other_version(where: str, revision: str | None) -> tuple[tuple[Problem, ...], tuple[str, ...]]:
    if revision is None or revision < HEAD:
        note = f"The book's tables are of an earlier version ({revision or 'none'}, now {HEAD}). The next command that "
        return (), (note + "opens it brings them up to date; make a backup of the file first.",)
    what = f"a newer version of Wetfoot wrote this book (its tables are at {revision!r})"
    return (Problem(where, what, f"tables up to {HEAD!r}", "update Wetfoot; the book was left as it is"),), ()


def _broken_chains(connection: Connection) -> Iterator[Problem]:
    """Yield each table whose corrections do not lead back to a row that was written first."""
    for table in _tables():
        if "supersedes" not in table.c:
            continue
        ids = set(connection.execute(select(table.c.id)).scalars())
        chain = select(table.c.id, table.c.supersedes).where(table.c.supersedes.is_not(None))
        older = {row.id: row.supersedes for row in connection.execute(chain)}
        lost = sorted(id for id, before in older.items() if before not in ids)
        if lost:
            what = f"{len(lost)} corrections in {table.name} correct a row that is not there, first {lost[0]}"
            yield Problem("book", what, "corrections of rows that are there", _WAY_BACK)
        try:
            TopologicalSorter({id: (before,) for id, before in older.items()}).prepare()
        except CycleError as error:
            what = f"corrections in {table.name} go round in a circle ({', '.join(error.args[1][:4])})"
            yield Problem("book", what, "corrections that end at a first row", _WAY_BACK)
