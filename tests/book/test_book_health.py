"""A person asks whether the book is whole. Records are invented."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from wetfoot.book.health import book_health
from wetfoot.book.records import Book, Event, add, correct, open_book
from wetfoot.book.tables import HEAD
from wetfoot.errors import WetfootError

LEAK = Event(at=datetime(2026, 5, 1, 12, tzinfo=UTC), zone="Pacific/Honolulu", who="Ann", kind="leak")
EARLIER = Path(__file__).parent / "earlier"


def test_a_whole_book_is_said_to_be_whole_on_either_engine(book: Book) -> None:
    (first,) = add(book, LEAK)
    second = correct(book, first.id, replace(first, kind="other"), "Ann", "it was rain")
    correct(book, second.id, replace(second, kind="leak"), "Ann", "a leak after all")
    address = book.engine.url.render_as_string(hide_password=False)
    found = book_health(address)
    assert found is not None
    assert (found.rows, found.revision, found.problems, found.notes) == (3, HEAD, (), ())


def test_where_no_book_is_none_is_made(tmp_path: Path) -> None:
    assert book_health(tmp_path) is None
    assert list(tmp_path.iterdir()) == []


def test_an_old_book_stays_old_when_it_is_looked_at(tmp_path: Path) -> None:
    with closing(sqlite3.connect(tmp_path / "book.db")) as raw:
        raw.executescript((EARLIER / "at_0001.sql").read_text("utf-8"))
    found = book_health(tmp_path)
    assert found is not None
    assert (found.revision, found.problems) == ("0001", ())
    assert "earlier version" in found.notes[0]
    with closing(sqlite3.connect(tmp_path / "book.db")) as raw:
        assert raw.execute("SELECT version_num FROM alembic_version").fetchone() == ("0001",)


def test_a_newer_book_is_a_problem(tmp_path: Path) -> None:
    open_book(tmp_path).close()
    with closing(sqlite3.connect(tmp_path / "book.db")) as raw, raw:
        raw.execute("UPDATE alembic_version SET version_num = '9999'")
    found = book_health(tmp_path)
    assert found is not None
    assert "newer version" in found.problems[0].what


def tampered(folder: Path, *changes: str) -> None:
    """Write what the triggers would refuse, as one who owns the file can."""
    with open_book(folder) as book:
        (first,) = add(book, LEAK)
        correct(book, first.id, replace(first, kind="other"), "Ann", "it was rain")
    with closing(sqlite3.connect(folder / "book.db")) as raw, raw:
        for trigger in ("no_update", "no_delete", "no_replace"):
            raw.execute(f"DROP TRIGGER events_{trigger}")
        for change in changes:
            raw.execute(change)


def test_a_correction_whose_first_row_is_gone_is_told(tmp_path: Path) -> None:
    tampered(tmp_path, "DELETE FROM events WHERE supersedes IS NULL")
    with pytest.raises(WetfootError, match="points to a missing row"):
        book_health(tmp_path)


def test_corrections_that_go_round_in_a_circle_are_told(tmp_path: Path) -> None:
    tampered(
        tmp_path,
        "UPDATE events SET reason = 'x', supersedes = (SELECT id FROM events WHERE supersedes IS NOT NULL) "
        "WHERE supersedes IS NULL",
    )
    found = book_health(tmp_path)
    assert found is not None
    (problem,) = found.problems
    assert "circle" in problem.what
    assert "restore" in problem.fix


def test_a_damaged_page_is_told_with_the_way_back(tmp_path: Path) -> None:
    with open_book(tmp_path) as book:
        add(book, *(Event(at=LEAK.at, zone="UTC", who="Ann", note="x" * 400, kind="leak") for _ in range(100)))
    path = tmp_path / "book.db"
    raw = bytearray(path.read_bytes())
    raw[-8192:] = b"\xff" * 8192
    path.write_bytes(raw)
    with pytest.raises(WetfootError) as refused:
        book_health(tmp_path)
    assert any("backup" in problem.fix for problem in refused.value.problems)
