"""QR codes as drawings: what a phone reads off a label or a barrel."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

import segno

from wetfoot.drawing.svg import element, page

QUIET_MODULES = 4  # ISO/IEC 18004: the clear margin round a QR code


def qr_rows(text: str) -> list[list[bool]]:
    """Return the modules of a QR code without its clear margin: level Q, which stands a quarter of dirt.

    Source: ISO/IEC 18004.
    """
    return [[bool(module) for module in row] for row in segno.make_qr(text, error="q", boost_error=False).matrix]


def qr_modules(text: str) -> int:
    """Return how many modules wide a QR code is, its clear margin included."""
    return len(qr_rows(text)) + 2 * QUIET_MODULES


def qr_drawing(text: str) -> str:
    """Return a QR code as SVG, one unit a module, clear margin included."""
    rows = qr_rows(text)
    side = len(rows) + 2 * QUIET_MODULES
    runs = "".join(
        f"M{x + QUIET_MODULES} {y + QUIET_MODULES}h{length}v1h-{length}z"
        for y, row in enumerate(rows)
        for x, length in _dark_runs(row)
    )
    return page(side, side, text, f"QR code of {text}", [element("path", d=runs, fill="#000000")])


def _dark_runs(row: list[bool]) -> Iterator[tuple[int, int]]:
    """Yield where the dark runs of a row begin and how long they are; one shape each, so that no seams show."""
    at = 0
    for dark, modules in groupby(row):
        length = len(list(modules))
        if dark:
            yield at, length
        at += length
