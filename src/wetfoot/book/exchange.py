"""Records out of and into spreadsheets (CSV, XLSX), one row a record, so that nothing is lost on the way."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from wetfoot.book.checks import LONGEST_NAME, PlacesKnown, zone_named
from wetfoot.book.entries import tidy
from wetfoot.book.held import held_rows, keep_held
from wetfoot.book.layout import COLUMNS, NEEDED, column_named, columns_in, rows_of
from wetfoot.book.opening import Book
from wetfoot.book.records import every, insert_records
from wetfoot.book.rows import Reader
from wetfoot.book.sorting import RowReport, marked, read_all, reports_of, set_aside_clashing, set_aside_known
from wetfoot.book.spreadsheet import Grid, read_grids, write_rows
from wetfoot.errors import refuse

__all__ = ["ImportReport", "PlacesKnown", "RowReport", "export_records", "held_rows", "import_records"]

_HEADINGS_WITHIN = 20


@dataclass(frozen=True)
class ImportReport:
    """What became of every row of a file.

    Attributes:
        file: its name.
        recorded: rows that were written.
        doubtful: those of them that were marked as unlikely, with the reason.
        already_there: rows that the book had before, or the file has twice under one id.
        held: rows that could not be read or written, with the reason; they are kept word for word.
        kept_in_notes: headings that are not known: what stood under them is in the notes.
        left_out: other worksheets of the workbook, which were not read.
    """

    file: str
    recorded: tuple[RowReport, ...]
    doubtful: tuple[RowReport, ...]
    already_there: tuple[RowReport, ...]
    held: tuple[RowReport, ...]
    kept_in_notes: tuple[str, ...] = ()
    left_out: tuple[str, ...] = ()


def import_records(book: Book, path: Path, *, zone: str, places: PlacesKnown, who: str, now: datetime) -> ImportReport:
    """Write all rows of a file into a book, in one transaction; a second time nothing is written twice.

    Args:
        book: an open book.
        path: a .csv or .xlsx file with the columns date, what, value and any other of `COLUMNS`.
        zone: IANA name of the zone that dates and times are in.
        places: the banks with their pots, and the tank; what does not fit them is marked as doubtful.
        who: who imports, for rows that do not say who wrote them.
        now: the present instant.

    Raises:
        WetfootError: if the file as a whole cannot be read, or the zone or the name is no such thing.
    """
    if zone_named(zone) is None:
        raise refuse("zone", f"{zone!r} is not a time zone", "an IANA name such as 'Asia/Manila'", "mend it")
    if not 1 <= len(tidy(who)) <= LONGEST_NAME:
        raise refuse("who", f"{who!r} is no name", f"1 to {LONGEST_NAME} characters", "name who imports")
    grids = read_grids(path)
    grid, at = _headings_at(grids, path.name)
    headings = grid.rows[at][1]
    columns = columns_in(headings, path.name)
    texts = dict(grid.rows[at + 1 :])
    cells = {row: by_column(values, headings, columns) for row, values in texts.items()}
    found = read_all(cells, Reader(zone, places, who, now))
    with book.writing() as connection:
        set_aside_known(connection, found)
        set_aside_clashing(connection, found)
        entries = marked(connection, found.entries, now)
        insert_records(connection, [entry.record for entry in entries])
        keep_held(connection, tidy(path.name), headings, texts, found.held, tidy(who), now)
    recorded = _by_row(report for entry in entries for report in reports_of(entry, entry.record.doubt or ""))
    return ImportReport(
        path.name,
        recorded=recorded,
        doubtful=tuple(report for report in recorded if report.reason),
        already_there=_by_row(found.there),
        held=_by_row(found.held),
        kept_in_notes=tuple(heading for heading in headings if heading and not column_named(heading)),
        left_out=tuple(other.name for other in grids if other is not grid and other.rows),
    )


def export_records(book: Book, path: Path, *, overwrite: bool = False) -> int:
    """Write every record of a book, the superseded ones too, to a .csv or .xlsx file; return how many.

    Numbers are in base units, which stand beside them. Importing the file into an empty book makes the same
    records again.

    Raises:
        WetfootError: if the file is there already and may not be overwritten, or cannot be written.
    """
    if path.exists() and not overwrite:
        raise refuse(str(path), "there is such a file already", "a new name", "choose one, or overwrite it")
    records = every(book)
    superseded_by = {record.supersedes: record.id for record in records if record.supersedes}
    rows = (row for record in records for row in rows_of(record, superseded_by))
    write_rows(path, list(COLUMNS), rows)
    return len(records)


def _headings_at(grids: Sequence[Grid], where: str) -> tuple[Grid, int]:
    """Return the first worksheet that has the needed columns, and which row names them; else the first row."""
    for grid in grids:
        for at, (_, values) in enumerate(grid.rows[:_HEADINGS_WITHIN]):
            if set(NEEDED) <= {column_named(value) for value in values}:
                return grid, at
    filled = next((grid for grid in grids if grid.rows), None)
    if filled is None:
        raise refuse(where, "the file is empty", "a row of headings and rows of records", "check the file")
    return filled, 0


def by_column(values: list[str], headings: list[str], columns: dict[str, int]) -> dict[str, str]:
    """Return the texts of a row by column; what has no heading, or an unknown one, by its heading or number."""
    cells = {column: values[at] if at < len(values) else "" for column, at in columns.items()}
    for at, value in enumerate(values):
        if value and at not in columns.values():
            heading = headings[at] if at < len(headings) and headings[at] else f"column {at + 1}"
            cells[heading if heading not in cells else f"{heading} (column {at + 1})"] = value
    return cells


def _by_row(reports: Iterable[RowReport]) -> tuple[RowReport, ...]:
    return tuple(sorted(reports, key=lambda report: report.row))
