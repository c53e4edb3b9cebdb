"""Daily courses of many runs as bands of quantiles, in a memory that does not grow with the number of runs.

Runs come in batches. Within a batch every course is kept (single precision: seven digits) and its quantiles are exact;
over batches they are averaged, weighted by the runs that have a value. Batches are random samples of the runs, so the
mean of their quantiles is off by no more than the bias of a sample quantile, of the order of one part in the batch's
size of the spread, and scatters as the quantile of all runs does (method of batch means).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Single = NDArray[np.float32]
Map = Callable[[Callable[[Single], tuple[Array, Array]], Sequence[Single]], Iterable[tuple[Array, Array]]]

QUANTILES = (0.1, 0.5, 0.9)
BATCH = 250
SLICES = 16


@dataclass(frozen=True)
class Band:
    """A daily course as the value that one run in ten stays below, the middle, and one in ten goes above.

    Shape (3, days) or (3, days, banks), or with the elements of `feed.ELEMENTS` as a last axis.
    """

    values: Array

    @property
    def low(self) -> Array:
        """The course that one run in ten stays below."""
        return np.asarray(self.values[0])

    @property
    def middle(self) -> Array:
        """The middle course."""
        return np.asarray(self.values[1])

    @property
    def high(self) -> Array:
        """The course that one run in ten goes above."""
        return np.asarray(self.values[2])


def batches(runs: int, seed: int) -> list[NDArray[np.int64]]:
    """Return the runs in random batches of nearly the same size, `BATCH` at most; in order where one holds them all."""
    if runs <= BATCH:
        return [np.arange(runs)]
    order = np.random.default_rng(seed).permutation(runs)
    return np.array_split(order, -(-runs // BATCH))


class BandSum:
    """The running mean of batches' quantiles, for cells of any shape; a batch is of shape (runs, *cells)."""

    def __init__(self, cells: tuple[int, ...]) -> None:
        """Begin with no runs."""
        self._cells = cells
        self._sum = np.zeros((len(QUANTILES), int(np.prod(cells))))
        self._runs = np.zeros(int(np.prod(cells)))

    def add(self, batch: Single, each: Map = map) -> None:
        """Add a batch; quantiles of its slices of cells are found through ``each``, which may do several at once."""
        slices = np.array_split(batch.reshape(len(batch), -1), SLICES, axis=1)
        found = list(each(quantiles, slices))
        values = np.concatenate([values for values, _ in found], axis=1)
        known = np.concatenate([counts for _, counts in found])
        self._sum += np.where(known > 0, values, 0.0) * known
        self._runs += known

    def band(self) -> Band:
        """Return the band of the runs so far; not a number where no run had a value."""
        values = np.divide(self._sum, self._runs, out=np.full_like(self._sum, np.nan), where=self._runs > 0)
        return Band(values.reshape(len(QUANTILES), *self._cells))


def quantiles(courses: Single) -> tuple[Array, Array]:
    """Return quantiles over runs of the values that are numbers, linear between ranks, and how many those are.

    Args:
        courses: shape (runs, cells).

    Returns:
        Shapes (quantiles, cells) and (cells,).
    """
    rows = np.ascontiguousarray(courses.T)
    rows.sort(axis=1)  # what is not a number comes last
    known = np.count_nonzero(~np.isnan(rows), axis=1)
    rank = np.outer(QUANTILES, np.maximum(known - 1, 0))
    low = rank.astype(np.int64)
    high = np.minimum(low + 1, np.maximum(known - 1, 0))
    at = np.arange(len(rows))
    below, above = rows[at, low].astype(float), rows[at, high].astype(float)
    return below + (above - below) * (rank - low), known.astype(float)
