"""How much a nest holds: basin, pot, dome and medium, at any level of the solution.

Heights are metres above the basin's inside bottom, on which the pot stands; the floor of the pot
(1 to 2 mm) is neglected. The level may be negative: the medium then holds what it would hold above
a water table that far below the pot, which is how a pot that has run dry keeps drying.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wetfoot.water.medium import CM_WATER_PER_KPA, Medium, saturation_moments_m

M_WATER_PER_KPA = CM_WATER_PER_KPA / 100.0
LITRES_PER_M3 = 1000.0


class Frustum(NamedTuple):
    """A round vessel by its inside radii at the bottom and at the top, and its height, in metres."""

    bottom_radius_m: float
    top_radius_m: float
    height_m: float


class NestShape(NamedTuple):
    """The vessels that stand in each other, their wall thickness, and how high the medium is filled.

    The dome's ``bottom_radius_m`` is its rim, which stands on the pot's floor; it is None where there is no dome.
    """

    basin: Frustum
    pot: Frustum
    dome: Frustum | None
    wall_m: float
    fill_height_m: float


class LevelTable(NamedTuple):
    """What one nest holds against the level: each an array of the same length, rising with ``level_m``."""

    level_m: NDArray[np.float64]
    free_l: NDArray[np.float64]
    medium_l: NDArray[np.float64]

    @property
    def total_l(self) -> NDArray[np.float64]:
        """Free solution and water in the medium together."""
        return self.free_l + self.medium_l


def frustum_volume_l(bottom_radius_m: float, top_radius_m: float, height_m: float) -> float:
    """Return the volume of a conical frustum in litres: pi h (R^2 + R r + r^2) / 3 (any table of solids)."""
    squares = bottom_radius_m**2 + bottom_radius_m * top_radius_m + top_radius_m**2
    return float(np.pi * height_m * squares / 3.0 * LITRES_PER_M3)


def radius_m(vessel: Frustum, height_m: ArrayLike) -> NDArray[np.float64]:
    """Return the inside radius at a height above the vessel's bottom."""
    z = np.asarray(height_m, dtype=float)
    return vessel.bottom_radius_m + (vessel.top_radius_m - vessel.bottom_radius_m) * z / vessel.height_m


def medium_section_m2(nest: NestShape, height_m: ArrayLike) -> NDArray[np.float64]:
    """Return the cross-section of medium at a height: the pot's inside less the dome's outside, 0 above the fill."""
    z = np.asarray(height_m, dtype=float)
    section = np.pi * radius_m(nest.pot, z) ** 2
    if nest.dome is not None:
        dome = np.pi * (radius_m(nest.dome, z) + nest.wall_m) ** 2
        section = section - np.where(z < nest.dome.height_m, dome, 0.0)
    return np.asarray(np.where((z >= 0) & (z <= nest.fill_height_m), section, 0.0))


def medium_volume_l(nest: NestShape) -> float:
    """Return the volume of medium that fills the nest to its fill height."""
    pot_radius = float(radius_m(nest.pot, nest.fill_height_m))
    return frustum_volume_l(nest.pot.bottom_radius_m, pot_radius, nest.fill_height_m) - dome_volume_l(nest)


def dome_volume_l(nest: NestShape) -> float:
    """Return the volume that the dome takes from the medium (its outside), 0 without a dome."""
    if nest.dome is None:
        return 0.0
    rim, crown, height = nest.dome
    return frustum_volume_l(rim + nest.wall_m, crown + nest.wall_m, height)


def free_solution_l(nest: NestShape, level_m: ArrayLike) -> NDArray[np.float64]:
    """Return the free solution at a level: in the gap between basin and pot, and inside the dome."""
    level = np.clip(np.asarray(level_m, dtype=float), 0.0, nest.basin.height_m)
    below_rim = np.minimum(level, nest.pot.height_m)
    free = _solid_l(nest.basin, level, 0.0) - _solid_l(nest.pot, below_rim, nest.wall_m)
    if nest.dome is not None:
        free = free + _solid_l(nest.dome, np.minimum(level, nest.dome.height_m), 0.0)
    return np.asarray(free)


