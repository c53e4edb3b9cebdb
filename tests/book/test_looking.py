"""What is read page by page is the same as everything read at once: the reference is `every` and `current`."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

from wetfoot.book.entries import Event, Reading, Record, TopUp, Visit
from wetfoot.book.looking import count_records, last_reading, newest
from wetfoot.book.records import Book, add, all_current, correct, current, every, withdraw
from wetfoot.book.stock_entries import Lot

BEGIN = datetime(2026, 5, 1, 8, tzinfo=UTC)
NOW = datetime(2026, 6, 1, tzinfo=UTC)


def filled(book: Book) -> None:
    """Records of several types, many at one instant, some corrected, withdrawn, and corrected after that."""
    made: list[Record] = []
    for n in range(60):
        shared: dict[str, Any] = {"at": BEGIN + timedelta(days=n // 7), "zone": "UTC", "who": "Ann"}
        made.append(
            (
                Visit(**shared),
                TopUp(**shared, water_l=5.0),
                Event(**shared, kind="other"),
                Lot(**shared, lot=f"L{n}"),
                Reading(**shared, kind="level", place="East", value=0.05),
                Reading(**shared, kind="ec", place="East" if n % 2 else "tank", value=1 + n / 100),
            )[n % 6]
        )
    written = add(book, *made, now=NOW)
    for at in (5, 11, 17):
        correct(book, written[at].id, written[at], "Bob", "typo", now=NOW)
    gone = withdraw(book, written[23].id, "Bob", "never was", now=NOW)
    withdraw(book, written[59].id, "Bob", "never was", now=NOW)
    correct(book, gone.id, written[23], "Bob", "it was", now=NOW)


def in_order(records: list[Record]) -> list[str]:
    ordered = sorted(records, key=lambda record: (record.at, str(record.written_at), record.id), reverse=True)
    return [record.id for record in ordered]


def test_pages_put_together_are_everything(book: Book) -> None:
    filled(book)
    for superseded, records in ((True, every(book)), (False, all_current(book))):
        assert count_records(book, superseded) == len(records)
        found = [record.id for skip in range(0, 80, 7) for record in newest(book, 7, skip, superseded)]
        assert found == in_order(records)


def test_an_empty_book_has_no_pages(book: Book) -> None:
    assert (count_records(book), newest(book, 10)) == (0, [])


def test_the_last_reading_is_the_last_of_all(book: Book) -> None:
    filled(book)
    for kind, place in (("ec", "East"), ("ec", "tank"), ("level", "East"), ("level", "West")):
        for until in (None, BEGIN + timedelta(days=4)):
            found = [each for each in current(book, Reading, kind, until=until) if each.place == place]
            assert last_reading(book, kind, place, until=until) == (found[-1] if found else None)
