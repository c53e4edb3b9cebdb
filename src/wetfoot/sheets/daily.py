"""The season day by day as a table, for other programs: CSV and XLSX."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from datetime import date
from io import BytesIO, StringIO
from typing import Any

import numpy as np
from numpy.typing import NDArray
from openpyxl import Workbook
from openpyxl.cell import WriteOnlyCell

from wetfoot.answers.dossier import Dossier
from wetfoot.drawing.svg import clean
from wetfoot.quantities import convert, unit_label
from wetfoot.season import columns as c
from wetfoot.sheets.press import INVENTED

Array = NDArray[np.float64]
Cell = date | str | float | None
FORMULA_SIGNS = ("=", "+", "-", "@", "\t")


def heads(dossier: Dossier) -> list[str]:
    """Return the heads of the columns, each with its unit."""
    units = [f"{name} ({unit_label(kind, dossier.plan.units)})" for name, kind, _ in _columns(dossier)]
    return ["date", "bank", *units, *(["note"] if dossier.plan.invented else [])]


def rows(dossier: Dossier) -> Iterator[list[Cell]]:
    """Yield one row a day and bank, in the plan's units; None where there is no value."""
    plan, note = dossier.plan, [INVENTED] if dossier.plan.invented else []
    shown = [_rounded(convert(values, kind, plan.units)) for _, kind, values in _columns(dossier)]
    for day, on in enumerate(dossier.ensemble.dates):
        for bank, each in enumerate(plan.banks):
            yield [on, clean(each.name), *(column[day][bank] for column in shown), *note]


def daily_csv(dossier: Dossier) -> bytes:
    """Return the days as CSV (RFC 4180, UTF-8); a text that a spreadsheet would take for a formula is quoted."""
    text = StringIO()
    writer = csv.writer(text)
    writer.writerow(heads(dossier))
    for row in rows(dossier):
        writer.writerow([_defused(cell) for cell in row])
    return text.getvalue().encode()


def daily_xlsx(dossier: Dossier) -> bytes:
    """Return the days as a workbook; its texts are texts, whatever they begin with."""
    book = Workbook(write_only=True)
    sheet = book.create_sheet("days")
    sheet.freeze_panes = "C2"
    sheet.append([_text_cell(sheet, head) for head in heads(dossier)])
    for row in rows(dossier):
        sheet.append([_text_cell(sheet, cell) if isinstance(cell, str) else cell for cell in row])
    made = BytesIO()
    book.save(made)
    return made.getvalue()


def _columns(dossier: Dossier) -> list[tuple[str, str, Array]]:
    """Return the name, the kind and the values (days, banks) of each column, in base units."""
    runs = dossier.ensemble
    course = runs.expected.banks
    least = np.broadcast_to(runs.tank_l.middle[:, None], course.shape[:2])
    per_pot = [
        ("inflow per pot", c.INFLOW_L),
        ("rain per pot", c.RAIN_L),
        ("overflow per pot", c.OVERFLOW_L),
        ("uptake per pot", c.UPTAKE_L),
        ("evaporation per pot", c.EVAPORATION_L),
    ]
    return [
        ("lowest level of the day, 1 run in 10 below", "depth", runs.level_m.low),
        ("lowest level of the day, middle", "depth", runs.level_m.middle),
        ("lowest level of the day, 1 run in 10 above", "depth", runs.level_m.high),
        *((f"{name}, expected run", "volume", course[:, :, column]) for name, column in per_pot),
        ("EC of free solution, middle", "conductivity", runs.ec_free_ms_cm.middle),
        ("EC in the medium, middle", "conductivity", runs.ec_medium_ms_cm.middle),
        ("least in the tank, middle", "volume", least),
    ]


def _rounded(values: Array) -> list[list[float | None]]:
    """Return values to four significant digits; None for not a number."""
    with np.errstate(divide="ignore", invalid="ignore"):
        digits = 3 - np.floor(np.log10(np.abs(values)))
    scale = 10.0 ** np.where(np.isfinite(digits), np.clip(digits, 0, 9), 0)
    near = np.round(np.where(np.isnan(values), 0.0, values) * scale) / scale
    return [[None if gap else value for value, gap in zip(line, gaps, strict=True)]
            for line, gaps in zip(near.tolist(), np.isnan(values).tolist(), strict=True)]  # fmt: skip


def _defused(cell: Cell) -> Cell:
    return f"'{cell}" if isinstance(cell, str) and cell.startswith(FORMULA_SIGNS) else cell


def _text_cell(sheet: Any, text: str) -> Any:
    cell = WriteOnlyCell(sheet, text)
    cell.data_type = "s"
    return cell
