"""From the field's demand for clean seed back to the pots that must be planted."""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True)
class Demand:
    """What must come out of the pots: kilograms to plant, to cut, and to harvest."""

    planted_kg: float
    uncut_kg: float
    harvest_kg: float


def seed_rate_from_spacing_kg_m2(row_spacing_m: float, in_row_spacing_m: float, piece_mass_kg: float) -> float:
    """Return the seed per area of a field planted one piece a station.

    Raises:
        ValueError: if a spacing is not positive.
    """
    if row_spacing_m <= 0 or in_row_spacing_m <= 0:
        raise ValueError(f"spacings must be > 0, not {row_spacing_m} and {in_row_spacing_m}")
    return piece_mass_kg / (row_spacing_m * in_row_spacing_m)


def demand(
    field_area_m2: float,
    seed_rate_kg_m2: float,
    kept_back_kg: float,
    loss_cutting: float,
    loss_storage: float,
    loss_culling: float,
) -> Demand:
    """Return what must be harvested so that the field can be planted and the seed kept back is there.

    H = (A r / (1 - cutting) + kept back) / ((1 - storage) (1 - culling)): every loss is made good in turn. Seed
    kept back is counted whole, as it lies in the store at planting time.

    Raises:
        ValueError: if a loss is not in [0, 1).
    """
    for name, loss in (("cutting", loss_cutting), ("storage", loss_storage), ("culling", loss_culling)):
        if not 0.0 <= loss < 1.0:
            raise ValueError(f"loss_{name} must be at least 0 and below 1, not {loss}")
    planted = field_area_m2 * seed_rate_kg_m2
    uncut = planted / (1.0 - loss_cutting) + kept_back_kg
    return Demand(planted, uncut, uncut / ((1.0 - loss_storage) * (1.0 - loss_culling)))


def pots_needed(harvest_kg: float, yield_kg: float, survival: float) -> int:
    """Return the pots to plant: the harvest over yield and survival, rounded up.

    Raises:
        ValueError: if the yield is not positive or survival is not in (0, 1].
    """
    if yield_kg <= 0 or not 0.0 < survival <= 1.0:
        raise ValueError(f"yield_kg must be > 0 and survival in (0, 1], not {yield_kg} and {survival}")
    return math.ceil(harvest_kg / (yield_kg * survival) - 1e-9)


def seed_for_pots_kg(pots: int, pieces: int, piece_mass_kg: float, loss_cutting: float) -> float:
    """Return the uncut seed needed to plant the pots."""
    return pots * pieces * piece_mass_kg / (1.0 - loss_cutting)


def clean_seed_kg(pots: float, yield_kg: float, survival: float, loss_storage: float, loss_culling: float) -> float:
    """Return the plantable seed that a number of pots leaves in the store at planting time, uncut."""
    return pots * yield_kg * survival * (1.0 - loss_storage) * (1.0 - loss_culling)
