"""Everything in the book that joins pots, lots and people, as contacts for `exposure`.

The names of contacts: a pot's code, the names of lots and batches, of those whom stock came from or went to; places
are 'bank East', 'knife blue' and so on, with a new name from each cleaning on.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from itertools import groupby

from wetfoot.book.entries import Record
from wetfoot.book.stock_entries import Cutting
from wetfoot.stock.exposure import Contact, Passage, Stay
from wetfoot.stock.lots import StockRecords, by_type, crops, day_of
from wetfoot.stock.pots import Crop, Standing


def contacts_from(
    records: Iterable[Record], banks: Mapping[str, int], standing_since: date | None = None
) -> list[Contact]:
    """Return all stays and passages that the current records of a book tell of.

    Args:
        records: those that hold, of any type.
        banks: how many pots the plan has in each bank, by its name.
        standing_since: since when pots of the plan of which no planting is written stand in their banks (the
            plan's day of planting); None leaves these pots out.
    """
    stock = by_type(records)
    grown = crops(stock, banks, standing_since)
    return [
        *_waters(grown, _cleanings(stock), banks),
        *_knives(stock.cuttings),
        *_material(stock),
    ]


def bank_place(bank: str, cleaned: Iterable[date], day: date) -> str:
    """Return the name of a bank's water on a day: a new one from each cleaning on.

    >>> bank_place("East", [date(2026, 3, 1)], date(2026, 3, 1))
    'bank East, cleaned 2026-03-01'
    """
    before = [each for each in cleaned if each <= day]
    return f"bank {bank}, cleaned {max(before)}" if before else f"bank {bank}"


def _cleanings(stock: StockRecords) -> dict[str, list[date]]:
    found: dict[str, set[date]] = defaultdict(set)
    for event in stock.events:
        if event.kind == "bank_cleaned" and event.place:
            found[event.place].add(day_of(event))
    return {bank: sorted(days) for bank, days in found.items()}


def _waters(crops: Iterable[Crop], cleaned: Mapping[str, list[date]], banks: Mapping[str, int]) -> Iterator[Contact]:
    for crop in crops:
        for standing in crop.standings:
            for part in _between_cleanings(standing, cleaned.get(standing.bank, [])):
                place = bank_place(part.bank, cleaned.get(part.bank, []), part.since)
                yield Stay("water", crop.pot, place, part.since, part.until)
                for gap in _gaps(crop.pot, part.bank, banks):
                    yield Stay("splash", crop.pot, f"{place}, between pots {gap} and {gap + 1}", part.since, part.until)


def _between_cleanings(standing: Standing, cleaned: Iterable[date]) -> list[Standing]:
    """Return a standing cut at the cleanings it lasted through: such a pot knew both waters.

    A bank is cleaned empty: who comes on the day of a cleaning comes after it, who leaves on it left before.
    """
    until = standing.until or date.max
    cuts = [day for day in cleaned if standing.since < day < until]
    starts, ends = [standing.since, *cuts], [*cuts, standing.until]
    return [Standing(standing.bank, since, end) for since, end in zip(starts, ends, strict=True)]


def _gaps(pot: str, bank: str, banks: Mapping[str, int]) -> list[int]:
    """Return the gaps beside a pot in its bank; all of them where its position is not known, since it was moved in."""
    last = banks.get(bank, 0)
    head, _, number = pot.rpartition(" ")
    if head != bank or not number.isdecimal():
        return list(range(1, last))
    return [gap for gap in (int(number) - 1, int(number)) if gap >= 1 and (gap < last or not last)]


def _knives(cuttings: Iterable[Cutting]) -> Iterator[Contact]:
    """Yield the stays of batches on knives: together from one disinfection to the next.

    Of cuttings at one instant (dates without a time) the order is not known; one without disinfection may then
    have followed any of them.
    """
    of_knife: dict[str, list[Cutting]] = defaultdict(list)
    for cutting in cuttings:
        if cutting.knife:
            of_knife[cutting.knife].append(cutting)
    for knife, own in of_knife.items():
        on_it: list[str] = []
        count = 0
        for _, group in groupby(sorted(own, key=lambda cutting: cutting.at), key=lambda cutting: cutting.at):
            together = list(group)
            fresh = {c.id: f"knife {knife}, use {n}" for n, c in enumerate(together, count + 1) if c.disinfectant}
            count += len(together)
            rest = [c for c in together if not c.disinfectant]
            possible = [*on_it, *fresh.values()] or [f"knife {knife}, use {count}"]
            for cutting in together:
                for place in [fresh[cutting.id]] if cutting.disinfectant else possible:
                    yield Stay("tool", cutting.batch, place, day_of(cutting), day_of(cutting))
            on_it = possible if rest else list(fresh.values())


def _material(stock: StockRecords) -> Iterator[Contact]:
    for lot in stock.lots:
        for parent in lot.parents:
            yield Passage("parentage", parent, lot.lot, day_of(lot))
        if lot.source:
            yield Passage("dispatch", lot.source, lot.lot, day_of(lot))
    for cutting in stock.cuttings:
        yield Passage("parentage", cutting.lot, cutting.batch, day_of(cutting))
    for planting in stock.plantings:
        yield Passage("parentage", str(planting.batch or planting.lot), planting.pot, day_of(planting))
    for harvest in stock.harvests:
        if harvest.pot and harvest.cause is None:
            yield Passage("parentage", harvest.pot, harvest.lot, day_of(harvest))
    for shipment in stock.shipments:
        yield Passage("dispatch", shipment.lot, shipment.to, day_of(shipment))
