"""Books of every earlier version are read for ever, on both engines, also if bringing them up to date is killed."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest
from earlier_books import REVISIONS, lay
from killing import bring_up_to_date, reading, started
from sqlalchemy import inspect, text

from wetfoot.book.contents import contents_of
from wetfoot.book.entries import Event, Reading, TopUp, Visit
from wetfoot.book.opening import Book
from wetfoot.book.records import add, current, history, open_book
from wetfoot.book.stock_entries import Lot
from wetfoot.book.tables import HEAD

# By hand from tests/book/earlier/*.sql: made once with the migrations up to that revision, and never made anew
AT, WRITTEN = datetime(2026, 5, 1, 18, tzinfo=UTC), datetime(2026, 5, 1, 18, 5, 0, 250_000, tzinfo=UTC)


def says_what_was_written(book: Book, revision: str) -> None:
    """Compare each value of a book with what stands in its kept text."""
    (visit,) = current(book, Visit)
    assert (visit.id, visit.at, visit.written_at) == ("visit-1", AT, WRITTEN)
    assert (visit.zone, visit.who, visit.note) == ("Pacific/Honolulu", "Ann (invented)", "mưa lớn, 雨; it's dry")
    (ec,) = current(book, Reading)
    assert (ec.id, ec.kind, ec.value, ec.place, ec.typed) == ("reading-2", "ec", 1.6, "East", "1.6 mS/cm")
    assert (ec.temperature_c, ec.compensated, ec.visit_id) == (27.5, True, "visit-1")
    assert [(each.id, each.reason) for each in history(book, "reading-2")] == [
        ("reading-1", None), ("reading-2", "decimal point"),
    ]  # fmt: skip
    taken_back = history(book, "reading-4")
    assert [(each.id, each.withdrawn, each.doubt) for each in taken_back] == [
        ("reading-3", False, "far above the last"), ("reading-4", True, None),
    ]  # fmt: skip
    assert isinstance(taken_back[0], Reading)
    assert (taken_back[0].value, taken_back[0].pot) == (0.123456789012, 3)
    (filled,) = current(book, TopUp)
    assert (filled.place, filled.water_l, filled.stock_a_l, filled.stock_b_l) == ("tank", 412.5, 4.0, None)
    (leak,) = current(book, Event)
    assert (leak.kind, leak.place, leak.pot) == ("leak", "West", 7)
    lots = {lot.lot: lot for lot in current(book, Lot)}
    if revision >= "0002":
        assert (lots["G1"].parents, lots["G1"].generation, lots["G1"].kg) == (("G0 plantlets",), 1, 12.5)
    with book.reading() as connection:
        held = connection.execute(text("SELECT file, row_number, reason FROM held_rows")).all()
        assert [tuple(row) for row in held] == [("may.csv", 4, "no such day")]
        assert connection.execute(text("SELECT version_num FROM alembic_version")).scalars().all() == [HEAD]


def test_every_released_revision_but_the_newest_has_a_book_that_is_kept() -> None:
    assert list(REVISIONS) == [f"{number:04}" for number in range(1, int(HEAD))]


@pytest.mark.parametrize("revision", REVISIONS)
def test_a_book_of_an_earlier_version_says_what_was_written(
    location: str | Path, tmp_path: Path, revision: str
) -> None:
    lay(revision, location, tmp_path)
    with open_book(location) as book:
        says_what_was_written(book, revision)
        add(book, reading())
    with open_book(location) as book:
        assert len(current(book, Reading)) == 2


LAST_STEP = f"version_num='{HEAD}'"


@pytest.mark.parametrize("behind", ["TABLE lots", "TABLE plantings", "TABLE settled_rows", LAST_STEP])
def test_a_killed_migration_leaves_the_old_book_whole_and_the_next_opening_goes_on(
    location: str | Path, tmp_path: Path, behind: str
) -> None:
    lay("0001", location, tmp_path)
    with started(bring_up_to_date, location, behind) as process:
        process.says_until(behind)
        process.killed_after(0, 0.0)
    old = tables(location)
    assert "readings" in old
    assert "lots" not in old
    assert "settled_rows" not in old
    with open_book(location) as book:
        says_what_was_written(book, "0001")


# it goes on until the kill meets it, somewhere else each time: among the steps, while they are made good, or done
@pytest.mark.parametrize(("behind", "seconds"), [("TABLE lots", 0.0), ("TABLE settled_rows", 0.0),
                                                 (LAST_STEP, 0.0), (LAST_STEP, 0.01), (LAST_STEP, 0.1)])  # fmt: skip
def test_a_migration_killed_at_any_moment_leaves_the_old_book_or_the_new_one(
    location: str | Path, tmp_path: Path, behind: str, seconds: float
) -> None:
    lay("0001", location, tmp_path)
    with started(bring_up_to_date, location) as process:
        process.says_until(behind)
        heard = process.killed_after(0, seconds)
    found = tables(location)
    assert ("lots" in found) == ("settled_rows" in found)
    assert "lots" in found or "done" not in heard
    with open_book(location) as book:
        says_what_was_written(book, "0001")


def test_two_programs_bring_one_old_book_up_to_date_at_once(location: str | Path, tmp_path: Path) -> None:
    lay("0001", location, tmp_path)
    with started(bring_up_to_date, location) as one, started(bring_up_to_date, location) as other:
        one.says_until("done")
        other.says_until("done")
    with open_book(location) as book:
        says_what_was_written(book, "0001")


def test_an_old_book_holds_the_same_on_both_engines(new_database: object, tmp_path: Path) -> None:
    address = new_database()  # type: ignore[operator]
    for location in (tmp_path, address):
        lay("0002", location, tmp_path)
    with open_book(tmp_path) as one, open_book(address) as other:
        assert contents_of(one) == contents_of(other)


def tables(location: str | Path) -> set[str]:
    """Return the tables of a book as they stand, without bringing them up to date."""
    from sqlalchemy import create_engine
    from sqlalchemy.engine import make_url

    url = f"sqlite:///{location}/book.db" if isinstance(location, Path) else make_url(location).set(
        drivername="postgresql+psycopg")  # fmt: skip
    engine = create_engine(url)
    try:
        return set(inspect(engine).get_table_names())
    finally:
        engine.dispose()
