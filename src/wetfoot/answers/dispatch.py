"""May this much of a lot go to somebody: what goes along in words, or why it may not go."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from math import isfinite
from pathlib import Path

from wetfoot.answers.doubtful_stock import doubts
from wetfoot.answers.pedigree import known_lot
from wetfoot.answers.stock_records import StockState, stock_state
from wetfoot.book.stock_entries import HealthTest, Lot
from wetfoot.errors import Problem, WetfootError
from wetfoot.plan.model import Plan
from wetfoot.quantities import show
from wetfoot.stock.balance import GAP_SHARE
from wetfoot.stock.lots import day_of

LONGEST_NAME = 200


@dataclass(frozen=True)
class Dispatch:
    """Seed that may go out.

    Attributes:
        plan: of the season.
        lot: what goes.
        kg: how much.
        to: to whom.
        on: the day.
        permit: number of the permit as it was typed.
        tests: of the lot.
        left_kg: what is left in store afterwards.
        cautions: what who gets it must know.
    """

    plan: Plan
    lot: Lot
    kg: float
    to: str
    on: date
    permit: str
    tests: tuple[HealthTest, ...]
    left_kg: float
    cautions: tuple[str, ...]


def dispatch(plan: Plan, folder: Path, lot: str, to: str, kg: float, on: date, permit: str = "") -> Dispatch:
    """Return what goes along with seed that leaves.

    Args:
        plan: the plan.
        folder: the season's folder.
        lot: the lot's name.
        to: to whom it goes.
        kg: how much.
        on: the day it goes.
        permit: number of the permit or certificate, as typed.

    Raises:
        WetfootError: if the lot is on hold, tested positive, was exposed to what did, or may be where that came from
            and was not tested since, with each reason; if there is not that much of it; if it is not known.
    """
    state = stock_state(plan, folder)
    record = known_lot(state, lot, "ship")
    found = doubts(state)
    problems = [
        Problem(f"lot {lot}", why, "a lot that is neither on hold nor exposed, and not where an alarm may come from",
                "test, release or discard it first, and write that into the book")
        for why in found.why_not_sent(lot)
    ]  # fmt: skip
    problems += _problems(plan, state, lot, to, kg, on)
    if problems:
        raise WetfootError(problems)
    left = state.balances[lot].in_store_kg - kg
    tests = tuple(test for test in state.records.tests if test.lot == lot)
    return Dispatch(plan, record, kg, to.strip(), on, permit.strip(), tests, max(left, 0.0),
                    found.tested_since.get(lot, ()))  # fmt: skip


def _problems(plan: Plan, state: StockState, lot: str, to: str, kg: float, on: date) -> Iterator[Problem]:
    if not 1 <= len(to.strip()) <= LONGEST_NAME:
        yield Problem("to", "nobody is named" if not to.strip() else "the name is too long",
                      f"a name of 1 to {LONGEST_NAME} letters", "say to whom it goes")  # fmt: skip
    if on < (made := day_of(state.lots[lot])):
        yield Problem("on", f"{on} is before the lot was made on {made}", f"{made} or later", "correct the day")
    if not (isfinite(kg) and kg > 0):
        yield Problem("kg", f"{kg:g} kg", "more than nothing", "say how much goes")
        return
    there = state.balances[lot].in_store_kg if lot in state.balances else 0.0
    if kg > there * (1.0 + GAP_SHARE) + 1e-9:
        allowed = f"at most {show(there, 'mass', plan.units)}, what the book has in store"
        yield Problem("kg", f"{show(kg, 'mass', plan.units)} of {lot}", allowed, "weigh the lot and write it down")
