"""Water and air in the medium of a nest at rest: container capacity, air above the water line, air by height.

At rest the suction at a height is its distance above the water line, and air is what the drained pores hold.
Everything here is exact: volumes of frustums, and the closed form of `medium_water_l`. For a medium that was not
wetted from above, pass it through `as_wetted` first: it then holds less water and more air.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wetfoot.water.medium import Medium, suction_of_saturation_m, water_content
from wetfoot.water.nest import NestShape, frustum_volume_l, medium_volume_l, medium_water_l, radius_m

ROOTS_WANT_AIR = 0.10  # volume fraction (common practice, no source)


class Rest(NamedTuple):
    """The medium of one nest at rest above a level; contents are volume fractions of the medium."""

    level_m: float
    medium_l: float
    water_l: float
    mean_air_above: float
    mid_height_air: float
    top_air: float
    top_water: float
    rooting_air_height_m: float | None


class AirProfile(NamedTuple):
    """Water and air as volume fractions of the medium against height."""

    height_m: NDArray[np.float64]
    water: NDArray[np.float64]
    air: NDArray[np.float64]


def medium_below_l(nest: NestShape, height_m: float) -> float:
    """Return the volume of medium below a height: pot less the dome's outside (any table of solids)."""
    top = min(max(height_m, 0.0), nest.fill_height_m)
    volume = frustum_volume_l(nest.pot.bottom_radius_m, float(radius_m(nest.pot, top)), top)
    if nest.dome is not None:
        up = min(top, nest.dome.height_m)
        rim = nest.dome.bottom_radius_m + nest.wall_m
        volume -= frustum_volume_l(rim, float(radius_m(nest.dome, up)) + nest.wall_m, up)
    return volume


def container_capacity(nest: NestShape, medium: Medium) -> float:
    """Return the water that the medium keeps after draining through the pot's floor, as a fraction of its volume.

    The water line stands at the floor: container capacity in the trade's sense. Times the volume: `medium_water_l`.
    """
    return medium_water_l(nest, medium, 0.0) / medium_volume_l(nest)


def mean_air_above(nest: NestShape, medium: Medium, level_m: float) -> float:
    """Return the mean air content of the medium above the water line, as a fraction of that medium's volume.

    Below the line no pore is drained, so all the air, saturated - theta, stands above it.

    Raises:
        ValueError: the level is at or above the fill height, so that nothing stands above the line.
    """
    if level_m >= nest.fill_height_m:
        raise ValueError(f"level_m must be below the fill height {nest.fill_height_m} m, not {level_m}")
    whole = medium_volume_l(nest)
    air_l = medium.saturated * whole - medium_water_l(nest, medium, level_m)
    return air_l / (whole - medium_below_l(nest, level_m))


def air_content(height_m: ArrayLike, medium: Medium, level_m: float) -> NDArray[np.float64]:
    """Return the air content (volume fraction) at heights, at rest above a level; 0 below the level."""
    return medium.saturated - water_content(np.asarray(height_m, dtype=float) - level_m, medium)


def air_height_m(nest: NestShape, medium: Medium, level_m: float, air: float = ROOTS_WANT_AIR) -> float | None:
    """Return the height above which the medium holds at least an air content, None where its top holds less.

    The retention curve inverted: height = level + s((1 - air / (saturated - residual))).

    Raises:
        ValueError: ``air`` is negative.
    """
    if air < 0.0:
        raise ValueError(f"air must not be negative, not {air}")
    left = 1.0 - air / (medium.saturated - medium.residual)
    if left <= 0.0:
        return None
    height = max(level_m + suction_of_saturation_m(left, medium), 0.0)
    return height if height <= nest.fill_height_m else None


def air_profile(nest: NestShape, medium: Medium, level_m: float, points: int = 45) -> AirProfile:
    """Return water and air at ``points`` evenly spaced heights from the floor to the fill height."""
    height = np.linspace(0.0, nest.fill_height_m, points)
    air = air_content(height, medium, level_m)
    return AirProfile(height, medium.saturated - air, air)


def rest(nest: NestShape, medium: Medium, level_m: float) -> Rest:
    """Return what the medium of a nest holds at rest above a level.

    ``mid_height_air`` is the air halfway between the water line (or the floor) and the fill height, and
    ``rooting_air_height_m`` the height where it passes 10 %.

    Raises:
        ValueError: the level is at or above the fill height.
    """
    middle = (max(level_m, 0.0) + nest.fill_height_m) / 2.0
    mid_air, top_air = (float(value) for value in air_content([middle, nest.fill_height_m], medium, level_m))
    return Rest(
        level_m,
        medium_volume_l(nest),
        medium_water_l(nest, medium, level_m),
        mean_air_above(nest, medium, level_m),
        mid_air,
        top_air,
        medium.saturated - top_air,
        air_height_m(nest, medium, level_m),
    )
