"""Read the cells of a row as the fields of a record of planting stock."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any

from wetfoot.book.cells import id_in, place_in, temperature_in, value_in
from wetfoot.book.checks import PlacesKnown
from wetfoot.book.entries import TANK
from wetfoot.book.layout import Meaning
from wetfoot.book.stock_entries import Harvest, Hold, StoreCheck
from wetfoot.book.stock_layout import ITEMS, Item
from wetfoot.errors import Problem, WetfootError, refuse
from wetfoot.quantities import parse


def stock_fields(cells: Mapping[str, str], meaning: Meaning, places: PlacesKnown) -> tuple[dict[str, Any], list[str]]:
    """Return the fields that only this type of record has, and what is doubtful about them.

    Raises:
        WetfootError: with all cells that cannot be read.
    """
    found: dict[str, Any] = {}
    problems: list[Problem] = []
    doubts: list[str] = []
    for item in ITEMS[meaning.record]:
        try:
            found[item.field] = _read(cells, item, meaning, places, doubts)
        except WetfootError as error:
            problems += error.problems
    if problems:
        raise WetfootError(problems)
    _fill_in(found, meaning)
    return found, doubts


def _fill_in(found: dict[str, Any], meaning: Meaning) -> None:
    """Fill in what the word under `what` says by itself."""
    if meaning.record is Hold:
        found["kind"] = meaning.kind
    if meaning.record is StoreCheck and found["rot_kg"] is None:
        found["rot_kg"] = 0.0
    if meaning.record is not Harvest:
        return
    if meaning.kind == "cull" and not found["cause"]:
        raise refuse("cause", "a cull needs its cause", "small, rot, malformed, damaged, suspect", "write it")
    if meaning.kind != "cull" and found["cause"]:
        raise refuse(
            "cause", "what was harvested sound has no cause", "nothing", "write 'cull' under what, or empty it"
        )


def _read(cells: Mapping[str, str], item: Item, meaning: Meaning, places: PlacesKnown, doubts: list[str]) -> Any:
    text = cells.get(item.column, "")
    if item.kind == "bank":
        return known_bank(text if item.column == "to" else place_in(cells) or "", places) or None
    if not text:
        return () if item.kind == "names" else None
    if item.kind == "pot":
        return pot_code(text, known_bank(place_in(cells) or "", places), places)
    if item.kind == "value":
        return value_in(cells, meaning)
    if item.kind == "celsius":
        degrees, doubt = temperature_in(cells)
        doubts += [doubt] if doubt else []
        return degrees
    if item.kind == "id":
        return id_in(item.column, cells)
    return _READ[item.kind](text, item.column)


def _names(text: str, column: str) -> tuple[str, ...]:
    return tuple(name.strip() for name in text.split(";") if name.strip())


def _count(text: str, column: str) -> int:
    if not re.fullmatch(r"[0-9]{1,9}", text):
        raise refuse(column, f"{text!r} is not a whole number", "a whole number", "correct it")
    return int(text)


def _number(text: str, column: str) -> float:
    try:
        return float(text)
    except ValueError as error:
        raise refuse(column, f"{text!r} is not a number", "a number", "correct it") from error


_READ: dict[str, Callable[[str, str], Any]] = {
    "text": lambda text, column: text.casefold() if column == "result" else text,
    "names": _names,
    "count": _count,
    "generation": lambda text, column: _count(re.sub(r"^[gG]\s*(?=\d)", "", text), column),
    "number": _number,
    "mass": lambda text, column: parse(text, "mass", column),
    "share": lambda text, column: parse(text, "fraction", column),
}


def known_bank(bank: str, places: PlacesKnown) -> str:
    """Return a bank as it is known, if only case and signs differ."""
    if bank in (TANK, *places.banks):
        return bank
    alike = [known for known in places.banks if spelled(known) == spelled(bank)]
    return alike[0] if len(alike) == 1 else bank


def spelled(place: str) -> str:
    """Return a place without case, spaces and signs, in which two writers may differ."""
    return re.sub(r"[\W_]+", "", place.casefold())


def pot_code(text: str, bank: str, places: PlacesKnown) -> str:
    """Return a pot's code: what stands there, or for a bare number the bank with that number.

    Raises:
        WetfootError: for a bare number without its bank.

    >>> pot_code("3", "East", PlacesKnown()), pot_code("east 3", "", PlacesKnown({"East": 24}))
    ('East 3', 'East 3')
    """
    if re.fullmatch(r"[0-9]{1,6}", text):
        if not bank:
            raise refuse(
                "pot", f"pot {text} needs its bank", "the pot's code, or its bank under place", "say which bank"
            )
        return f"{bank} {int(text)}"
    match = re.fullmatch(r"(.*\S)\s+([0-9]{1,6})", text)
    return f"{known_bank(match[1], places)} {int(match[2])}" if match else text