def _solid_l(vessel: Frustum, height_m: NDArray[np.float64], wall_m: float) -> NDArray[np.float64]:
    """Return the volume up to a height of a vessel grown by a wall."""
    r0 = vessel.bottom_radius_m + wall_m
    r1 = radius_m(vessel, height_m) + wall_m
    return np.asarray(np.pi * height_m * (r0**2 + r0 * r1 + r1**2) / 3.0 * LITRES_PER_M3)


def medium_water_l(nest: NestShape, medium: Medium, level_m: float) -> float:
    """Return the water in the medium at rest above a level: saturated below it, drained by suction above.

    Integral of A(z) theta(z - level) dz, with A(z) quadratic in z, in closed form (see `saturation_moments_m`).
    """
    litres = 0.0
    for bottom, top, section in _sections(nest):
        wet_top = min(max(level_m, bottom), top)
        below, above = section.integ(), section(np.polynomial.Polynomial([level_m, 1.0]))
        litres += medium.saturated * float(below(wet_top) - below(bottom))
        if wet_top < top:
            span = saturation_moments_m([wet_top - level_m, top - level_m], medium)
            drained = float(np.dot(_coefficients(above), span[:, 1] - span[:, 0]))
            volume = float(below(top) - below(wet_top))
            litres += medium.residual * volume + (medium.saturated - medium.residual) * drained
    return litres * LITRES_PER_M3


def _sections(nest: NestShape) -> list[tuple[float, float, np.polynomial.Polynomial]]:
    """Return (from, to, A(z) as a polynomial in z) for each part of the medium."""
    polynomial = np.polynomial.Polynomial
    pot_slope = (nest.pot.top_radius_m - nest.pot.bottom_radius_m) / nest.pot.height_m
    pot = polynomial([nest.pot.bottom_radius_m, pot_slope]) ** 2 * np.pi
    if nest.dome is None:
        return [(0.0, nest.fill_height_m, pot)]
    dome_slope = (nest.dome.top_radius_m - nest.dome.bottom_radius_m) / nest.dome.height_m
    dome = polynomial([nest.dome.bottom_radius_m + nest.wall_m, dome_slope]) ** 2 * np.pi
    crown = nest.dome.height_m
    return [(0.0, crown, pot - dome), (crown, nest.fill_height_m, pot)]


def _coefficients(polynomial: np.polynomial.Polynomial) -> NDArray[np.float64]:
    padded = np.zeros(3)
    padded[: polynomial.coef.size] = polynomial.coef
    return padded


def driest_level_m(nest: NestShape, suction_kpa: float) -> float:
    """Return the level (usually negative) at which the middle of the medium stands at a suction."""
    return nest.fill_height_m / 2.0 - suction_kpa * M_WATER_PER_KPA


def level_table(nest: NestShape, medium: Medium, driest_kpa: float = 15.0) -> LevelTable:
    """Return what the nest holds from a dry medium (mid-height at ``driest_kpa``) to the brim of the basin."""
    lowest = driest_level_m(nest, driest_kpa)
    brim = min(nest.basin.height_m, nest.pot.height_m)
    below = 0.001 - np.geomspace(0.001, 0.001 - lowest, 80)
    level = np.unique(np.concatenate([below[:0:-1], np.linspace(0.0, brim, 161)]))
    stored = np.array([medium_water_l(nest, medium, d) for d in level])
    return LevelTable(level, free_solution_l(nest, level), stored)


def solution_per_mm_l(table: LevelTable, level_m: float) -> float:
    """Return the litres that a millimetre of level holds, around a level: free solution and pore water together."""
    half = 0.0005
    high, low = np.interp([level_m + half, level_m - half], table.level_m, table.total_l)
    return float(high - low)


def held_between_l(table: LevelTable, low_m: float, high_m: float) -> float:
    """Return the litres that a nest holds between two levels."""
    high, low = np.interp([high_m, low_m], table.level_m, table.total_l)
    return float(high - low)
