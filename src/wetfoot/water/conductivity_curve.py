"""How easily water moves through a medium at each suction (van Genuchten 1980 with Mualem 1976)."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wetfoot.water.medium import CM_WATER_PER_KPA, Medium

TORTUOSITY = 0.5  # Mualem's l
WETTEST_SUCTION_M = 0.01  # below 1 cm of suction the largest pores would rule, and they wick nothing
ANCHOR_SUCTION_M = CM_WATER_PER_KPA / 100.0  # 1 kPa, where k1 is given


def relative_conductivity(suction_m: float, alpha_per_m: float, n: float) -> float:
    """Return K over K at saturation: Se^l [1 - (1 - Se^(1/m))^m]^2 with Se = (1 + (alpha s)^n)^-m, m = 1 - 1/n.

    van Genuchten (1980), Soil Sci. Soc. Am. J. 44:892, eq. 8; the bracket is 1 - (x / (1 + x))^m with
    x = (alpha s)^n, written with expm1 and log1p so that no digit is lost at high suction.
    """
    if suction_m <= 0.0:
        return 1.0
    m = 1.0 - 1.0 / n
    x = (alpha_per_m * suction_m) ** n
    return math.exp(-TORTUOSITY * m * math.log1p(x)) * math.expm1(-m * math.log1p(1.0 / x)) ** 2


def conductivity_function(medium: Medium) -> Callable[[float], float]:
    """Return K(suction): a plain function from suction in metres of water to metres per day.

    Anchored at 1 kPa on the drying branch, and constant below 1 cm of suction there: a measured saturated
    conductivity is flow through the largest pores and says little about wicking (a proposal). On the wetting
    branch K belongs to the water content, so that its suction is that of the drying branch over ``alpha_ratio``.
    """
    ratio, n = medium.alpha_ratio, medium.n
    alpha = medium.alpha_per_m / ratio
    scale = medium.k1_cm_d / 100.0 / relative_conductivity(ANCHOR_SUCTION_M, alpha, n)
    wettest = scale * relative_conductivity(WETTEST_SUCTION_M, alpha, n)

    def conductivity(suction_m: float) -> float:
        drying_suction = suction_m * ratio
        return (
            wettest if drying_suction <= WETTEST_SUCTION_M else scale * relative_conductivity(drying_suction, alpha, n)
        )

    return conductivity


def conductivity_m_d(suction_m: ArrayLike, medium: Medium) -> NDArray[np.float64]:
    """Return the conductivity in metres per day at suctions in metres of water; shape as given."""
    suction = np.asarray(suction_m, dtype=float)
    conductivity = conductivity_function(medium)
    return np.array([conductivity(s) for s in suction.ravel()]).reshape(suction.shape)
