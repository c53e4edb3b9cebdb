"""Rows of text out of and into the two kinds of spreadsheet file: CSV and XLSX."""

from __future__ import annotations

import csv
import io
import zipfile
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from pathlib import Path
from typing import Any

import openpyxl
from openpyxl.cell import WriteOnlyCell

from wetfoot.errors import WetfootError, refuse

MOST_ROWS = 200_000
MOST_BYTES = 50_000_000
MOST_COLUMNS = 200
MOST_UNPACKED_BYTES = 1_000_000_000
_XLSX_ROWS = 1_048_576  # the most a worksheet can have
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "'")
_TEXT_SUFFIXES = (".csv", ".tsv", ".txt")
_ACCEPTED = "a .csv or .xlsx file"

Cell = str | float | int | None
Row = tuple[int, list[str]]


@dataclass(frozen=True)
class Grid:
    """The rows of one worksheet (a CSV file has one) that are not empty, each with its number, as text."""

    name: str
    rows: list[Row]


def read_grids(path: Path) -> list[Grid]:
    """Return all worksheets of a CSV or XLSX file.

    Raises:
        WetfootError: if there is no such file, it is of another kind, cannot be read, or is absurdly large.
    """
    where, suffix = path.name or str(path), path.suffix.lower()
    if suffix not in (*_TEXT_SUFFIXES, ".xlsx"):
        raise refuse(where, f"files of the kind {suffix!r} are not read", _ACCEPTED, "save it as CSV or XLSX")
    try:
        size = path.stat().st_size
        raw = path.read_bytes() if size <= MOST_BYTES else b""
    except (OSError, ValueError) as error:
        raise refuse(where, f"the file cannot be read ({error})", _ACCEPTED, "check its name") from error
    if size > MOST_BYTES:
        raise _too_large(where, f"{size / 1e6:,.0f} MB", f"at most {MOST_BYTES / 1e6:.0f} MB")
    return _xlsx_grids(raw, where) if suffix == ".xlsx" else [_csv_grid(raw, where)]


def write_rows(path: Path, headings: Sequence[str], rows: Iterable[Sequence[Cell]]) -> None:
    """Write a spreadsheet in which no text can act as a formula.

    In CSV such a text gets a leading apostrophe, which `read_grids` takes away; in XLSX it is marked as text.
    The file takes its place only when it is complete.

    Raises:
        WetfootError: if the file cannot be written.
    """
    write = {".xlsx": _write_xlsx, ".csv": _write_csv}.get(path.suffix.lower())
    if write is None:
        raise refuse(str(path), f"{path.suffix!r} files are not written", _ACCEPTED, "change its ending")
    part = path.with_name(path.name + ".part")
    try:
        write(part, headings, rows)
        part.replace(path)
    except OSError as error:
        part.unlink(missing_ok=True)
        raise refuse(str(path), f"the file cannot be written ({error})", "", "check the folder") from error


def _too_large(where: str, what: str, allowed: str) -> WetfootError:
    return refuse(where, f"the file has {what}", allowed, "split it and import the parts one by one")


def _counted(rows: Iterable[Row], where: str, before: int = 0) -> list[Row]:
    """Return the rows that are not empty, and refuse when there are absurdly many of them."""
    kept: list[Row] = []
    for number, cells in rows:
        if not any(cells):
            continue
        if len(kept) + before > MOST_ROWS:
            raise _too_large(where, f"more than {MOST_ROWS:,} rows", f"at most {MOST_ROWS:,}")
        if len(cells) > MOST_COLUMNS:
            raise _too_large(where, f"{len(cells)} columns in row {number}", f"at most {MOST_COLUMNS}")
        kept.append((number, cells))
    return kept


