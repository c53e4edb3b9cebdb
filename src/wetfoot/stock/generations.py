"""From a few clean pots to the field's demand, generation by generation, and what storage takes."""

from __future__ import annotations

import math
from dataclasses import dataclass

LARGEST_GENERATION = 12


@dataclass(frozen=True)
class Losses:
    """What is lost between lifting a crop and planting its pieces, as fractions of what is left."""

    culling: float
    storage: float
    cutting: float

    @property
    def kept(self) -> float:
        """What is left of a harvest as pieces to plant."""
        return (1.0 - self.culling) * (1.0 - self.storage) * (1.0 - self.cutting)


@dataclass(frozen=True)
class Generation:
    """One cycle of the pots: how many, what they give, and the seed that is left of it at planting."""

    pots: int
    harvest_kg: float
    seed_kg: float
    pieces: int


def net_multiplication(yield_kg: float, survival: float, losses: Losses, pieces: int, piece_kg: float) -> float:
    """Return kilograms of seed to plant per kilogram planted, in one cycle.

    >>> round(net_multiplication(4.9, 0.95, Losses(0.15, 0.20, 0.10), 3, 0.05), 2)
    18.99
    """
    if pieces < 1 or piece_kg <= 0:
        raise ValueError("pieces and piece_kg must be above 0")
    return yield_kg * survival * losses.kept / (pieces * piece_kg)


def chain(
    first_pots: int,
    first_yield_kg: float,
    yield_kg: float,
    survival: float,
    losses: Losses,
    pieces: int,
    piece_kg: float,
    generations: int,
    most_pots: int | None = None,
) -> list[Generation]:
    """Return the generations from a first set of clean pots.

    Args:
        first_pots: pots of the first generation, planted with what is clean beyond doubt.
        first_yield_kg: harvest of a pot of the first generation that lives.
        yield_kg: harvest of a later pot that lives.
        survival: fraction of pots that live, from the second generation on.
        losses: between harvest and planting.
        pieces: pieces a pot.
        piece_kg: mass of a piece.
        generations: how many, the first counted.
        most_pots: pots that there are; the rest of the seed is left over.

    Raises:
        ValueError: for counts below one.
    """
    if first_pots < 1 or pieces < 1 or not 1 <= generations <= LARGEST_GENERATION:
        raise ValueError(
            f"first_pots, pieces and generations must be 1 or more (at most {LARGEST_GENERATION} generations)"
        )
    found, pots, harvest = [], first_pots, first_pots * first_yield_kg
    for _ in range(generations):
        seed = harvest * losses.kept
        cut = math.floor(seed / piece_kg + 1e-9)
        found.append(Generation(pots, harvest, seed, cut))
        pots = min(cut // pieces, most_pots if most_pots is not None else cut)
        harvest = pots * survival * yield_kg
    return found


def stored_kg(kg: float, months: float, shrink_per_month: float, rot_per_month: float) -> float:
    """Return what is left of seed in a store: W = W0 exp(-k t) (1 - r)^t, shrinkage and rot together."""
    if months < 0 or shrink_per_month < 0 or not 0.0 <= rot_per_month < 1.0:
        raise ValueError("months and rates must be 0 or more, rot below 1")
    return float(kg * math.exp(-shrink_per_month * months) * (1.0 - rot_per_month) ** months)
