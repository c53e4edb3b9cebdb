"""Record what a person typed on a page or a phone: each row for itself, each id once, nothing lost."""

from __future__ import annotations

import threading
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Literal

from wetfoot.answers.readings import book_location
from wetfoot.book.cells import value_in
from wetfoot.book.checks import PlacesKnown
from wetfoot.book.entries import Reading, Record
from wetfoot.book.layout import COLUMNS, MEANINGS
from wetfoot.book.opening import Book, open_book
from wetfoot.book.records import correct, history, insert_records, withdraw
from wetfoot.book.rows import Reader
from wetfoot.book.sorting import marked, read_all, set_aside_clashing, set_aside_known
from wetfoot.errors import refuse
from wetfoot.plan.model import Plan

State = Literal["recorded", "there", "refused"]
MOST_ROWS = 2000
# Phones that send at once to one server take turns here: SQLite itself lets a waiting one starve until it gives up.
TURN = threading.Lock()


@dataclass(frozen=True)
class Outcome:
    """What became of a row: ``told`` is why it was refused, or what is doubtful about it."""

    id: str
    state: State
    told: str = ""


def places_of(plan: Plan) -> PlacesKnown:
    """Return what stands on the plan's bench."""
    return PlacesKnown({bank.name: bank.pots for bank in plan.banks}, plan.tank.volume_l)


def record_rows(plan: Plan, folder: Path, rows: Iterable[Mapping[str, str]], who: str) -> list[Outcome]:
    """Write rows into the season's book and say what became of each; a row that was sent before is there once.

    Args:
        plan: the plan.
        folder: the season's folder.
        rows: texts by column, as in an imported file; each with an id of its own.
        who: who sends them, where a row does not say.

    Raises:
        WetfootError: if the book cannot be opened, or there are too many rows at once.
    """
    given = [{str(name): str(text).strip() for name, text in row.items() if name in COLUMNS} for row in rows]
    if len(given) > MOST_ROWS:
        raise refuse("entries", f"{len(given):,} at once", f"at most {MOST_ROWS:,}", "send them in parts")
    reader = Reader(plan.site.zone, places_of(plan), who.strip() or "not said", datetime.now(UTC))
    with TURN, open_book(book_location(plan, folder)) as book:
        return [_record_row(book, cells, reader) for cells in given]


def _record_row(book: Book, cells: Mapping[str, str], reader: Reader) -> Outcome:
    found, id = read_all({1: cells}, reader), cells.get("id", "")
    with book.writing() as connection:
        set_aside_known(connection, found)
        set_aside_clashing(connection, found)
        entries = marked(connection, found.entries, reader.now)
        insert_records(connection, [entry.record for entry in entries])
    if entries:
        return Outcome(entries[0].record.id, "recorded", entries[0].record.doubt or "")
    if found.there:
        return Outcome(id, "there")
    return Outcome(id, "refused", found.held[0].reason)


def correct_entry(plan: Plan, folder: Path, id: str, value: str, who: str, reason: str) -> Record:
    """Write a corrected value in place of an older one; the older record stays in its history.

    Raises:
        WetfootError: if there is no such record, it was corrected before, or the value cannot be.
    """
    with open_book(book_location(plan, folder)) as book:
        old = history(book, id)[-1]
        if not isinstance(old, Reading):
            raise refuse("record", "only readings are corrected by value", "a reading", "withdraw it, record it anew")
        meaning = next(each for each in MEANINGS if each.record is Reading and each.kind == old.kind)
        new = replace(old, value=value_in({"value": value}, meaning), typed=value)
        return correct(book, old.id, new, who.strip() or "not said", reason.strip())


def withdraw_entry(plan: Plan, folder: Path, id: str, who: str, reason: str) -> Record:
    """Say that a record should never have been written; it stays in the history.

    Raises:
        WetfootError: if there is no such record, or it was corrected before.
    """
    with open_book(book_location(plan, folder)) as book:
        return withdraw(book, history(book, id)[-1].id, who.strip() or "not said", reason.strip())
