"""How the canopy of a pot grows with warmth, and how much water the pot uses in a day."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

COVER_AT_EMERGENCE = 0.05


def thermal_days(
    tmin_c: ArrayLike, tmax_c: ArrayLike, base_c: float = 13.0, optimum_c: float = 26.0
) -> NDArray[np.float64]:
    """Return, for each day, the fraction of a day at the optimum temperature that its mean is worth (0 to 1).

    Linear between base and optimum, flat above. Base about 13 C and optimum 25 to 28 C for ginger are from
    memory, without a source. Shape as the inputs.
    """
    mean = (np.asarray(tmin_c, dtype=float) + np.asarray(tmax_c, dtype=float)) / 2.0
    return np.asarray(np.clip((mean - base_c) / (optimum_c - base_c), 0.0, 1.0))


def canopy_cover(thermal_time_d: ArrayLike, emergence_d: float, half_cover_d: float) -> NDArray[np.float64]:
    """Return the cover (0 to 1 of the full-grown canopy) at a sum of thermal days.

    Logistic with 5 % at emergence and 50 % at ``half_cover_d``; nothing before emergence.

    Raises:
        ValueError: if half cover does not come after emergence.
    """
    if half_cover_d <= emergence_d:
        raise ValueError(f"half_cover_d must be above emergence_d, not {half_cover_d} and {emergence_d}")
    time = np.asarray(thermal_time_d, dtype=float)
    spread = (half_cover_d - emergence_d) / math.log(1.0 / COVER_AT_EMERGENCE - 1.0)
    cover = 1.0 / (1.0 + np.exp(-(time - half_cover_d) / spread))
    return np.asarray(np.where(time >= emergence_d, cover, 0.0))


def transpiration_l_d(
    eto_mm: ArrayLike,
    cover: ArrayLike,
    canopy_area_m2: float,
    kc_initial: float = 0.4,
    kc_full: float = 1.1,
    exposure: float = 1.0,
) -> NDArray[np.float64]:
    """Return what the plants of one pot transpire in a day, in litres: ETo Kc A cover (1 mm on 1 m2 is 1 L).

    Kc rises with cover from ``kc_initial`` to ``kc_full``: FAO-56 (Allen et al. 1998) has no row for ginger; roots
    and tubers peak at 1.10 to 1.15 (table 12). ``exposure`` is 1.2 to 1.4 for isolated rows in wind (FAO-56,
    chapter 10). Shape of the broadcast inputs.
    """
    cover_ = np.asarray(cover, dtype=float)
    kc = kc_initial + (kc_full - kc_initial) * cover_
    return np.asarray(np.asarray(eto_mm, dtype=float) * kc * exposure * canopy_area_m2 * cover_)


def mouth_evaporation_l_d(
    eto_mm: ArrayLike, cover: ArrayLike, mouth_area_m2: float, coefficient: float = 0.2
) -> NDArray[np.float64]:
    """Return what evaporates in a day from the pot's mouth that the canopy does not shade, in litres.

    The coefficient of a surface that is dry on top but wetted from below, 0.2 of ETo, is an estimate.
    """
    bare = 1.0 - np.asarray(cover, dtype=float)
    return np.asarray(np.asarray(eto_mm, dtype=float) * coefficient * mouth_area_m2 * bare)