def _csv_grid(raw: bytes, where: str) -> Grid:
    if raw.startswith((b"PK\x03\x04", b"%PDF", b"\x1f\x8b", b"\xd0\xcf\x11\xe0")):
        raise refuse(where, "this is not a text file, whatever its name says", _ACCEPTED, "save it as CSV")
    text = _decoded(raw)
    first = next((line for line in text.splitlines() if any(mark in line for mark in ",;\t")), "")
    delimiter = max(",;\t", key=first.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    try:
        cells = ([_bare(cell.strip()) for cell in row] for row in reader)
        return Grid(where, _counted(enumerate(cells, start=1), where))
    except csv.Error as error:
        what = f"the text cannot be cut into cells after line {reader.line_num} ({error})"
        raise refuse(where, what, _ACCEPTED, "look for a quote that is not closed") from error


def _decoded(raw: bytes) -> str:
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        return raw.decode("utf-16", errors="replace")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        return raw.decode("cp1252", errors="replace")


def _bare(cell: str) -> str:
    return cell[1:] if cell.startswith("'") and cell[1:].startswith(_FORMULA_STARTS) else cell


def _guarded(cell: Cell) -> Cell:
    return f"'{cell}" if isinstance(cell, str) and cell.startswith(_FORMULA_STARTS) else cell


def _xlsx_grids(raw: bytes, where: str) -> list[Grid]:
    try:
        with zipfile.ZipFile(io.BytesIO(raw)) as archive:
            unpacked = sum(item.file_size for item in archive.infolist())
        if unpacked > MOST_UNPACKED_BYTES:
            raise _too_large(where, f"{unpacked / 1e6:,.0f} MB inside", f"at most {MOST_UNPACKED_BYTES / 1e6:,.0f} MB")
        book = openpyxl.load_workbook(io.BytesIO(raw), read_only=True, data_only=True)
        grids: list[Grid] = []
        for sheet in book.worksheets:
            before = sum(len(grid.rows) for grid in grids)
            grids.append(Grid(sheet.title, _counted(_xlsx_rows(sheet), where, before)))
        return grids
    except WetfootError:
        raise
    except Exception as error:  # of a damaged workbook, zipfile, the XML parser or openpyxl raise anything
        what = f"the workbook cannot be read ({type(error).__name__}: {error})"
        raise refuse(where, what, _ACCEPTED, "open it in a spreadsheet program and save it again") from error


def _xlsx_rows(sheet: Any) -> Iterator[Row]:
    sheet.reset_dimensions()  # what a file says of its own size may be wrong
    rows = sheet.iter_rows(max_row=_XLSX_ROWS, max_col=MOST_COLUMNS + 1, values_only=True)
    for number, values in enumerate(rows, start=1):
        cells = [_text(value) for value in values]
        while cells and not cells[-1]:
            cells.pop()
        yield number, cells


def _text(value: object) -> str:
    """Return what a cell of a workbook holds, as a person would write it."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.15g}"
    if isinstance(value, datetime):
        return value.date().isoformat() if value.time() == time(0) else value.isoformat(sep=" ")
    if isinstance(value, (date, time)):
        return value.isoformat()
    return str(value).strip()


def _write_csv(path: Path, headings: Sequence[str], rows: Iterable[Sequence[Cell]]) -> None:
    # the mark at the start (utf-8-sig) lets spreadsheet programs see that it is UTF-8; RFC 4180 wants CRLF
    with path.open("w", encoding="utf-8-sig", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(headings)
        for row in rows:
            writer.writerow([_number(cell) if isinstance(cell, float) else _guarded(cell) for cell in row])


def _number(value: float) -> str:
    return f"{value:.12g}"


def _write_xlsx(path: Path, headings: Sequence[str], rows: Iterable[Sequence[Cell]]) -> None:
    book = openpyxl.Workbook(write_only=True)
    sheet: Any = book.create_sheet("records")
    sheet.freeze_panes = "A2"
    sheet.append(list(headings))
    for row in rows:
        sheet.append([_string_cell(sheet, cell) if isinstance(cell, str) else cell for cell in row])
    whole = io.BytesIO()
    book.save(whole)
    path.write_bytes(whole.getvalue())


def _string_cell(sheet: Any, text: str) -> Any:
    cell = WriteOnlyCell(sheet, value=text)
    cell.data_type = "s"  # never a formula or an error, whatever it begins with
    return cell
