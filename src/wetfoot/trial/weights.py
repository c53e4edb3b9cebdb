"""Read what stands in the cell of a response: a number, a typed mass, a word for why there is none."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from wetfoot.errors import WetfootError
from wetfoot.quantities import parse

LOSSES = ("dead", "split and drained", "board leak", "stolen", "label lost", "not weighed")
AT_RANDOM = LOSSES[3:]
"""Losses that have nothing to do with the treatment; the others may be its doing."""
_LOSS_WORDS = {
    "dead": "died; dead plant; rotted",
    "split and drained": "split; split & drained; pot split; pot split & drained; burst; drained",
    "board leak": "leak; leaked; leaking board",
    "stolen": "theft; taken",
    "label lost": "no label; lost label; label missing",
    "not weighed": "nw; n/w; not measured; na; n/a; nan; -; .; *; missing",
}
_KEPT = ("", "no", "ok", "0", "alive", "weighed", "none", "fine", "false")
_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?")
_GROUPED = re.compile(r"[+-]?\d{1,3}(,\d{3})+(\.\d+)?")
_DECIMAL_COMMA = re.compile(r"[+-]?\d+,\d+")


@dataclass(frozen=True)
class Reading:
    """What a cell says: a value (nan if there is none) with its unit if typed, a loss, or a doubt that forbids use.

    Attributes:
        value: the number; of a typed mass, grams.
        typed: whether a unit of mass stood in the cell.
        loss: the loss code that the cell names.
        note: what is doubtful, but was read.
        wrong: why it was not read.
    """

    value: float = math.nan
    typed: bool = False
    loss: str = ""
    note: str = ""
    wrong: str = ""


def read_response(text: str) -> Reading:
    """Return what the cell of a response says.

    A comma is read where it can mean one thing only: '1,234.5' has thousands, '2,5' decimals; '2,160' may be either.

    >>> round(read_response("2 lb").value, 5), read_response("2160").value, read_response("stolen").loss
    (907.18474, 2160.0, 'stolen')
    """
    cell = text.strip()
    if not cell:
        return Reading()
    loss = loss_named(cell)
    if loss:
        return Reading(loss=loss)
    note = ""
    if "," in cell:
        plain = _without_comma(cell)
        if plain is None:
            return Reading(wrong=f"the comma in {cell!r} may part thousands or decimals")
        note, cell = f"{cell!r} read as {plain}", plain
    if _NUMBER.fullmatch(cell):
        return _finite(Reading(float(cell), note=note), cell)
    try:
        return _finite(Reading(1000.0 * parse(cell, "mass"), typed=True, note=note), cell)
    except WetfootError:
        return Reading(wrong=f"{text.strip()!r} is neither a number, nor a mass, nor a loss code")


def loss_named(text: str) -> str | None:
    """Return the loss code of a word; an empty text where it says that nothing was lost; nothing if unknown.

    >>> loss_named("Pot split & drained"), loss_named("ok"), loss_named("hail")
    ('split and drained', '', None)
    """
    word = " ".join(text.casefold().replace("_", " ").split())
    if word in _KEPT:
        return ""
    for loss, others in _LOSS_WORDS.items():
        if word == loss or word in others.split("; "):
            return loss
    return None


def _finite(reading: Reading, cell: str) -> Reading:
    return reading if math.isfinite(reading.value) else Reading(wrong=f"{cell!r} is too large a number")


def _without_comma(cell: str) -> str | None:
    """Return a number without its comma, or nothing if the comma can mean two things."""
    number, unit = re.fullmatch(r"([+\-\d.,]*)(.*)", cell, re.S).groups()  # type: ignore[union-attr]
    if _GROUPED.fullmatch(number) and (number.count(",") > 1 or "." in number):
        return number.replace(",", "") + unit
    if _DECIMAL_COMMA.fullmatch(number) and not _GROUPED.fullmatch(number):
        return number.replace(",", ".") + unit
    return None
