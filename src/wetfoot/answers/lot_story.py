"""All that the book tells of one lot: where it came from, what was tested, where it is and where it went."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from wetfoot.answers.pedigree import known_lot, pots_in_words
from wetfoot.answers.stock_records import StockState, stock_state
from wetfoot.answers.store_view import LotInStore, store_view
from wetfoot.book.entries import Record
from wetfoot.book.stock_entries import HealthTest, Hold, Lot
from wetfoot.plan.model import Plan
from wetfoot.stock.balance import Balance
from wetfoot.stock.findings import Finding
from wetfoot.stock.lots import Relative, ancestors, day_of, descendants

R = TypeVar("R", bound=Record)


@dataclass(frozen=True)
class Went:
    """Kilograms of a lot that went somewhere, on a day; None if they were not weighed."""

    on: str
    where: str
    kg: float | None
    id: str


@dataclass(frozen=True)
class LotStory:
    """What is known of a lot.

    Attributes:
        lot: its record.
        ancestors: lots that it descends from, the nearest first; ``descendants`` likewise.
        batches: cut from it; ``pots`` planted with it, in words.
        tests: of the lot, its batches and the pots it was harvested from, the newest first.
        holds: all that was said of holding and releasing it, the newest first; ``held`` whether a hold is in force.
        went: where it went, by day.
        balance: its mass balance, if anything was weighed; ``store`` its course.
        findings: what cannot be or is missing in its records.
    """

    lot: Lot
    ancestors: tuple[Relative, ...]
    descendants: tuple[Relative, ...]
    batches: tuple[str, ...]
    pots: str
    tests: tuple[HealthTest, ...]
    holds: tuple[Hold, ...]
    held: bool
    went: tuple[Went, ...]
    balance: Balance | None
    store: LotInStore | None
    findings: tuple[Finding, ...]


def lot_story(plan: Plan, folder: Path, name: str, state: StockState | None = None) -> LotStory:
    """Return all that the season's book tells of a lot; ``state`` is what it tells of stock, read if not given.

    Raises:
        WetfootError: if there is no such lot.
    """
    state = state or stock_state(plan, folder)
    lot = known_lot(state, name)
    batches = tuple(dict.fromkeys(cutting.batch for cutting in state.records.cuttings if cutting.lot == name))
    grown = [p for p in state.records.plantings if p.lot == name or (p.batch is not None and p.batch in batches)]
    source_pots = {harvest.pot for harvest in state.records.harvests if harvest.lot == name and harvest.pot}
    balance = state.balances.get(name)
    ids = _own_ids(state, name, batches) | set(balance.ids if balance else ())
    lots = store_view(plan, folder, state=state).lots
    return LotStory(
        lot=lot,
        ancestors=tuple(ancestors(name, state.parents, state.records)),
        descendants=tuple(descendants(name, state.parents, state.records)),
        batches=batches,
        pots=pots_in_words(dict.fromkeys(planting.pot for planting in grown)),
        tests=_newest(
            t for t in state.records.tests if t.lot == name or t.batch in batches or (t.pot and t.pot in source_pots)
        ),
        holds=_newest(h for h in state.records.holds if h.lot == name or (h.batch is not None and h.batch in batches)),
        held=any(hold.lot == name for hold in state.held),
        went=tuple(_went(state, name)),
        balance=balance,
        store=next((each for each in lots if each.lot == name), None),
        findings=tuple(finding for finding in state.problems if ids & set(finding.ids)),
    )


def _newest(records: Iterable[R]) -> tuple[R, ...]:
    return tuple(sorted(records, key=lambda record: record.at, reverse=True))


def _own_ids(state: StockState, name: str, batches: tuple[str, ...]) -> set[str]:
    stock = state.records
    kinds = (stock.lots, stock.cuttings, stock.harvests, stock.store_checks, stock.shipments, stock.tests, stock.holds)
    own = {record.id for records in kinds for record in records if getattr(record, "lot", None) == name}
    return own | {p.id for p in stock.plantings if p.lot == name or (p.batch is not None and p.batch in batches)}


def _went(state: StockState, name: str) -> list[Went]:
    """Return what left the lot: cut, planted uncut, sent, culled."""
    stock = state.records
    found: list[tuple[Record, str, float | None]] = []
    found += [(c, f"cut into batch {c.batch}, {c.pieces} pieces", c.kg) for c in stock.cuttings if c.lot == name]
    found += [(p, f"planted uncut into {p.pot}", p.kg) for p in stock.plantings if p.lot == name]
    found += [(s, f"sent to {s.to}" + (f", permit {s.permit}" if s.permit else ""), s.kg) for s in stock.shipments
              if s.lot == name]  # fmt: skip
    found += [(h, f"culled: {h.cause}", h.kg) for h in stock.harvests if h.lot == name and h.cause is not None]
    found += [(k, "rot taken out in store", k.rot_kg) for k in stock.store_checks if k.lot == name and k.rot_kg]
    ordered = sorted(found, key=lambda each: (each[0].at, each[0].id))
    return [Went(day_of(record).isoformat(), where, kg, record.id) for record, where, kg in ordered]
