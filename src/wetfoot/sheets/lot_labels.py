"""Labels for lots: name, generation, what it is, what was tested, dates, mass, a QR code, and large if it is held."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from wetfoot.answers.doubtful_stock import Doubts, doubts
from wetfoot.answers.health_words import lot_words
from wetfoot.answers.pedigree import known_lot
from wetfoot.answers.stock_records import StockState, stock_state
from wetfoot.drawing.qr import qr_drawing, qr_modules
from wetfoot.drawing.svg import clean
from wetfoot.errors import refuse
from wetfoot.plan.model import Plan
from wetfoot.quantities import show
from wetfoot.sheets.label_grid import label_grid, places
from wetfoot.sheets.labels import MOST_OFFSET_MM, qr_side_mm
from wetfoot.sheets.press import Sheet, short
from wetfoot.stock.lots import day_of

GRIDS = {"metric": "a4-14", "US": "letter-10"}
LOWEST_MM = 25.0  # below it what was tested cannot be read
LONGEST_NAME, LONGEST_TEST, MOST_TESTS = 40, 110, 3
MOST_LABELS = 500
FOOT = "Own record of the station, no certificate."


def lot_labels(
    plan: Plan,
    folder: Path,
    lots: tuple[str, ...] = (),
    grid: str = "",
    start: int = 1,
    offset_mm: tuple[float, float] = (0.0, 0.0),
    each: int = 1,
) -> Sheet:
    """Return labels for lots.

    Args:
        plan: the plan.
        folder: the season's folder, whose book tells of the lots.
        lots: their names; all lots of the book if none is named.
        grid: name of the sheet's grid in ``label_grids.toml``; the usual one of the paper if empty.
        start: number of the first free label on the first sheet, from 1, along the rows.
        offset_mm: how far to move everything to the right and down.
        each: labels of each lot.

    Raises:
        WetfootError: if there is no such lot, grid or label, if labels are too low, or numbers make no sense.
    """
    state = stock_state(plan, folder)
    for name in lots:
        known_lot(state, name)
    named = lots or tuple(state.lots)
    sheet = label_grid(grid or GRIDS[plan.units])
    if sheet.size_mm[1] < LOWEST_MM:
        raise refuse("grid", f"labels {sheet.size_mm[1]:g} mm high", f"{LOWEST_MM:g} mm or more", "choose larger ones")
    if not named:
        raise refuse("lot", "the book has no lot", "a lot", "write a lot down first")
    if not (1 <= each * len(named) <= MOST_LABELS and all(abs(offset) <= MOST_OFFSET_MM for offset in offset_mm)):
        allowed = f"1 to {MOST_LABELS} labels, offsets to {MOST_OFFSET_MM:g} mm either way"
        raise refuse("labels", f"{each * len(named)} labels", allowed, "change it")
    known = doubts(state)
    codes = {name: f"{number}" for number, name in enumerate(dict.fromkeys(named))}
    of_each = [code for code in codes.values() for _ in range(each)]
    pages: list[list[tuple[float, float, str]]] = []
    for code, (number, place) in zip(of_each, places(sheet, len(of_each), start), strict=True):
        if number == len(pages):
            pages.append([])
        x, y = sheet.corner_mm(place)
        pages[number].append((x + offset_mm[0], y + offset_mm[1], code))
    side = qr_side_mm(sheet, max(qr_modules(qr_text(name)) for name in codes))
    said = {code: _said(plan, state, known, name) for name, code in codes.items()}
    says = {"size": sheet.page_mm, "label": sheet.size_mm, "qr": side, "pages": pages, "foot": FOOT, "lots": said}
    return Sheet(
        "lot_labels.typ", "Lot labels", says, {code: qr_drawing(qr_text(name)) for name, code in codes.items()}
    )


def qr_text(lot: str) -> str:
    """Return what the QR code of a lot says: its name."""
    return clean(lot)


def _said(plan: Plan, state: StockState, known: Doubts, name: str) -> dict[str, Any]:
    """Return what stands on a label."""
    lot = state.lots[name]
    lines = lot_words([test for test in state.records.tests if test.lot == name])
    told = [short(line, LONGEST_TEST) for line in lines[:MOST_TESTS]]
    if len(lines) > MOST_TESTS:
        told.append(f"{len(lines) - MOST_TESTS} more agents: see the pedigree")
    return {
        "name": short(name, LONGEST_NAME),
        "what": short(", ".join(each for each in (lot.species, lot.cultivar) if each) or "species not written", 60),
        "generation": "" if lot.generation is None else f"generation {lot.generation}",
        "dates": _dates(state, name),
        "kg": _mass(plan, state, name),
        "tests": told,
        "stop": _stop(known, name),
        "producer": short(plan.site.name, 50),
        "invented": "INVENTED EXAMPLE" if plan.invented else "",
    }


def _dates(state: StockState, name: str) -> str:
    lifted = [day_of(h) for h in state.records.harvests if h.lot == name and h.cause is None]
    if not lifted:
        return f"{'packed' if state.lots[name].parents else 'came in'} {day_of(state.lots[name])}"
    span = f"{min(lifted)}" if min(lifted) == max(lifted) else f"{min(lifted)} to {max(lifted)}"
    return f"lifted {span}, packed {day_of(state.lots[name])}"


def _mass(plan: Plan, state: StockState, name: str) -> str:
    balance = state.balances.get(name)
    if balance is None or balance.in_store_kg <= 0:
        return "mass: ......"
    return show(balance.in_store_kg, "mass", plan.units)


def _stop(known: Doubts, name: str) -> str:
    """Return what is printed large: HOLD, EXPOSED or nothing, with the first reason."""
    why = known.why(name)
    if not why:
        return ""
    return f"{'HOLD' if name in known.direct else 'EXPOSED: HOLD'}: {short(why[0], 90)}"
