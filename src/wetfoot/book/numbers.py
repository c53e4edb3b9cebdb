"""Checks of single numbers and words that all kinds of records share."""

from __future__ import annotations

import math
from collections.abc import Iterator

from wetfoot.errors import Problem


def word_problems(where: str, word: object, known: tuple[str, ...]) -> Iterator[Problem]:
    """Yield a problem if a word is none of those known."""
    if word not in known:
        yield Problem(where, f"{word!r} is not a kind that the book knows", ", ".join(known), "choose one")


def number_problems(where: str, value: object, least: float, most: float, unit: str) -> Iterator[Problem]:
    """Yield a problem if a value is not a finite number from the least to the most."""
    allowed = f"{least:g} to {most:g} {unit}".rstrip()
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
        yield Problem(where, f"{value!r} is not a finite number", allowed, "write an ordinary number")
    elif not least <= value <= most:
        yield Problem(where, f"{value:g} {unit}".rstrip() + " cannot be", allowed, "check the number and its unit")
