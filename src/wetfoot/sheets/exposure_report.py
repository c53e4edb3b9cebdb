"""The report of an exposure: the bench drawn, what to hold, what may still go, whom to tell, where it may come from."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import Any

from wetfoot.answers.doubtful_stock import Doubts, doubts
from wetfoot.answers.exposure import Exposure
from wetfoot.answers.health_words import AUTHORITY
from wetfoot.answers.pedigree import pots_in_words
from wetfoot.answers.stock_records import StockState, stock_state
from wetfoot.drawing.exposure_map import MOST_A_ROW, exposure_map_svg
from wetfoot.plan.model import Bank
from wetfoot.quantities import show
from wetfoot.sheets.press import LONGEST_CELL, Sheet, short
from wetfoot.stock.exposure import AGENTS
from wetfoot.stock.lots import day_of

LONGEST_WAY = 240
MOST_ROWS = 600
MOST_DRAWN_ROWS = 10
HANDBOOK, COMMON = "handbook, agronomy 8", "common practice, no source"
STEPS = (
    ("Shut the valve of every bank on the hold list; lift no pot, pour nothing from one bank into another.", HANDBOOK),
    ("Tag every pot and crate on the list HOLD, and write the hold into the book.", COMMON),
    ("Test again by another method: a strip is presumptive, PCR on rhizome cores decides. Throw nothing away before.",
     "handbook, agronomy 3.4"),
    ("Bag the suspect pot where it stands. Disinfect knives and hands; work on held banks last, with their own tools.",
     HANDBOOK),
    ("Trace the seed lot: test the possible sources before more of them is cut or sent.", HANDBOOK),
    ("Tell those named above, and ask your plant health authority what must be reported.", COMMON),
    ("When the test is back: release in the book, or discard, clean the bank, and write that it was cleaned.", COMMON),
)  # fmt: skip


def exposure_sheet(found: Exposure, folder: Path) -> Sheet:
    """Return the report of an exposure.

    Args:
        found: who was exposed by a suspect.
        folder: the season's folder, for what else is on hold and who got what.
    """
    state = stock_state(found.plan, folder)
    known = doubts(state)
    rows = _hold_rows(found)
    says = {
        "suspect": short(found.suspect, LONGEST_CELL),
        "since": f"{found.since}",
        "agent": found.agent,
        "spread": AGENTS[found.agent].words,
        "state": found.answer.state,
        "words": found.answer.words,
        "hold": rows[:MOST_ROWS],
        "more": max(0, len(rows) - MOST_ROWS),
        "lots": [_lot_row(found, state, known, lot) for lot in found.clear_lots if lot in state.lots],
        "pots": _clear_pots(found, known),
        "people": _people(found, state),
        "sources": short(_pots_and_others(found.sources), 600),
        "steps": [list(step) for step in STEPS],
        "warnings": list(found.answer.warnings),
        "authority": AUTHORITY,
    }
    drawings = {f"bench {number}": svg for number, svg in enumerate(_benches(found))}
    return Sheet("exposure_report.typ", "Exposure report", {**says, "benches": list(drawings)}, drawings)


def _benches(found: Exposure) -> list[str]:
    """Return the drawing of the bench, in parts of so many banks as can be read on a page."""
    parts: list[list[Bank]] = [[]]
    rows = 0
    for bank in found.plan.banks:
        own = -(-bank.pots // MOST_A_ROW)
        if rows and rows + own > MOST_DRAWN_ROWS:
            parts.append([])
            rows = 0
        parts[-1].append(bank)
        rows += own
    plans = [found.plan.model_copy(update={"banks": tuple(part)}) for part in parts]
    return [exposure_map_svg(replace(found, plan=plan)) for plan in plans]


def _hold_rows(found: Exposure) -> list[list[str]]:
    """Return what to hold with since when and by which way, pots exposed alike in one row; without people."""
    alike: dict[tuple[str, str, str], list[str]] = {}
    for what, each in (*found.pots.items(), *found.lots.items()):
        way = found.ways[what].removesuffix(")").partition(" (")[2] if what != found.suspect else "the suspect itself"
        by = f"by {each.came_from}, " if each.came_from else ""
        kind = "Pots" if what in found.pots else "Lot or batch"
        alike.setdefault((kind, f"{each.since}", f"{by}{way}"), []).append(what)
    rows = [[kind, short(pots_in_words(names), LONGEST_WAY), since, short(way, LONGEST_WAY)]
            for (kind, since, way), names in alike.items()]  # fmt: skip
    return sorted(rows, key=lambda row: row[3] != "the suspect itself")


def _lot_row(found: Exposure, state: StockState, known: Doubts, lot: str) -> list[str]:
    balance = state.balances.get(lot)
    mass = show(balance.in_store_kg, "mass", found.plan.units) if balance else "not weighed"
    if why := known.why(lot):
        return [short(lot, LONGEST_CELL), mass, "no", short(why[0], LONGEST_WAY)]
    if lot in known.tested_since:
        return [short(lot, LONGEST_CELL), mass, "yes", short(known.tested_since[lot][0], LONGEST_WAY)]
    if lot in found.sources or lot in known.sources:
        return [short(lot, LONGEST_CELL), mass, "test first", "it may be where the infection came from"]
    return [short(lot, LONGEST_CELL), mass, "yes", "not exposed, nothing held against it"]


def _clear_pots(found: Exposure, known: Doubts) -> list[list[str]]:
    held = [pot for pot in found.clear_pots if known.why(pot)]
    clear = [pot for pot in found.clear_pots if not known.why(pot)]
    rows = (
        ("Not exposed, nothing else against them", clear),
        ("Not exposed by this suspect, but on hold or suspect", held),
    )
    return [[name, short(pots_in_words(pots), 600)] for name, pots in rows if pots]


def _people(found: Exposure, state: StockState) -> list[list[str]]:
    """Return what exposed stock went to whom, and when."""
    return [
        [short(s.to, LONGEST_CELL), short(s.lot, LONGEST_CELL), show(s.kg, "mass", found.plan.units), f"{day_of(s)}"]
        for s in state.records.shipments
        if s.to in found.people and s.lot in found.lots and day_of(s) >= found.lots[s.lot].since
    ]


def _pots_and_others(names: Iterable[Any]) -> str:
    return pots_in_words(str(name) for name in names)
