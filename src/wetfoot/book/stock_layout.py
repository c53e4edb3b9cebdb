"""How records of planting stock stand in a spreadsheet: which field under which column, and of what kind."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from wetfoot.book.entries import Record
from wetfoot.book.spreadsheet import Cell
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

Kind = Literal[
    "text", "names", "bank", "pot", "count", "generation", "value", "mass", "celsius", "number", "share", "id"
]


@dataclass(frozen=True)
class Item:
    """A field of a record, the column it stands under, and how it is read and written there."""

    field: str
    column: str
    kind: Kind = "text"


def _items(*columns: str, **others: tuple[str, Kind]) -> tuple[Item, ...]:
    return (*(Item(name, name) for name in columns), *(Item(name, *how) for name, how in others.items()))


KG = Item("kg", "value", "value")
_PIECES = Item("pieces", "pieces", "count")
_POT = (Item("place", "place", "bank"), Item("pot", "pot", "pot"))
_ABOUT = (*_items("lot", "batch"), *_POT)
ITEMS: dict[type[Record], tuple[Item, ...]] = {
    Lot: (
        *_items("lot", parents=("parents", "names"), generation=("generation", "generation")),
        *_items("species", "cultivar", "source", "permit"),
        KG,
    ),
    Cutting: (
        *_items("batch", "lot", "knife", "disinfectant"),
        *_items(dip_c=("temperature", "celsius"), dip_minutes=("minutes", "number")),
        _PIECES,
        KG,
    ),
    Planting: (*_POT, *_items("batch", "lot"), _PIECES, KG),
    Move: (*_POT, Item("to", "to", "bank")),
    Harvest: (*_POT, *_items("lot", "grade", "cause"), KG),
    StoreCheck: (
        *_items(
            "lot", rot_kg=("rot", "mass"), temperature_c=("temperature", "celsius"), humidity=("humidity", "share")
        ),
        KG,
    ),
    Shipment: (*_items("lot", "to", "permit"), KG),
    HealthTest: (
        *_ABOUT,
        *_items("agent", "method", "lab", "result", detection_limit=("detection limit", "text")),
        *_items(samples=("samples", "count"), pool_size=("pool size", "count")),
        *_items(
            sensitivity=("sensitivity", "share"), specificity=("specificity", "share"), confirms=("confirms", "id")
        ),
    ),
    Hold: (*_ABOUT, *_items("cause")),
}
WORDS: dict[str, tuple[type[Record], str]] = {
    "lot": (Lot, ""),
    "cutting": (Cutting, ""),
    "planting": (Planting, ""),
    "pot moved": (Move, ""),
    "harvest": (Harvest, ""),
    "cull": (Harvest, "cull"),
    "store check": (StoreCheck, ""),
    "shipment": (Shipment, ""),
    "test": (HealthTest, ""),
    "hold": (Hold, "hold"),
    "release": (Hold, "release"),
}
"""What stands under `what`: the type of record, and its kind. A pot moved without a bank it went to is an event."""

# Every column that only records of planting stock have, with other headings that people write for it.
STOCK_COLUMNS = {
    "lot": "lot name; lot number",
    "batch": "cutting batch",
    "parents": "parent; parent lot; parent lots",
    "generation": "",
    "species": "",
    "cultivar": "variety",
    "source": "supplier; from whom",
    "permit": "certificate; permit number",
    "pieces": "seed pieces; number of pieces",
    "knife": "knife session",
    "disinfectant": "disinfected with",
    "minutes": "dip minutes",
    "to": "to bank; to whom; recipient; customer",
    "grade": "",
    "cause": "cull reason; hold reason",
    "rot": "rot removed",
    "humidity": "relative humidity; rh",
    "agent": "tested for; pathogen",
    "method": "",
    "lab": "laboratory",
    "detection limit": "lod",
    "samples": "number of samples; pools",
    "pool size": "pieces per pool",
    "sensitivity": "",
    "specificity": "",
    "result": "",
    "confirms": "confirms test",
}


def word_for(record: Record) -> str:
    """Return what stands under `what` for a record of planting stock."""
    kind = record.kind if isinstance(record, Hold) else ""
    if isinstance(record, Harvest) and record.cause is not None:
        kind = "cull"
    return next(word for word, meant in WORDS.items() if meant == (type(record), kind))


def stock_cells(record: Record) -> dict[str, Cell]:
    """Return the cells of a record of planting stock that other records do not have."""
    cells: dict[str, Cell] = {"what": word_for(record)}
    for item in ITEMS[type(record)]:
        cells[item.column] = _written(getattr(record, item.field), item.kind)
        if item.kind == "value" and cells[item.column] is not None:
            cells["unit"] = "kg"
    return cells


def own_values(record: Record) -> tuple[Any, ...]:
    """Return what only this type of record says, in the order of its items."""
    return tuple(getattr(record, item.field) for item in ITEMS[type(record)])


def _written(value: Any, kind: Kind) -> Cell:
    if value is None:
        return None
    if kind == "names":
        return "; ".join(value) or None
    if kind in ("mass", "celsius"):
        return f"{value:.12g} {'kg' if kind == 'mass' else 'degC'}"
    cell: Cell = value
    return cell
