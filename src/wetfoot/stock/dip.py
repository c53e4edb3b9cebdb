"""Hot-water treatment of seed pieces: what reaches the core, and what it kills.

A thermometer in a piece decides, not this: heat transport in ginger is taken from water-like tissue, the death times
from another crop, and the crop's own limit must be tried on a few pieces first.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import brentq
from scipy.special import j0, j1, jn_zeros

Array = NDArray[np.float64]

DIFFUSIVITY_M2_S = 1.4e-7  # of water-like plant tissue, from memory
DIFFUSIVITY_SPREAD = (1.2e-7, 1.6e-7)  # the range that plant tissues have, from memory
REFERENCE_C = 49.0
NEMATODE_LETHAL_MIN = 8.3
"""Minutes at 49 C that kill 99 % of eggs of Meloidogyne javanica (study on Allium hookeri, 2017, abstract)."""
Z_C = 1.0 / math.log10(27.0 / 8.3)
"""Degrees for a tenfold death rate, from 27.0 min at 48 C and 8.3 min at 49 C in the same study: two points only."""
_TERMS = 60
_BETA = jn_zeros(0, _TERMS)
_WEIGHT = 2.0 / (_BETA * j1(_BETA))
_WATER_KG_M3, _WATER_KJ = 988.0, 4.18  # at 50 C
_GINGER_KG_M3, _GINGER_KJ = 1107.0, 3.75  # true density: Jayashree & Visvanathan (2011); heat capacity from memory
LONGEST_MIN = 240.0


class Dip(NamedTuple):
    """What a dip did at a depth of the piece."""

    temperature_c: float
    lethality_min: float


def temperature_c(
    radius_m: float,
    minutes: ArrayLike,
    bath_c: float,
    start_c: float,
    depth_m: float | None = None,
    diffusivity_m2_s: float = DIFFUSIVITY_M2_S,
) -> Array:
    """Return the temperature in a long round piece whose surface is at the bath's temperature from the start.

    T = Tw + (T0 - Tw) sum 2 / (b J1(b)) J0(b r/R) exp(-b^2 a t / R^2), b the zeros of J0: Carslaw & Jaeger (1959),
    Conduction of Heat in Solids, 7.6.

    Args:
        radius_m: half the thickness of the piece.
        minutes: time in the bath, any shape.
        bath_c: temperature of the bath.
        start_c: temperature of the piece before.
        depth_m: below the surface; the core if not given.
        diffusivity_m2_s: of heat in the tissue.

    >>> round(float(temperature_c(0.0125, 10.0, 50.0, 25.0)), 2)
    48.21
    """
    if not 0.0 < radius_m < 0.2:
        raise ValueError(f"radius_m: {radius_m!r} must be above 0 and below 0.2")
    if depth_m is not None and not 0.0 <= depth_m <= radius_m:
        raise ValueError(f"depth_m: {depth_m!r} must be 0 to the radius, {radius_m!r}")
    place = 0.0 if depth_m is None else 1.0 - depth_m / radius_m
    fourier = np.asarray(minutes, dtype=float)[..., None] * 60.0 * diffusivity_m2_s / radius_m**2
    shares = _WEIGHT * j0(_BETA * place) * np.exp(-(_BETA**2) * fourier)
    return np.asarray(bath_c + (start_c - bath_c) * np.where(fourier[..., 0] <= 0, 1.0, shares.sum(axis=-1)))


def lethality_min(temperatures_c: Array, minutes: Array, z_c: float = Z_C, reference_c: float = REFERENCE_C) -> float:
    """Return the minutes at the reference temperature that a course of temperatures is worth, by the trapezium rule.

    F = integral of 10^((T - Tref) / z) dt: Bigelow (1921), the log-linear thermal death time.
    """
    return float(np.trapezoid(10.0 ** ((temperatures_c - reference_c) / z_c), minutes))


def dip(
    radius_m: float,
    minutes: float,
    bath_c: float = 50.0,
    start_c: float = 25.0,
    depth_m: float | None = None,
    diffusivity_m2_s: float = DIFFUSIVITY_M2_S,
    z_c: float = Z_C,
) -> Dip:
    """Return temperature and lethality at the core, or at a depth, after so many minutes (see `temperature_c`)."""
    if not 0.0 <= minutes <= LONGEST_MIN:
        raise ValueError(f"minutes: {minutes!r} must be 0 to {LONGEST_MIN:g}")
    times = np.linspace(0.0, minutes, 2001)
    course = temperature_c(radius_m, times, bath_c, start_c, depth_m, diffusivity_m2_s)
    return Dip(float(course[-1]), lethality_min(course, times, z_c))


def minutes_needed(
    radius_m: float,
    bath_c: float = 50.0,
    start_c: float = 25.0,
    depth_m: float | None = None,
    diffusivity_m2_s: float = DIFFUSIVITY_M2_S,
    lethal_min: float = NEMATODE_LETHAL_MIN,
    z_c: float = Z_C,
) -> float:
    """Return the minutes until the core, or a depth, has had a lethal dose; infinity if it takes over four hours."""

    def short(minutes: float) -> float:
        return dip(radius_m, minutes, bath_c, start_c, depth_m, diffusivity_m2_s, z_c).lethality_min - lethal_min

    return float(brentq(short, 0.0, LONGEST_MIN, xtol=1e-4)) if short(LONGEST_MIN) > 0 else math.inf


def bath_after_loading_c(bath_c: float, piece_c: float, filled_fraction: float) -> float:
    """Return the temperature to which a bath falls when pieces take up a fraction of its volume, unheated.

    >>> round(bath_after_loading_c(50.0, 25.0, 0.10), 2)
    47.49
    """
    if not 0.0 <= filled_fraction < 1.0:
        raise ValueError(f"filled_fraction: {filled_fraction!r} must be 0 or more and below 1")
    water = (1.0 - filled_fraction) * _WATER_KG_M3 * _WATER_KJ
    pieces = filled_fraction * _GINGER_KG_M3 * _GINGER_KJ
    return (water * bath_c + pieces * piece_c) / (water + pieces)
