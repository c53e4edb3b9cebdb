"""What a pot is expected to yield, and how far that can be trusted."""

from __future__ import annotations

import math

Z_NINE_IN_TEN = 1.2815515655446004  # standard normal 90 % quantile

# One published pot: 23 L of medium, three 50 g pieces, 4.9 kg (Kratky, Miyasaka & White, ASHS 2011, paper 6716).
ANCHOR_VOLUME_L = 23.0
ANCHOR_PIECES = 3
ANCHOR_YIELD_KG = 4.9
HALF_VOLUME_L = 10.0  # medium volume at half of the ceiling: a proposal
HALF_PIECES = 2.0 / 3.0  # pieces at half of the ceiling: a guess without a source
LN_YIELD_SD = 0.35  # between sites, from the disagreement of two published container trials
BULK_DENSITY_KG_L = 0.4715  # fresh rhizome, loose (Jayashree & Visvanathan 2011, J. Spices Arom. Crops 20:14)


def expected_yield_kg(pieces: float, medium_l: float) -> float:
    """Return the fresh rhizome that a pot is expected to yield, in kg.

    Y = Ysat V/(V + Vh) n/(n + h): constant final yield in density (Shinozaki & Kira 1956) times a saturating
    response to volume, set through the published pot above. The same law for pieces of about 50 g over a full
    season of eight to nine months; carry `LN_YIELD_SD` with it.

    Raises:
        ValueError: if pieces or volume are not positive.
    """
    if pieces <= 0 or medium_l <= 0:
        raise ValueError(f"pieces and medium_l must be > 0, not {pieces} and {medium_l}")
    return _ceiling_kg() * medium_l / (medium_l + HALF_VOLUME_L) * pieces / (pieces + HALF_PIECES)


def _ceiling_kg() -> float:
    volume_share = ANCHOR_VOLUME_L / (ANCHOR_VOLUME_L + HALF_VOLUME_L)
    return ANCHOR_YIELD_KG / volume_share / (ANCHOR_PIECES / (ANCHOR_PIECES + HALF_PIECES))


def yield_range_kg(expected_kg: float, ln_sd: float = LN_YIELD_SD) -> tuple[float, float]:
    """Return the yields that one season in ten stays below, and one in ten goes above (lognormal)."""
    spread = math.exp(Z_NINE_IN_TEN * ln_sd)
    return expected_kg / spread, expected_kg * spread
