"""What the means become when pots that split are left out: a split is an outcome of the treatment, so weigh them."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray


@dataclass(frozen=True)
class SplitAtLevel:
    """The pots of one number of pieces.

    Attributes:
        level: number of pieces (or other level).
        pots: pots that stood.
        split: pots that split.
        split_weighed: pots that split and were weighed all the same.
        split_lost: pots that split and have no weight.
        mean_all_g: mean of all pots weighed, split ones too (nan if none).
        mean_without_split_g: mean of the sound pots only (nan if none).
    """

    level: float
    pots: int
    split: int
    split_weighed: int
    split_lost: int
    mean_all_g: float
    mean_without_split_g: float

    @property
    def shift_g(self) -> float:
        """Return how far leaving split pots out moves the mean."""
        return self.mean_without_split_g - self.mean_all_g


@dataclass(frozen=True)
class SplitPots:
    """Both ways of looking at split pots, level by level, and what to say about them."""

    levels: tuple[SplitAtLevel, ...]
    words: str


def split_pots(level: ArrayLike, split: ArrayLike, weight_g: ArrayLike) -> SplitPots:
    """Return, for every level, whether split pots were weighed or lost and the mean with and without them.

    Leaving out pots because of what the treatment did to them is informative loss: where heavy pots split, the
    means without them are too low, and most where most split. Where split pots have no weight both means have that
    fault and the words say so.

    Args:
        level: number of pieces of each pot, shape (n,).
        split: 1 where the pot split, shape (n,).
        weight_g: fresh rhizome, g; nan for pots not weighed, shape (n,).

    Returns:
        The levels in order, and words.

    Raises:
        ValueError: if shapes do not agree or a split is not 0 or 1.
    """
    x, s, w = np.asarray(level, dtype=float), np.asarray(split, dtype=float), np.asarray(weight_g, dtype=float)
    if x.ndim != 1 or not x.shape == s.shape == w.shape or not np.isin(s, (0.0, 1.0)).all():
        raise ValueError("level, split and weight_g must be as long, and split 0 or 1")
    found = tuple(_at_level(float(value), s[x == value] == 1, w[x == value]) for value in np.unique(x))
    return SplitPots(found, _in_words(found))


def _at_level(level: float, split: NDArray[np.bool_], weight: NDArray[np.float64]) -> SplitAtLevel:
    weighed = np.isfinite(weight)
    return SplitAtLevel(
        level=level,
        pots=len(weight),
        split=int(split.sum()),
        split_weighed=int((split & weighed).sum()),
        split_lost=int((split & ~weighed).sum()),
        mean_all_g=_mean(weight[weighed]),
        mean_without_split_g=_mean(weight[weighed & ~split]),
    )


def _mean(weights: NDArray[np.float64]) -> float:
    return float(weights.mean()) if len(weights) else math.nan


def _in_words(levels: tuple[SplitAtLevel, ...]) -> str:
    split, lost = sum(part.split for part in levels), sum(part.split_lost for part in levels)
    if not split:
        return "No pot split."
    shifts = [part for part in levels if part.split_weighed and math.isfinite(part.shift_g)]
    sentences = [f"{split} of {sum(part.pots for part in levels)} pots split; {split - lost} of them were weighed."]
    if shifts:
        worst = max(shifts, key=lambda part: abs(part.shift_g))
        sentences.append(
            f"They count in the means: without them the mean at {worst.level:g} would move by {worst.shift_g:+.0f} g."
        )
    if lost:
        where = ", ".join(f"{part.level:g}" for part in levels if part.split_lost)
        sentences.append(
            f"{lost} split without a weight (at {where}): if these pots were not like the others there, those means "
            "are biased and no analysis mends that."
        )
    return " ".join(sentences)
