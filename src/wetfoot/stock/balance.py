"""The mass balance of a lot: what came in must have been planted, sold, passed on, culled, shrunk, or be in store."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from wetfoot.book.entries import Record
from wetfoot.stock.lots import StockRecords

GAP_SHARE = 0.03
"""A gap above this share of what came in is flagged (handbook, agronomy 7, a proposal there)."""
SHRINK_PER_MONTH = 0.1095
"""The most a lot in store loses a month without rot: 28 % in 3 months (Chittaragi et al. 2022, PLoS ONE 17(5):e0265320,
in evaporatively cooled chambers, as the handbook, agronomy 1.4, gives it)."""
_DAYS_PER_MONTH = 365.25 / 12.0

Account = Literal["in", "planted", "sold", "culled", "passed on", "check"]
_ORDER = {"in": 0, "planted": 1, "sold": 1, "culled": 1, "passed on": 1, "check": 2}


@dataclass(frozen=True)
class Entry:
    """Kilograms of a lot on one account; of a check, what was left then."""

    account: Account
    kg: float
    at: datetime
    id: str


@dataclass(frozen=True)
class Balance:
    """What became of a lot, in kg: ``in_kg`` is the sum of all the others, the gap included.

    Attributes:
        lot: its name.
        in_kg: what came in by harvest (culls of pots included), purchase or from another lot.
        planted_kg: what was cut for batches or planted uncut.
        sold_kg: what was sent to others.
        culled_kg: what was culled, and rot taken out in store.
        passed_on_kg: what was split off into lots of the same generation.
        shrink_kg: water lost in store between weighings, as far as that is likely.
        in_store_kg: what is left by the last weighing and what happened since.
        gap_kg: what is missing; negative where there is more than came in.
        least_kg: the least that was in the book at any moment; well below zero, more went out than there was.
        unweighed: ids of records whose mass is not written, so that the balance cannot be complete.
        ids: ids of the records that were counted.
    """

    lot: str
    in_kg: float
    planted_kg: float
    sold_kg: float
    culled_kg: float
    passed_on_kg: float
    shrink_kg: float
    in_store_kg: float
    gap_kg: float
    least_kg: float
    unweighed: tuple[str, ...]
    ids: tuple[str, ...]

    @property
    def flagged(self) -> bool:
        """Whether the gap is larger than weighing explains."""
        return abs(self.gap_kg) > GAP_SHARE * self.in_kg + 1e-9

    @property
    def overdrawn(self) -> bool:
        """Whether more went out at some moment than had come in until then."""
        return self.least_kg < -GAP_SHARE * self.in_kg - 1e-9


def balances(stock: StockRecords) -> dict[str, Balance]:
    """Return the mass balance of every lot that any record names with a mass, by its name."""
    entries, unweighed = ledger(stock)
    names = dict.fromkeys([*(lot.lot for lot in stock.lots), *entries])
    return {name: balance(name, entries.get(name, ()), unweighed.get(name, ())) for name in names}


def balance(lot: str, entries: Iterable[Entry], unweighed: Iterable[str] = ()) -> Balance:
    """Return the balance of one lot.

    What a check finds less than the book has is shrink up to `SHRINK_PER_MONTH` since the last weighing, and a gap
    beyond; what it finds more is a gap below zero. At one instant, what came in counts first, then what went out.

    Args:
        lot: its name.
        entries: what came in, went out and was found.
        unweighed: ids of records without a mass.
    """
    sums: dict[str, float] = defaultdict(float)
    have = shrink = gap = least = 0.0
    weighed_at: datetime | None = None
    ordered = sorted(entries, key=lambda entry: (entry.at, _ORDER[entry.account]))
    for entry in ordered:
        if entry.account == "check":
            lost = have - entry.kg
            natural = min(max(lost, 0.0), _most_shrink_kg(have, weighed_at, entry.at))
            shrink, gap, have = shrink + natural, gap + lost - natural, entry.kg
        else:
            sums[entry.account] += entry.kg
            have += entry.kg if entry.account == "in" else -entry.kg
            least = min(least, have)
        if entry.account in ("in", "check"):
            weighed_at = entry.at if entry.account == "check" or weighed_at is None else weighed_at
    return Balance(
        lot,
        in_kg=sums["in"],
        planted_kg=sums["planted"],
        sold_kg=sums["sold"],
        culled_kg=sums["culled"],
        passed_on_kg=sums["passed on"],
        shrink_kg=shrink,
        in_store_kg=max(have, 0.0),
        gap_kg=gap + min(have, 0.0),
        least_kg=least,
        unweighed=tuple(unweighed),
        ids=tuple(dict.fromkeys(entry.id for entry in ordered)),
    )


def _most_shrink_kg(kg: float, since: datetime | None, until: datetime) -> float:
    """Return the most that a mass can shrink in a time, losing the same share in every equal part of it."""
    months = (until - since).total_seconds() / 86_400.0 / _DAYS_PER_MONTH if since else 0.0
    return max(kg, 0.0) * -math.expm1(-SHRINK_PER_MONTH * months)


def ledger(stock: StockRecords) -> tuple[dict[str, list[Entry]], dict[str, list[str]]]:
    """Return the entries of every lot by its name, and the ids of records that should have a mass and do not."""
    entries: dict[str, list[Entry]] = defaultdict(list)
    unweighed: dict[str, list[str]] = defaultdict(list)
    for lot, account, kg, record in (*_came_in(stock), *_passed_on(stock), *_went_out(stock), *_in_store(stock)):
        if kg is None:
            unweighed[lot].append(record.id)
        else:
            entries[lot].append(Entry(account, kg, record.at, record.id))
    return entries, unweighed


_Posting = tuple[str, Account, float | None, Record]


def _came_in(stock: StockRecords) -> Iterator[_Posting]:
    for lot in stock.lots:
        if lot.kg is not None:
            yield lot.lot, "in", lot.kg, lot
    for harvest in stock.harvests:
        if harvest.pot:
            yield harvest.lot, "in", harvest.kg, harvest


def _passed_on(stock: StockRecords) -> Iterator[_Posting]:
    """Yield what was split off into lots of the same generation; of several parents no one knows who gave how much."""
    generation = {lot.lot: lot.generation for lot in stock.lots}
    for lot in stock.lots:
        same = [name for name in lot.parents if lot.generation is not None and generation.get(name) == lot.generation]
        for name in same:
            yield name, "passed on", lot.kg if len(same) == 1 else None, lot


def _went_out(stock: StockRecords) -> Iterator[_Posting]:
    for cutting in stock.cuttings:
        yield cutting.lot, "planted", cutting.kg, cutting
    for planting in stock.plantings:
        if planting.lot:
            yield planting.lot, "planted", planting.kg, planting
    for harvest in stock.harvests:
        if harvest.cause is not None:
            yield harvest.lot, "culled", harvest.kg, harvest
    for shipment in stock.shipments:
        yield shipment.lot, "sold", shipment.kg, shipment


def _in_store(stock: StockRecords) -> Iterator[_Posting]:
    for check in stock.store_checks:
        yield check.lot, "culled", check.rot_kg, check
        yield check.lot, "check", check.kg, check
