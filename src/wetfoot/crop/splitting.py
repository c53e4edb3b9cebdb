"""How crowded the rhizome stands in its pot, and how likely the pot is to split."""

from __future__ import annotations

import math

from wetfoot.crop.yields import BULK_DENSITY_KG_L


def crowding_index(yield_kg: float, medium_l: float) -> float:
    """Return the loose-pile volume of the rhizome over the volume of medium.

    Bulk density 0.4715 kg/L: Jayashree & Visvanathan 2011, J. Spices Arom. Crops 20:14.

    Raises:
        ValueError: if the volume is not positive.
    """
    if medium_l <= 0:
        raise ValueError(f"medium_l must be > 0, not {medium_l}")
    return yield_kg / BULK_DENSITY_KG_L / medium_l


def split_probability(crowding: float, intercept: float = -2.2, slope: float = 6.0) -> float:
    """Return the chance that a pot splits or is pressed oval: logit P = b0 + b1 ln(CI / 0.45).

    Both coefficients are prior guesses without data behind them (one pot in ten at an index of 0.45).
    """
    if crowding <= 0:
        return 0.0
    return 1.0 / (1.0 + math.exp(-(intercept + slope * math.log(crowding / 0.45))))
