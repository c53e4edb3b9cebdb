"""Read single cells of a row: when, where, how much, yes or no. Each function refuses what it cannot read."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import UTC, datetime
from uuid import UUID

from wetfoot.book.checks import zone_named
from wetfoot.book.entries import TANK
from wetfoot.book.instants import NOON, instant, read_date, read_time
from wetfoot.book.layout import Meaning
from wetfoot.errors import refuse
from wetfoot.quantities import parse

_BARE_NUMBER = re.compile(r"[+-]?[\d./\s]*\d[\d./\s]*(?:[eE][+-]?\d+)?")
_EC_UNITS = {
    **dict.fromkeys(("ms", "ms/cm"), "mS/cm"),
    **dict.fromkeys(("us", "us/cm", "µs", "µs/cm", "μs", "μs/cm"), "uS/cm"),
}
_YES_NO = dict.fromkeys(("yes", "y", "true", "1"), True) | dict.fromkeys(("no", "n", "false", "0"), False)


def moment_in(cells: Mapping[str, str], zone_otherwise: str) -> tuple[datetime, str, bool, str | None]:
    """Return the instant, the zone's name, whether a time was given, and what is doubtful about it."""
    name = cells.get("zone") or zone_otherwise
    zone = zone_named(name)
    if zone is None:
        raise refuse("zone", f"{name!r} is not a time zone", "an IANA name such as 'Asia/Manila'", "mend it")
    day, behind = read_date(cells.get("date", ""))
    typed = cells.get("time") or behind
    clock = read_time(typed) if typed else NOON
    try:
        at, doubt = instant(day, clock, zone)
    except OverflowError as error:
        raise refuse("date", f"{day} is out of the calendar", "1900 to 2200", "correct it") from error
    if behind and read_time(behind) != clock:
        doubt = f"two times were given, {behind} and {typed}; taken as {typed}"
    return at, name, bool(typed), doubt


def id_in(column: str, cells: Mapping[str, str]) -> str | None:
    """Return an id as the book writes it, or None where there is none."""
    text = cells.get(column)
    if not text:
        return None
    try:
        return str(UUID(text))
    except ValueError as error:
        what = f"{text!r} is not an id of the book"
        raise refuse(column, what, "a uuid, or nothing", "empty it") from error


def yes_in(column: str, cells: Mapping[str, str], otherwise: bool) -> bool:
    """Return whether a cell says yes; what holds otherwise, where it is empty."""
    text = cells.get(column)
    if not text:
        return otherwise
    if text.casefold() not in _YES_NO:
        raise refuse(column, f"{text!r} is neither yes nor no", "yes, no, or nothing", "correct it")
    return _YES_NO[text.casefold()]


def written_at_in(cells: Mapping[str, str]) -> datetime | None:
    """Return the instant at which a record was first written, or None where that is not said."""
    text = cells.get("written at")
    if not text:
        return None
    try:
        found = datetime.fromisoformat(text)
    except ValueError as error:
        allowed = "an instant such as 2026-05-01T09:30:00+00:00"
        raise refuse("written at", f"{text!r} is not an instant", allowed, "empty it") from error
    return found if found.tzinfo else found.replace(tzinfo=UTC)


def typed_in(cells: Mapping[str, str]) -> str | None:
    """Return a value as it was typed, with its unit; of a record from a book, what stands there."""
    if cells.get("typed") or ("typed" in cells and cells.get("id")):
        return cells["typed"]
    return f"{cells.get('value', '')} {cells.get('unit', '')}".strip()


def value_in(cells: Mapping[str, str], meaning: Meaning) -> float:
    """Return the value in its base unit; the unit stands beside it or behind it."""
    value, unit = cells.get("value", ""), cells.get("unit", "")
    if not value:
        raise refuse("value", f"there is no value for {meaning.word}", "a number with a unit", "write it")
    if not _BARE_NUMBER.fullmatch(value):
        behind = value.lstrip("+-0123456789.,/ ")
        if unit and behind and behind.casefold() != unit.casefold():
            what = f"the value {value!r} is not a number in {unit!r}"
            raise refuse("value", what, "a number, with its unit in one place", "correct one of them")
        return parse(value, meaning.quantity, "value")
    if meaning.quantity == "conductivity":
        unit = _EC_UNITS.get(unit.casefold(), unit)
    return parse(f"{value} {unit}".strip(), meaning.quantity, "value")


def temperature_in(cells: Mapping[str, str]) -> tuple[float | None, str | None]:
    """Return the temperature beside an EC in deg C, and what is doubtful about it."""
    text = cells.get("temperature")
    if not text:
        return None, None
    if _BARE_NUMBER.fullmatch(text):
        return parse(f"{text} degC", "temperature", "temperature"), f"temperature {text} taken as degC"
    return parse(text, "temperature", "temperature"), None


def place_in(cells: Mapping[str, str]) -> str | None:
    """Return the place, the tank under its one name, or None where there is none."""
    place = cells.get("place") or None
    return TANK if place and place.casefold() in (TANK, "the tank") else place


def pot_in(cells: Mapping[str, str]) -> int | None:
    """Return the number of the pot, or None where there is none."""
    text = cells.get("pot")
    if not text:
        return None
    if not re.fullmatch(r"\d{1,6}", text):
        raise refuse("pot", f"{text!r} is not the number of a pot", "a whole number", "correct it")
    return int(text)
