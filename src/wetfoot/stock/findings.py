"""What cannot be in the records of planting stock taken together, and what is missing in them.

Nothing here is dropped or refused: what one record alone shows to be impossible never came into the book.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter
from itertools import pairwise
from typing import Literal

from wetfoot.book.entries import TANK, Record
from wetfoot.book.stock_entries import Cutting, Harvest, Lot, Planting, Shipment, StoreCheck
from wetfoot.book.stock_layout import word_for
from wetfoot.stock.balance import GAP_SHARE, balances
from wetfoot.stock.lots import StockRecords, day_of, grown_from, parents_of
from wetfoot.stock.pots import Crop, pots_of_plan


@dataclass(frozen=True)
class Finding:
    """Something that cannot be, or is not known.

    Attributes:
        words: what.
        ids: of the records that say so.
        kind: 'never' if no record still to come can make it right, 'not yet' if one that was forgotten can, 'open'
            if it only says that something is missing or not known.
    """

    words: str
    ids: tuple[str, ...]
    kind: Literal["never", "not yet", "open"] = "not yet"


def findings(stock: StockRecords, grown: list[Crop], banks: Mapping[str, int]) -> list[Finding]:
    """Return all that contradicts itself or is missing in the records.

    Args:
        stock: the records.
        grown: what `lots.crops` returned of them.
        banks: how many pots the plan has in each bank.
    """
    parents = parents_of(stock, grown)
    return [
        *_names(stock),
        *_unknown(stock, grown, banks),
        *_circles(stock, parents),
        *(finding for crop in grown for finding in _crop(crop)),
        *_pieces(stock),
        *_masses(stock),
        *_generations(stock, grown),
        *_loose_ends(stock),
    ]


def _ids(records: Iterable[Record]) -> tuple[str, ...]:
    return tuple(record.id for record in records)


def _names(stock: StockRecords) -> Iterator[Finding]:
    """Yield names that stand for more than one thing."""
    of_name: dict[str, dict[str, list[Record]]] = defaultdict(lambda: defaultdict(list))
    for lot in stock.lots:
        of_name[lot.lot]["lot"].append(lot)
    for cutting in stock.cuttings:
        of_name[cutting.batch]["batch"].append(cutting)
    for planting in stock.plantings:
        of_name[planting.pot]["pot"].append(planting)
    for name, things in of_name.items():
        for thing in ("lot", "batch"):
            if len(things[thing]) > 1:
                yield Finding(
                    f"there are {len(things[thing])} {thing} records of the name {name!r}", _ids(things[thing]), "never"
                )
        several = [thing for thing, records in things.items() if records]
        if len(several) > 1:
            records = [record for thing in several for record in things[thing]]
            yield Finding(f"{name!r} is the name of a {' and of a '.join(several)}", _ids(records), "never")


def _unknown(stock: StockRecords, grown: Iterable[Crop], banks: Mapping[str, int]) -> Iterator[Finding]:
    """Yield records about lots, batches, pots and banks that do not exist."""
    there = {
        "lot": {lot.lot for lot in stock.lots},
        "batch": {cutting.batch for cutting in stock.cuttings},
        "pot": {crop.pot for crop in grown if crop.since} | set(pots_of_plan(banks)),
        "bank": {*banks, TANK, *(standing.bank for crop in grown for standing in crop.standings)},
    }
    for kind, name, record in _named(stock):
        if name not in there[kind]:
            yield Finding(f"{word_for(record)} of {day_of(record)}: there is no {kind} {name!r}", (record.id,))


def _named(stock: StockRecords) -> Iterator[tuple[str, str, Record]]:
    """Yield each name that a record takes for known, as (kind, name, record)."""
    for lot in stock.lots:
        yield from (("lot", parent, lot) for parent in lot.parents)
    of_lot: list[Cutting | Planting | Harvest | StoreCheck | Shipment] = [*stock.cuttings, *stock.plantings]
    of_lot += [*stock.harvests, *stock.store_checks, *stock.shipments]
    yield from (("lot", record.lot, record) for record in of_lot if record.lot)
    for planting in stock.plantings:
        if planting.batch:
            yield "batch", planting.batch, planting
    for about in (*stock.tests, *stock.holds):
        kind = "lot" if about.lot else "batch" if about.batch else "pot" if about.pot else "bank"
        yield kind, about.subject, about


def _circles(stock: StockRecords, parents: Mapping[str, frozenset[str]]) -> Iterator[Finding]:
    """Yield one circle of parentage after another, taking one link out of each that was found."""
    graph = {lot: set(its) for lot, its in parents.items()}
    while True:
        try:
            TopologicalSorter(graph).prepare()
            return
        except CycleError as error:
            circle: list[str] = error.args[1]
        own: list[Lot | Harvest | Cutting] = [*stock.lots, *stock.harvests, *stock.cuttings]
        ids = _ids(record for record in own if record.lot in circle)
        yield Finding(f"{' is a parent of '.join(circle)}: a lot cannot descend from itself", ids, "never")
        graph[circle[1]].discard(circle[0])


def _crop(crop: Crop) -> Iterator[Finding]:
    """Yield what cannot be with one pot from planting to harvest."""
    known = crop.since is not None
    if crop.harvested and not known:
        yield Finding(f"pot {crop.pot} was harvested, but not planted before", _ids(crop.harvested))
    if crop.moved and not known:
        yield Finding(f"pot {crop.pot} was moved, but not planted before", _ids(crop.moved))
    for move in crop.astray if known else ():
        yield Finding(
            f"pot {crop.pot} was moved out of {move.place} on {day_of(move)}, but did not stand there", (move.id,)
        )
    for first, second in pairwise(crop.standings):
        if first.bank != second.bank and (first.until is None or first.until > second.since):
            until = first.until or "now"
            words = f"pot {crop.pot} is in {first.bank} until {until} and in {second.bank} from {second.since}"
            yield Finding(f"{words}: two places at once", _ids((*crop.planted, *crop.moved)), "never")


def _pieces(stock: StockRecords) -> Iterator[Finding]:
    """Yield batches of which more was planted than cut, or planted before it was cut."""
    planted: dict[str, list[Record]] = defaultdict(list)
    pieces: dict[str, int] = defaultdict(int)
    for planting in stock.plantings:
        if planting.batch:
            planted[planting.batch].append(planting)
            pieces[planting.batch] += planting.pieces
    for batch in dict.fromkeys(cutting.batch for cutting in stock.cuttings):
        cut = [cutting for cutting in stock.cuttings if cutting.batch == batch]
        there = sum(cutting.pieces for cutting in cut)
        if pieces[batch] > there:
            words = f"batch {batch!r}: {pieces[batch]} pieces were planted, {there} were cut"
            yield Finding(words, _ids((*cut, *planted[batch])))
        first = min(day_of(cutting) for cutting in cut)
        early = [record for record in planted[batch] if day_of(record) < first]
        if early:
            yield Finding(f"batch {batch!r} was planted before it was cut on {first}", _ids((*cut, *early)))


def _masses(stock: StockRecords) -> Iterator[Finding]:
    """Yield lots of which more went out than came in, of which some is missing, or of which masses are not known."""
    for balance in balances(stock).values():
        if balance.overdrawn:
            out = f"{-balance.least_kg:.3g} kg more went out than had come in until then"
            yield Finding(f"lot {balance.lot!r}: {out}", balance.ids)
        elif balance.flagged:
            what = "missing" if balance.gap_kg > 0 else "more than came in"
            words = f"{abs(balance.gap_kg):.3g} of {balance.in_kg:.3g} kg {what} (over {GAP_SHARE:.0%})"
            yield Finding(f"lot {balance.lot!r}: {words}", balance.ids, "open")
        if balance.unweighed:
            words = f"lot {balance.lot!r}: {len(balance.unweighed)} records do not say how many kg; its balance is open"
            yield Finding(words, balance.unweighed, "open")


def _generations(stock: StockRecords, grown: Iterable[Crop]) -> Iterator[Finding]:
    """Yield harvested lots that are not one generation after what their pots were planted with."""
    generation = {lot.lot: lot.generation for lot in stock.lots}
    records = {lot.lot: lot for lot in stock.lots}
    for lot, parents in grown_from(stock, grown).items():
        own = generation.get(lot)
        older = [before for parent in parents if (before := generation.get(parent)) is not None]
        if own is not None and older and own != max(older) + 1:
            words = f"lot {lot!r} is of generation {own}, but was grown from generation {max(older)}"
            yield Finding(words, _ids(records[name] for name in (lot, *sorted(parents)) if name in records))


def _loose_ends(stock: StockRecords) -> Iterator[Finding]:
    """Yield records that do not say what exposure needs to know."""
    for event in stock.events:
        if event.kind == "pot_moved":
            yield Finding(f"a pot was moved on {day_of(event)}, but not said where to", (event.id,), "open")
        if event.kind == "bank_cleaned" and not event.place:
            yield Finding(f"a bank was cleaned on {day_of(event)}, but not said which", (event.id,), "open")
        if event.kind == "pot_removed" and not (event.place and event.pot):
            yield Finding(f"a pot was removed on {day_of(event)}, but not said which", (event.id,), "open")
    for cutting in stock.cuttings:
        if not cutting.knife:
            yield Finding(f"batch {cutting.batch!r}: who shared its knife is not known", (cutting.id,), "open")
    on_hold: set[tuple[str | None, ...]] = set()
    for hold in sorted(stock.holds, key=lambda hold: (hold.at, hold.kind)):
        what = (hold.lot, hold.batch, hold.pot, None if hold.lot or hold.batch or hold.pot else hold.place)
        if hold.kind == "hold":
            on_hold.add(what)
        elif what not in on_hold:
            yield Finding(f"{hold.subject} was released on {day_of(hold)}, but was not on hold", (hold.id,), "not yet")
