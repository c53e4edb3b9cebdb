"""A trial's report as a workbook: the advice, every table with raw numbers, and the pots as they were read."""

from __future__ import annotations

import io
import re
from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np
import openpyxl
from openpyxl.cell import WriteOnlyCell
from openpyxl.styles import Font
from openpyxl.utils import get_column_letter

from wetfoot.answers.trial_cells import Cell
from wetfoot.answers.trial_report import Report
from wetfoot.answers.trial_report_tables import tables

LONGEST_NAME = 31  # of a worksheet, by the file format
WIDEST = 60


def trial_workbook(made: Report) -> bytes:
    """Return the workbook of a report; no text in it can act as a formula."""
    book = openpyxl.Workbook(write_only=True)
    taken: set[str] = set()
    if made.recommendation:
        rows: list[Sequence[Cell]] = [(made.recommendation.headline, ""), *made.recommendation.lines]
        _sheet(book, "recommendation", ("", ""), rows, taken)
        for table in made.recommendation.tables(made.units):
            _sheet(book, table.title, table.heads, table.rows, taken, table.note)
    for table in tables(made.findings):
        if table.rows or table.note:
            _sheet(book, table.title, table.heads, table.rows, taken, table.note)
    _sheet(book, "pots", *_pots(made), taken)
    _sheet(book, "guessed", ("what was guessed",), [(text,) for text in made.findings.table.said], taken)
    whole = io.BytesIO()
    book.save(whole)
    return whole.getvalue()


def _pots(made: Report) -> tuple[list[str], list[list[Cell]]]:
    """Return every pot with its labels, response, loss and split, as the analysis took them."""
    table = made.findings.table
    names = list(table.roles.columns)
    rows: list[list[Cell]] = []
    for at, pot in enumerate(table.pot):
        split = "" if table.split is None or not np.isfinite(table.split[at]) else int(table.split[at])
        value = float(table.y[at]) if np.isfinite(table.y[at]) else None
        rows.append([pot, *(str(table.factors[name][at]) for name in names), value, table.lost[at], split])
    return ["pot", *names, table.response_words, "lost", "split"], rows


def _sheet(
    book: Any, title: str, heads: Sequence[str], rows: Iterable[Sequence[Cell]], taken: set[str], note: str = ""
) -> None:
    sheet = book.create_sheet(_name(title, taken))
    sheet.freeze_panes = "A3"
    sheet.append([_text(sheet, title, bold=True)])
    kept = [list(row) for row in rows]
    for at, head in enumerate(heads):
        longest = max([len(head), *(len(str(row[at])) for row in kept)], default=8)
        sheet.column_dimensions[get_column_letter(at + 1)].width = min(WIDEST, longest + 2)
    sheet.append([_text(sheet, head, bold=True) for head in heads])
    for row in kept:
        sheet.append([_cell(sheet, cell) for cell in row])
    if note:
        sheet.append([])
        sheet.append([_text(sheet, note)])


def _cell(sheet: Any, cell: Cell) -> Any:
    if isinstance(cell, str):
        return _text(sheet, cell)
    if isinstance(cell, float) and not np.isfinite(cell):
        return _text(sheet, "" if cell != cell else "no limit")
    return cell


def _text(sheet: Any, text: str, bold: bool = False) -> Any:
    cell = WriteOnlyCell(sheet, value=openpyxl.cell.cell.ILLEGAL_CHARACTERS_RE.sub("", text))
    cell.data_type = "s"  # never a formula or an error, whatever it begins with
    if bold:
        cell.font = Font(bold=True)
    return cell


def _name(title: str, taken: set[str]) -> str:
    """Return a name for a worksheet that the format allows and that is not taken."""
    plain = re.sub(r"[\[\]:*?/\\']", " ", title).strip()[:LONGEST_NAME].strip() or "table"
    name, number = plain, 2
    while name.casefold() in taken:
        name, number = f"{plain[: LONGEST_NAME - 4].strip()} {number}", number + 1
    taken.add(name.casefold())
    return name
