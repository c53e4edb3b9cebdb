"""A clock that goes back, and a machine that is carried into another zone."""

from __future__ import annotations

import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from killing import AT, PLACES, reading, rows_file

from wetfoot.book.exchange import import_records
from wetfoot.book.records import Reading, add, correct, current, history, open_book
from wetfoot.plan import history as plan_history


class Clock(datetime):
    """A clock that the test sets."""

    shows = datetime(2026, 6, 1, 12, tzinfo=UTC)

    @classmethod
    def now(cls, tz: object = None) -> datetime:  # type: ignore[override]
        return cls.shows


def test_undo_gives_the_last_plan_back_after_the_clock_was_put_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(plan_history, "datetime", Clock)
    for hours, text in enumerate(["one", "two", "three", "four"]):
        Clock.shows = datetime(2026, 6, 1, 12, tzinfo=UTC) - timedelta(hours=hours)
        plan_history.save(tmp_path, text)
    found = []
    for _ in range(3):
        plan_history.undo(tmp_path)
        found.append((tmp_path / "season.toml").read_text("utf-8"))
    assert found == ["three", "two", "one"]


def test_a_correction_holds_although_the_clock_says_it_was_written_before(tmp_path: Path) -> None:
    with open_book(tmp_path) as book:
        (old,) = add(book, reading(16.0), now=AT)
        new = correct(book, old.id, reading(1.6), "tester", "decimal point", now=AT - timedelta(days=400))
        assert current(book, Reading) == [new]
        assert history(book, old.id) == [old, new]


def test_what_was_read_later_than_the_clock_says_is_kept_and_marked(tmp_path: Path) -> None:
    with open_book(tmp_path) as book:
        (written,) = add(book, reading(), now=AT - timedelta(days=3))
        assert written.doubt
        assert current(book, Reading) == [written]


@pytest.mark.parametrize("zone", ["Pacific/Kiritimati", "America/Anchorage", "UTC"])
def test_the_machines_zone_changes_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, zone: str) -> None:
    monkeypatch.setenv("TZ", zone)
    time.tzset()
    try:
        with open_book(tmp_path) as book:
            path = rows_file(tmp_path / "in.csv", 1)
            import_records(book, path, zone="Asia/Manila", places=PLACES, who="tester", now=AT)
            # Manila is 8 hours ahead of UTC (IANA time zone database)
            assert [each.at for each in current(book, Reading)] == [datetime(2026, 6, 1, 0, tzinfo=UTC)]
    finally:
        monkeypatch.undo()
        time.tzset()
