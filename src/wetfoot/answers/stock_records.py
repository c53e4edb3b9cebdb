"""The season's planting stock as its book tells it: lots, pots, contacts, balances, holds, and what cannot be."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path

from wetfoot.answers.readings import book_location, no_book_yet
from wetfoot.book.entries import Event, Record
from wetfoot.book.opening import open_book
from wetfoot.book.records import all_current
from wetfoot.book.stock_entries import STOCK_TYPES, Hold, Lot
from wetfoot.plan.model import Plan
from wetfoot.stock.balance import Balance, balances
from wetfoot.stock.contacts import contacts_from
from wetfoot.stock.exposure import Contact
from wetfoot.stock.findings import Finding, findings
from wetfoot.stock.lots import StockRecords, by_type, crops, held, parents_of
from wetfoot.stock.pots import Crop


@dataclass(frozen=True)
class StockState:
    """What the book tells of planting stock.

    Attributes:
        lots: the record of each lot by its name.
        pots: the crops of each pot by its code, in the order of time.
        contacts: everything that joins pots, lots and people, for `wetfoot.stock.exposure`.
        problems: what cannot be or is not known, with the ids of the records.
        balances: the mass balance of each lot by its name.
        held: the holds in force.
        parents: the parent lots of each lot by its name.
        records: all records of planting stock by type.
    """

    lots: Mapping[str, Lot]
    pots: Mapping[str, tuple[Crop, ...]]
    contacts: tuple[Contact, ...]
    problems: tuple[Finding, ...]
    balances: Mapping[str, Balance]
    held: tuple[Hold, ...]
    parents: Mapping[str, frozenset[str]]
    records: StockRecords


def stock_state(plan: Plan, folder: Path) -> StockState:
    """Return what the season's book tells of planting stock; without a book, only that pots share water.

    Pots of the plan of which no planting is written stand in their banks from the plan's day of planting.

    Args:
        plan: the season's plan.
        folder: the season's folder.

    Raises:
        WetfootError: if the book is not one, or is of a newer version.
    """
    records = _records(plan, folder)
    banks = {bank.name: bank.pots for bank in plan.banks}
    stock = by_type(records)
    grown = crops(stock, banks, plan.crop.planting)
    return StockState(
        lots={lot.lot: lot for lot in stock.lots},
        pots={pot: tuple(crops_) for pot, crops_ in groupby(grown, key=lambda crop: crop.pot)},
        contacts=tuple(contacts_from(records, banks, plan.crop.planting)),
        problems=tuple(findings(stock, grown, banks)),
        balances=balances(stock),
        held=held(stock),
        parents=parents_of(stock, grown),
        records=stock,
    )


def held_names(state: StockState) -> set[str]:
    """Return the lots, batches, pots and banks that are on hold; with a bank all pots that stand in it."""
    names = {hold.subject for hold in state.held}
    banks = {hold.place for hold in state.held if not (hold.lot or hold.batch or hold.pot)}
    standing = {pot: grown[-1].standings[-1].bank for pot, grown in state.pots.items() if grown[-1].standings}
    return names | {pot for pot, bank in standing.items() if bank in banks}


def _records(plan: Plan, folder: Path) -> list[Record]:
    if no_book_yet(plan, folder):
        return []
    with open_book(book_location(plan, folder)) as book:
        return all_current(book, (Event, *STOCK_TYPES))
