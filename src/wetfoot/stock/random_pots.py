"""Units drawn by lot, so that the same seed draws the same ones years later.

The words are those of numpy's PCG64, whose stream for a seed numpy keeps unchanged (NEP 19); what numpy makes of them
may change, so the choosing is done here.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence
from typing import TypeVar

from numpy.random import PCG64

METHOD = (
    "Fisher and Yates' shuffle from the front, stopped after the last drawn; places by rejection from the 64-bit words "
    "of numpy's PCG64, seeded with the SHA-256 of the seed's text read as a big-endian whole number"
)
_WORDS = 1 << 64

T = TypeVar("T")


def drawn(units: Sequence[T], count: int, seed: str) -> list[T]:
    """Return so many different units in random order, every choice and order equally likely.

    Args:
        units: in an order that can be found again.
        count: how many to draw.
        seed: any text.

    Raises:
        ValueError: if there are not so many units.

    Source: Durstenfeld (1964), Communications of the ACM 7:420 (from memory); numpy enhancement proposal 19 for the
    stream. Not the stream of `trial.random_stream`, which a layer beside this one owns.

    >>> drawn(["East 1", "East 2", "East 3"], 2, "invented")
    ['East 3', 'East 2']
    """
    if not 0 <= count <= len(units):
        raise ValueError(f"count: {count!r} must be 0 to {len(units)}")
    stream, mixed = _words(seed), list(units)
    for place in range(count):
        other = place + _below(stream, len(mixed) - place)
        mixed[place], mixed[other] = mixed[other], mixed[place]
    return mixed[:count]


def _words(seed: str) -> Iterator[int]:
    source = PCG64(int.from_bytes(hashlib.sha256(seed.encode()).digest(), "big"))
    while True:
        yield int(source.random_raw())


def _below(stream: Iterator[int], n: int) -> int:
    """Return a whole number from 0 to n - 1; words in the incomplete last stretch of n are passed over."""
    limit = _WORDS // n * n
    return next(word for word in stream if word < limit) % n
