"""Planting stock as the book tells it: its records by type, what came out of what, and what is held.

Only records that hold go in here: without superseded and withdrawn ones.
"""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from zoneinfo import ZoneInfo

from wetfoot.book.entries import Event, Record
from wetfoot.book.stock_entries import (
    Cutting,
    Harvest,
    HealthTest,
    Hold,
    Lot,
    Move,
    Planting,
    Shipment,
    StoreCheck,
)
from wetfoot.stock.pots import Crop, crops_of_pots


@dataclass(frozen=True)
class StockRecords:
    """The records of planting stock, each type in the order of its instants."""

    lots: tuple[Lot, ...]
    cuttings: tuple[Cutting, ...]
    plantings: tuple[Planting, ...]
    moves: tuple[Move, ...]
    harvests: tuple[Harvest, ...]
    store_checks: tuple[StoreCheck, ...]
    shipments: tuple[Shipment, ...]
    tests: tuple[HealthTest, ...]
    holds: tuple[Hold, ...]
    events: tuple[Event, ...]


@dataclass(frozen=True)
class Relative:
    """A lot that another descends from, or that descends from it, and over how many lots."""

    lot: str
    steps: int
    generation: int | None


def by_type(records: Iterable[Record]) -> StockRecords:
    """Return records of any type sorted into their types; those that do not concern planting stock are left out."""
    found: dict[type[Record], list[Record]] = defaultdict(list)
    for record in sorted(records, key=lambda record: (record.at, record.id)):
        found[type(record)].append(record)
    order = (Lot, Cutting, Planting, Move, Harvest, StoreCheck, Shipment, HealthTest, Hold, Event)
    return StockRecords(*(tuple(found[what]) for what in order))  # type: ignore[arg-type]


def day_of(record: Record) -> date:
    """Return the local date of a record."""
    return record.at.astimezone(ZoneInfo(record.zone)).date()


def crops(stock: StockRecords, banks: Mapping[str, int], standing_since: date | None = None) -> list[Crop]:
    """Return every crop that stood in a pot.

    Args:
        stock: the records.
        banks: how many pots the plan has in each bank, by its name.
        standing_since: since when pots of the plan stand in their banks of which no planting is written;
            None leaves these out.
    """
    return crops_of_pots(
        [*stock.plantings, *stock.moves, *stock.harvests, *stock.events],
        {record.id: day_of(record) for record in (*stock.plantings, *stock.moves, *stock.harvests, *stock.events)},
        banks,
        standing_since,
    )


def grown_from(stock: StockRecords, grown: Iterable[Crop]) -> dict[str, frozenset[str]]:
    """Return, for every lot that was harvested, the lots its pots were planted with; what was culled left no seed."""
    cut_from: dict[str, set[str]] = defaultdict(set)
    for cutting in stock.cuttings:
        cut_from[cutting.batch].add(cutting.lot)
    found: dict[str, set[str]] = defaultdict(set)
    for crop in grown:
        planted = {p.lot for p in crop.planted if p.lot}.union(*(cut_from[p.batch] for p in crop.planted if p.batch))
        for harvest in crop.harvested:
            if harvest.cause is None:
                found[harvest.lot] |= planted
    return {lot: frozenset(parents) for lot, parents in found.items()}


def parents_of(stock: StockRecords, grown: Iterable[Crop]) -> dict[str, frozenset[str]]:
    """Return the parent lots of every lot: those that are written, and those its pots were planted with."""
    found = defaultdict(frozenset[str], grown_from(stock, grown))
    for lot in stock.lots:
        found[lot.lot] |= set(lot.parents)
    return dict(found)


def ancestors(lot: str, parents: Mapping[str, Iterable[str]], stock: StockRecords) -> list[Relative]:
    """Return all lots that a lot descends from, the nearest first.

    Args:
        lot: its name.
        parents: what `parents_of` returned.
        stock: the records, for the generations.
    """
    return _relatives(lot, parents, stock)


def descendants(lot: str, parents: Mapping[str, Iterable[str]], stock: StockRecords) -> list[Relative]:
    """Return all lots that descend from a lot, the nearest first; arguments as those of `ancestors`."""
    children: dict[str, list[str]] = defaultdict(list)
    for child, its in parents.items():
        for parent in its:
            children[parent].append(child)
    return _relatives(lot, children, stock)


def _relatives(lot: str, next_to: Mapping[str, Iterable[str]], stock: StockRecords) -> list[Relative]:
    """Return what can be reached from a lot, by breadth, so that each is met over the fewest lots."""
    generation = {record.lot: record.generation for record in stock.lots}
    steps, queue = {lot: 0}, deque([lot])
    while queue:
        here = queue.popleft()
        for other in sorted(next_to.get(here, ())):
            if other not in steps:
                steps[other] = steps[here] + 1
                queue.append(other)
    return [Relative(name, count, generation.get(name)) for name, count in steps.items() if count]


def held(stock: StockRecords) -> tuple[Hold, ...]:
    """Return the holds in force: the last one on each subject, if it was not released since.

    Where a hold and a release bear the same instant (dates without a time), the hold counts.
    """
    last: dict[tuple[str | None, ...], Hold] = {}
    for hold in sorted(stock.holds, key=lambda hold: (hold.at, hold.kind == "hold")):
        last[_subject(hold)] = hold
    return tuple(hold for hold in last.values() if hold.kind == "hold")


def _subject(hold: Hold) -> tuple[str | None, ...]:
    """Return what a hold is about; where a pot stood does not matter."""
    place = hold.place if not (hold.lot or hold.batch or hold.pot) else None
    return hold.lot, hold.batch, hold.pot, place
