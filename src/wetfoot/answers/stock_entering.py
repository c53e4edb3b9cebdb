"""Record planting stock as it is typed: one record at a time, held against all that the book says already."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import Connection

from wetfoot.answers.readings import book_location
from wetfoot.answers.recording import TURN, places_of
from wetfoot.book.clashes import clashes, records_by_id
from wetfoot.book.entries import Event, Record, new_id
from wetfoot.book.layout import COLUMNS, DERIVED, meaning_of, rows_of
from wetfoot.book.opening import open_book
from wetfoot.book.records import current_records, history, insert_records
from wetfoot.book.rows import Entry, Reader, differences, read_row
from wetfoot.book.sorting import marked
from wetfoot.book.stock_checks import BOUNDS
from wetfoot.book.stock_entries import RECORD_TYPES
from wetfoot.book.stock_layout import ITEMS, word_for
from wetfoot.errors import Problem, WetfootError, refuse
from wetfoot.plan.model import Plan
from wetfoot.stock.findings import Finding, findings
from wetfoot.stock.lots import by_type, crops, day_of

_NOT_COPIED = {*DERIVED, "id", "what", "corrects", "reason", "withdrawn", "typed", "visit", "unit", "zone"}


@dataclass(frozen=True)
class Contradiction:
    """What cannot be if a record is taken in.

    Attributes:
        finding: what, with the ids of the records.
        rows: those records in words, by their ids; the new one is not among them.
    """

    finding: Finding
    rows: Mapping[str, str]


class ContradictionError(WetfootError):
    """A record that cannot be together with what the book says, each contradiction with its rows."""

    def __init__(self, found: Iterable[Contradiction]) -> None:
        self.found = tuple(found)
        super().__init__([_problem(each) for each in self.found])

    @property
    def final(self) -> bool:
        """Whether no record still to come can make it right."""
        return any(each.finding.kind == "never" for each in self.found)


@dataclass(frozen=True)
class Entered:
    """A record that stands in the book now, and what is doubtful about it or still open, in words."""

    record: Record
    told: tuple[str, ...]


def enter_stock(plan: Plan, folder: Path, cells: Mapping[str, str], who: str = "", despite: bool = False) -> Entered:
    """Write one typed record into the season's book; sent twice under one id, it is there once.

    Args:
        plan: the plan.
        folder: the season's folder.
        cells: texts by column, as in an imported file; 'corrects' names the record that it corrects.
        who: who writes it, where the cells do not say.
        despite: take it although it contradicts the book, if a record still to come can make it right.

    Raises:
        ContradictionError: if it cannot be together with the records of the book.
        WetfootError: with all that is wrong in it by itself, `where` being its columns.
    """
    said = {name: text.strip() for name, text in cells.items() if name in COLUMNS and text.strip()}
    now = datetime.now(UTC)
    entry = _read(said, Reader(plan.site.zone, places_of(plan), who.strip() or "not said", now))
    with TURN, open_book(book_location(plan, folder)) as book, book.writing() as connection:
        there = records_by_id(connection, [entry.record.id]).get(entry.record.id)
        if there is not None:
            return _there(there, entry)
        problems = clashes(connection, [entry.record])[0]
        if problems:
            raise WetfootError(problems)
        new = _new_findings(connection, plan, entry.record)
        hard = [finding for finding in new if finding.kind != "open"]
        if any(finding.kind == "never" for finding in hard) or (hard and not despite):
            raise ContradictionError(_with_rows(connection, hard, entry.record.id))
        written = marked(connection, [entry], now)[0].record
        insert_records(connection, [written])
    told = [written.doubt] if written.doubt else []
    return Entered(written, (*told, *(finding.words for finding in new)))


def cells_to_correct(plan: Plan, folder: Path, id: str) -> dict[str, str]:
    """Return what the record that holds now says, by column, for the form that corrects it; `what` among it.

    Raises:
        WetfootError: if there is no such record of planting stock, or it was withdrawn.
    """
    with open_book(book_location(plan, folder)) as book:
        record = history(book, id)[-1]
    if type(record) not in ITEMS or record.withdrawn:
        raise refuse("record", "this is no record of planting stock that holds", "one of the list", "choose another")
    row = dict(zip(COLUMNS, rows_of(record, {})[0], strict=True))
    found = {name: str(cell) for name, cell in row.items() if name not in _NOT_COPIED and cell not in (None, "")}
    if "value" in found:
        found["value"] += " kg"
    return found | {"what": word_for(record), "corrects": record.id}


def _read(said: Mapping[str, str], reader: Reader) -> Entry:
    """Return the cells as an entry; problems say at which column they are."""
    try:
        entry = read_row(1, said, said.get("id") or new_id(), reader)
    except WetfootError as error:
        record_type = meaning_of(said).record
        columns = {item.field: item.column for item in ITEMS.get(record_type, ())}
        columns |= {BOUNDS[name].words: column for name, column in columns.items() if name in BOUNDS}
        raise WetfootError(
            [replace(each, where=columns.get(each.where, each.where)) for each in error.problems]
        ) from error
    if type(entry.record) not in ITEMS:
        if type(entry.record) is Event and entry.record.kind == "pot_moved":
            raise refuse("to", "it is not said where the pot went", "a bank", "choose it")
        words = f"{said.get('what')!r} is no record of planting stock"
        raise refuse("what", words, "a lot, a cutting, a test, ...", "choose one")
    return entry


def _there(there: Record, entry: Entry) -> Entered:
    if differences(there, entry):
        raise refuse("id", "this form was recorded before with other words", "one record a form",
                     "correct the record that is there")  # fmt: skip
    return Entered(there, ())


def _new_findings(connection: Connection, plan: Plan, new: Record) -> list[Finding]:
    """Return what cannot be, or is open, with the new record and was not without it."""
    records = [record for what in RECORD_TYPES for record in current_records(connection, what)]
    before = {finding.words for finding in all_findings(plan, records)}
    after = [record for record in records if record.id != new.supersedes] + ([] if new.withdrawn else [new])
    return [finding for finding in all_findings(plan, after) if finding.words not in before]


def all_findings(plan: Plan, records: Iterable[Record]) -> list[Finding]:
    """Return what contradicts itself or is missing in records that hold (see `stock.findings`)."""
    banks, stock = {bank.name: bank.pots for bank in plan.banks}, by_type(records)
    return findings(stock, crops(stock, banks, plan.crop.planting), banks)


def _with_rows(connection: Connection, found: Iterable[Finding], new_id_: str) -> list[Contradiction]:
    return [
        Contradiction(
            finding,
            {
                id: row_words(record)
                for id, record in records_by_id(connection, list(finding.ids)).items()
                if id != new_id_
            },
        )
        for finding in found
    ]


def row_words(record: Record) -> str:
    """Return which record it is, as a person would say: 'harvest of 2027-01-05, East 3, by Ann'."""
    names = [getattr(record, name, None) for name in ("lot", "batch", "pot", "to")]
    said = ", ".join(dict.fromkeys(str(name) for name in names if name))
    word = word_for(record) if type(record) in ITEMS else type(record).__name__.lower()
    return f"{word} of {day_of(record)}{', ' + said if said else ''}, by {record.who}"


def _problem(each: Contradiction) -> Problem:
    rows = "; ".join(each.rows.values())
    fix = "correct this record, or those first" if rows else "correct this record"
    if each.finding.kind == "not yet":
        fix += "; or record it all the same, if what is missing will still be written"
    return Problem("history", each.finding.words + (f" (with: {rows})" if rows else ""), "", fix)
