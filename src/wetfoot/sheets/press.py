"""Compile a sheet: its template with its data to a PDF.

What people typed reaches the template only as data (JSON in the inputs of the compiler), never as its source.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from datetime import UTC, date, datetime, time
from pathlib import Path
from typing import Any, NamedTuple

import typst

from wetfoot import __version__
from wetfoot.drawing.svg import clean
from wetfoot.plan.model import Plan
from wetfoot.quantities import System

TEMPLATES = Path(__file__).parent
LONGEST_HEAD = 40  # letters of a name in the head of a page
LONGEST_CELL = 48  # letters of a name in a table, where it only has to be known again
INVENTED = "Invented example: not a real place or crop"

_LONG_WORD = re.compile(r"\S{17,}")
_PIECE = re.compile(r".{8}(?=.)")


class Sheet(NamedTuple):
    """A sheet before it is printed: its template, its title, what it says and its drawings as SVG."""

    template: str
    title: str
    says: Mapping[str, Any]
    drawings: Mapping[str, str] = {}


class Head(NamedTuple):
    """What stands on every page beside the sheet's title, the paper that goes with its units, and the file's date."""

    title: str
    site: str
    units: System
    dated: date
    invented: bool


def head_of(plan: Plan) -> Head:
    """Return the head of a plan's sheets."""
    return Head(plan.title, plan.site.name, plan.units, plan.crop.planting, plan.invented)


def press(sheet: Sheet, head: Head | Plan) -> bytes:
    """Return a sheet as PDF; the same sheet always gives the same bytes.

    Args:
        sheet: what to print.
        head: what stands on every page, or the plan whose sheet it is.
    """
    head = head if isinstance(head, Head) else head_of(head)
    data = {**_head(sheet, head), **sheet.says}
    pdf: bytes = typst.compile(
        str(TEMPLATES / sheet.template),
        root=str(TEMPLATES),
        ignore_system_fonts=True,  # only those in the wheel: every machine prints the same
        sys_inputs={"data": json.dumps(printable(data)), "drawings": json.dumps(dict(sheet.drawings))},
        timestamp=midnight(head.dated),
    )
    return pdf


def _head(sheet: Sheet, head: Head) -> dict[str, Any]:
    return {
        "sheet": sheet.title,
        "paper": "us-letter" if head.units == "US" else "a4",
        "plan": short(head.title, LONGEST_HEAD),
        "site": short(head.site, LONGEST_HEAD),
        "invented": INVENTED if head.invented else "",
        "version": __version__,
    }


def midnight(day: date) -> datetime:
    """Return the first instant of a day in UTC: what files are dated with, so that they can be made again."""
    return datetime.combine(day, time(), UTC)


def short(text: str, longest: int) -> str:
    """Return a text of at most so many letters, cut with an ellipsis.

    >>> short("a long name", 7)
    'a long…'
    """
    tidy = clean(text)
    return tidy if len(tidy) <= longest else tidy[: longest - 1].rstrip() + "…"


def printable(value: Any) -> Any:
    """Return data with every text on one line and every long word breakable, so that it stays in its column."""
    if isinstance(value, str):
        return _LONG_WORD.sub(lambda word: _PIECE.sub("\\g<0>\u200b", word[0]), clean(value))
    if isinstance(value, Mapping):
        return {key: printable(each) for key, each in value.items()}
    if isinstance(value, (list, tuple)):
        return [printable(each) for each in value]
    return value
