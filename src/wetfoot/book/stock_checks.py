"""What makes a record of planting stock impossible by itself, and what makes it unlikely."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, fields
from typing import Any

from wetfoot.book.entries import TANK, Record
from wetfoot.book.numbers import number_problems, word_problems
from wetfoot.book.stock_entries import (
    HOLD_KINDS,
    RESULTS,
    STOCK_TYPES,
    About,
    Cutting,
    Harvest,
    HealthTest,
    Hold,
    Lot,
    Move,
    Planting,
)
from wetfoot.errors import Problem

NAMES = (
    *("lot", "batch", "to", "knife", "disinfectant", "species", "cultivar", "source", "permit", "grade"),
    *("agent", "method", "lab", "detection_limit"),
)
TEXTS = ("cause",)
LONGEST_CODE = 100
_NEEDED: dict[str, tuple[str, ...]] = {
    "Lot": ("lot",),
    "Cutting": ("batch", "lot", "pieces"),
    "Planting": ("pot", "place", "pieces"),
    "Move": ("pot", "place", "to"),
    "Harvest": ("lot", "kg"),
    "StoreCheck": ("lot", "kg", "rot_kg"),
    "Shipment": ("lot", "kg", "to"),
    "HealthTest": ("agent", "result"),
    "Hold": ("kind", "cause"),
}


@dataclass(frozen=True)
class Bound:
    """A number of planting stock: possible within (least, most), likely within (low, high)."""

    words: str
    unit: str
    least: float
    most: float
    low: float
    high: float


# Common practice, no source, but for: five generations in pots at most and seed pieces of 10 to 130 g (handbook,
# agronomy 3.6 and 1.1), a dip of 50 C for 10 minutes with some room (1.5), stores of 12 to 16 C with some room (1.4).
BOUNDS = {
    "generation": Bound("generation", "", 0, 100, 0, 5),
    "kg": Bound("mass", "kg", 0.0, 1e6, 0.0, 1e5),
    "rot_kg": Bound("rot", "kg", 0.0, 1e6, 0.0, 1e5),
    "pieces": Bound("number of pieces", "", 1, 10_000_000, 1, 100_000),
    "dip_c": Bound("temperature of the dip", "degC", 0.0, 100.0, 40.0, 55.0),
    "dip_minutes": Bound("time in the dip", "min", 0.0, 100_000.0, 0.0, 60.0),
    "temperature_c": Bound("temperature of the store", "degC", -50.0, 100.0, 0.0, 35.0),
    "humidity": Bound("humidity", "(1 is 100 %)", 0.0, 1.0, 0.3, 1.0),
    "samples": Bound("number of samples", "", 1, 1_000_000, 1, 10_000),
    "pool_size": Bound("pool size", "", 1, 1_000_000, 1, 1000),
    "sensitivity": Bound("sensitivity", "(1 is 100 %)", 0.0, 1.0, 0.5, 1.0),
    "specificity": Bound("specificity", "(1 is 100 %)", 0.0, 1.0, 0.9, 1.0),
}
_COUNTS = ("generation", "pieces", "samples", "pool_size")
_LIKELY_PIECE_KG = (0.005, 0.3)
_MOST_LIKELY_POT_KG = 15.0
_MOST_LIKELY_PIECES = 20


def stock_problems(record: Record) -> Iterator[Problem]:
    """Yield all that makes a record of planting stock impossible by itself."""
    if not isinstance(record, STOCK_TYPES):
        return
    for name in _NEEDED[type(record).__name__]:
        if getattr(record, name) is None:
            yield Problem(name, "it is missing", "a name, a number or a mass", "write it")
    for item in fields(record):
        value = getattr(record, item.name)
        if item.name in BOUNDS and value is not None:
            yield from _bound_problems(item.name, value)
    yield from _pot_problems(record)
    yield from _own_problems(record)


def _own_problems(record: Record) -> Iterator[Problem]:
    """Yield what cannot be in one type of record only."""
    if isinstance(record, Lot):
        yield from _lot_problems(record)
    elif isinstance(record, Planting):
        yield from _planting_problems(record)
    elif isinstance(record, Cutting) and record.batch == record.lot:
        yield Problem("batch", f"batch and lot are both {record.lot!r}", "a name of its own", "rename the batch")
    elif isinstance(record, Move) and record.place == record.to:
        yield Problem("to", f"the pot is in {record.to!r} already", "another bank", "say where it went")
    elif isinstance(record, Harvest) and record.pot is None and record.cause is None:
        yield Problem("pot", "a harvest needs its pot", "the pot's code or number", "say which pot")
    elif isinstance(record, About):
        yield from _about_problems(record)


def _pot_problems(record: Record) -> Iterator[Problem]:
    pot = getattr(record, "pot", None)
    if pot is not None and not (isinstance(pot, str) and len(pot) <= LONGEST_CODE and _is_code(pot)):
        yield Problem("pot", f"{pot!r} is not a pot's code", "a bank and a number, such as 'East 3'", "correct it")
    if isinstance(record, (Planting, Move)) and TANK in (record.place, bank_moved_to(record)):
        yield Problem("place", "no pot stands in the tank", "a bank's name", "say which bank")


def _is_code(pot: str) -> bool:
    """Return whether a code is spelled in the one way in which it is found again."""
    match = re.fullmatch(r"(.*?)(\s*)([0-9]+)", pot)
    return "\n" not in pot and (not match or (bool(match[1]) and (match[2] in ("", " ") and match[3][0] != "0")))


def _bound_problems(name: str, value: Any) -> Iterator[Problem]:
    bound = BOUNDS[name]
    if name in _COUNTS and type(value) is not int:
        yield Problem(bound.words, f"{value!r} is not a whole number", "a whole number", "correct it")
    else:
        yield from number_problems(bound.words, value, bound.least, bound.most, bound.unit)


def _lot_problems(lot: Lot) -> Iterator[Problem]:
    for name in (lot.lot, *lot.parents):
        if not isinstance(name, str) or len(name) > LONGEST_CODE or ";" in name or "\n" in name:
            yield Problem(
                "lot",
                f"{name!r} cannot be the name of a lot",
                "up to 100 characters without ';' on one line",
                "rename it",
            )
    if lot.lot in lot.parents:
        what = f"lot {lot.lot!r} cannot descend from itself"
        yield Problem("parents", what, "names of other lots", "correct the parents")


def _planting_problems(planting: Planting) -> Iterator[Problem]:
    if (planting.batch is None) == (planting.lot is None):
        what = "neither batch nor lot is named" if planting.lot is None else "both a batch and a lot are named"
        yield Problem("batch", what, "a batch, or a lot that was planted uncut", "name one")


def _about_problems(record: About) -> Iterator[Problem]:
    named = [name for name in ("lot", "batch", "pot") if getattr(record, name) is not None]
    if len(named) > 1:
        what = f"it is about {' and '.join(named)} at once"
        yield Problem(named[0], what, "one of lot, batch, pot, or a bank alone", "write one record for each")
    if not named and record.place is None:
        yield Problem("lot", "what it is about is not said", "a lot, a batch, a pot or a bank", "name it")
    if isinstance(record, HealthTest):
        yield from word_problems("result", record.result, RESULTS)
        if record.confirms is not None and record.confirms in (record.id, record.supersedes):
            yield Problem("confirms", "a test cannot confirm itself", "the id of an older test", "correct it")
    if isinstance(record, Hold):
        yield from word_problems("kind", record.kind, HOLD_KINDS)


def bank_moved_to(record: Record) -> str | None:
    """Return the bank that a pot was moved to; None for any other record."""
    return record.to if isinstance(record, Move) else None


def stock_doubts(record: Record) -> list[str]:
    """Return, in words, all that makes a possible record of planting stock unlikely by itself."""
    if not isinstance(record, STOCK_TYPES):
        return []
    found = []
    for item in fields(record):
        bound, value = BOUNDS.get(item.name), getattr(record, item.name)
        if bound and value is not None and not bound.low <= value <= bound.high:
            found.append(f"{bound.words} outside {bound.low:g} to {bound.high:g} {bound.unit}".rstrip())
    if isinstance(record, (Cutting, Planting)) and record.kg is not None:
        least, most = _LIKELY_PIECE_KG
        if not least <= record.kg / record.pieces <= most:
            found.append(f"pieces outside {1000 * least:g} to {1000 * most:g} g")
    if isinstance(record, Planting) and record.pieces > _MOST_LIKELY_PIECES:
        found.append(f"more than {_MOST_LIKELY_PIECES} pieces in a pot")
    if isinstance(record, Cutting) and (record.dip_c is None) != (record.dip_minutes is None):
        found.append("a dip needs both temperature and minutes")
    if isinstance(record, Harvest) and record.pot and record.kg > _MOST_LIKELY_POT_KG:
        found.append(f"more than {_MOST_LIKELY_POT_KG:g} kg from a pot")
    return found
