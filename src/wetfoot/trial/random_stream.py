"""A random stream that any language can make again from its seed, on any version of anything.

The stream is the SHA-256 (FIPS 180-4) of the seed, a bar and a counter 0, 1, 2, ..., read as 32-bit big-endian words.
Generators of libraries are not used: their streams may change between versions, and a layout is kept for years.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from typing import TypeVar

STREAM = "SHA-256 of 'seed|counter' in 32-bit big-endian words"
STREAM_VERSION = 1

T = TypeVar("T")

_WORDS = 1 << 32


class RandomStream:
    """A stream of 32-bit words, with what a randomisation needs from it."""

    def __init__(self, seed: str) -> None:
        self.seed = seed
        self._counter = 0
        self._words: list[int] = []

    def word(self) -> int:
        """Return the next word, 0 to 2**32 - 1.

        >>> stream = RandomStream("ginger-2024")
        >>> [stream.word() for _ in range(3)]
        [1575747502, 2944904324, 3449089086]
        """
        if not self._words:
            digest = hashlib.sha256(f"{self.seed}|{self._counter}".encode()).digest()
            self._words = [int.from_bytes(digest[at : at + 4], "big") for at in range(0, 32, 4)]
            self._counter += 1
        return self._words.pop(0)

    def below(self, n: int) -> int:
        """Return a whole number from 0 to n - 1, each equally likely.

        Words in the incomplete last stretch of n are passed over (rejection).

        Raises:
            ValueError: if n is not from 1 to 2**32.
        """
        if not 1 <= n <= _WORDS:
            raise ValueError(f"n = {n}: a whole number from 1 to 2**32 is needed")
        limit = _WORDS // n * n
        word = self.word()
        while word >= limit:
            word = self.word()
        return word % n

    def shuffled(self, items: Sequence[T]) -> list[T]:
        """Return the items in random order, all orders equally likely.

        Source: Fisher and Yates' shuffle from the top, as in Durstenfeld 1964, Communications of the ACM 7:420 (from
        memory): for i = n - 1, ..., 1 change places i and j = below(i + 1).
        """
        mixed = list(items)
        for i in range(len(mixed) - 1, 0, -1):
            j = self.below(i + 1)
            mixed[i], mixed[j] = mixed[j], mixed[i]
        return mixed
