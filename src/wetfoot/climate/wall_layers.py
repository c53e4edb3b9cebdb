"""What stands between the sunlit air and the medium in a pot: film of air, plastic, gaps, covers.

Ranges are (low, middle, high). Those from the project's handbook are practice, not measurements of your pots.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wetfoot.climate.ring_conduction import Substance

Array = NDArray[np.float64]


class Span(NamedTuple):
    """A low, a middle and a high value; numbers, or arrays of one shape."""

    low: Any
    middle: Any
    high: Any


class Cover(NamedTuple):
    """What the sun meets on the wall.

    Attributes:
        name: in words.
        absorptivity: share of sunlight absorbed by the outer face.
        gap_m: of air between the cover and the wall; 0 for paint, or none.
        sun_through: share of all sunlight that reaches the outer face, below 1 under a shade cloth.
    """

    name: str
    absorptivity: Span
    gap_m: float = 0.0
    sun_through: float = 1.0


BLACK = Cover("black", Span(0.90, 0.925, 0.95))  # handbook
WHITE = Cover("white", Span(0.20, 0.30, 0.40))  # handbook
WRAPPED = Cover("white wrap over an air gap", WHITE.absorptivity, gap_m=0.02)
# a 50 % cloth that hangs free of the wall: common practice, no source
SHADED = Cover("black under shade cloth", BLACK.absorptivity, sun_through=0.5)

# share of the convection computed: the low end is a smooth cylinder in smooth wind (Churchill & Bernstein 1977, J. Heat
# Transfer 99:300, gives 0.7 to 0.8 of ISO 6946 for a pot), the high end an estimate for gusts and rough walls
FILM_FACTOR = Span(0.75, 1.0, 1.4)
# share of a still gap's resistance: a gap open at one end is slightly ventilated, which halves it (ISO 6946:2007)
GAP_FACTOR = Span(0.5, 0.75, 1.0)
# the handbook's wet medium in the middle. Dry end: peat-perlite above the water line holds less water; peat conducts
# 0.5 W/mK near saturation and 0.05 air-dry (Heiskanen 2000, Suo), heat capacity is 4.2 MJ/m3K times the water's share
# and some 0.2 for the solids. Wet end: near saturation; water itself conducts 0.6 W/mK.
MEDIUM = Span(Substance(0.3, 2.0e6), Substance(0.5, 3.0e6), Substance(0.6, 3.5e6))

LEAST_CONVECTION_W_M2K, MOST_CONVECTION_W_M2K = 5.0, 25.0  # handbook
PLASTIC_W_MK = 0.3  # polypropylene 0.2, polyethylene 0.4 to 0.5 (handbooks of plastics, from memory)
EMISSIVITY = 0.95  # plastics and paints of any colour (textbooks of heat transfer)
STEFAN_BOLTZMANN_W_M2K4 = 5.670374e-8
# ISO 6946, unventilated air layers, horizontal heat flow: thickness m and resistance m2K/W (from memory)
_GAP_M = (0.0, 0.005, 0.007, 0.010, 0.015, 0.025)
_GAP_M2K_W = (0.0, 0.11, 0.13, 0.15, 0.17, 0.18)


class PotSection(NamedTuple):
    """A horizontal cut through a nest: inside radii of pot and basin at that height, thickness of their walls.

    ``basin_radius_m`` is None where the pot's own wall stands in the sun.
    """

    pot_radius_m: float
    basin_radius_m: float | None = None
    wall_m: float = 0.002


def wind_at_wall_m_s(wind_2m_m_s: ArrayLike, height_m: float) -> Array:
    """Return the wind at the height of the wall from that at 2 m: the profile of FAO-56 eq. 47.

    Raises:
        ValueError: if the height is below 0.1 m, where the profile does not hold.
    """
    if height_m < 0.1:
        raise ValueError(f"height_m must be 0.1 m or more, not {height_m!r}")
    return np.asarray(np.asarray(wind_2m_m_s, dtype=float) * np.log(67.8 * height_m - 5.42) / 4.87)


def film_w_m2k(wind_m_s: ArrayLike, air_c: ArrayLike, factor: float = 1.0) -> Array:
    """Return the heat transfer of the outer face: convection, held to 5-25 W/m2K, and longwave exchange.

    Convection by ISO 6946, 4 + 4 v (from memory). Longwave exchange is linear about the air's temperature, with
    surroundings at that temperature: a vertical wall sees as much warm ground as cold sky, for which ASHRAE (Handbook
    of Fundamentals, sol-air temperature) takes no correction.

    Args:
        wind_m_s: at the wall.
        air_c: air temperature.
        factor: multiplies the convection computed.
    """
    computed = factor * (4.0 + 4.0 * np.asarray(wind_m_s, dtype=float))
    convection = np.clip(computed, LEAST_CONVECTION_W_M2K, MOST_CONVECTION_W_M2K)
    kelvin = np.asarray(air_c, dtype=float) + 273.15
    return np.asarray(convection + 4.0 * EMISSIVITY * STEFAN_BOLTZMANN_W_M2K4 * kelvin**3)


def gap_resistance_m2k_w(gap_m: float) -> float:
    """Return the resistance of a still vertical air gap, its longwave exchange included (ISO 6946)."""
    return float(np.interp(gap_m, _GAP_M, _GAP_M2K_W))


def layers(section: PotSection, cover: Cover) -> list[tuple[float, float, bool]]:
    """Return (thickness, middle radius, is it air) of each layer from the medium outwards, metres.

    Raises:
        ValueError: if a radius, a wall or a gap is not positive where it must be.
    """
    _check(section, cover)
    basin = section.basin_radius_m
    thick = [(section.wall_m, False)]
    if basin is not None:
        thick += [(basin - section.pot_radius_m - section.wall_m, True), (section.wall_m, False)]
    if cover.gap_m > 0.0:
        thick.append((cover.gap_m, True))
    edges = section.pot_radius_m + np.cumsum([0.0] + [t for t, _ in thick])
    middle = (edges[1:] + edges[:-1]) / 2.0
    return [(t, float(r), air) for (t, air), r in zip(thick, middle, strict=True)]


def _check(section: PotSection, cover: Cover) -> None:
    pot, basin, wall = section
    if not (pot > 0.0 and wall >= 0.0):
        raise ValueError(f"pot_radius_m must be above 0 and wall_m 0 or more, not {pot!r} and {wall!r}")
    if basin is not None and basin <= pot + wall:
        raise ValueError(f"basin_radius_m must be above the pot's outside, {pot + wall:g}, not {basin!r}")
    if cover.gap_m < 0.0 or not 0.0 <= cover.sun_through <= 1.0:
        raise ValueError(f"gap_m must be 0 or more and sun_through 0 to 1, not {cover.gap_m!r}, {cover.sun_through!r}")
    if not 0.0 <= min(cover.absorptivity) <= max(cover.absorptivity) <= 1.0:
        raise ValueError(f"absorptivity must be 0 to 1, not {tuple(cover.absorptivity)!r}")


def outer_radius_m(section: PotSection, cover: Cover) -> float:
    """Return the radius of the face that the sun meets."""
    return section.pot_radius_m + sum(thickness for thickness, _, _ in layers(section, cover))


def inner_resistance_m2k_w(section: PotSection, cover: Cover, gap_factor: float = 1.0) -> float:
    """Return the resistance between that face and the medium, per area of the medium's surface."""
    total = 0.0
    for thickness, radius, air in layers(section, cover):
        own = gap_factor * gap_resistance_m2k_w(thickness) if air else thickness / PLASTIC_W_MK
        total += own * section.pot_radius_m / radius
    return total
