"""The medium of a nest as a column for steady flow: its section, and the share of the roots above each height."""

from __future__ import annotations

from math import pi

from wetfoot.water.conductivity_curve import conductivity_function
from wetfoot.water.medium import Medium
from wetfoot.water.nest import LITRES_PER_M3, NestShape, frustum_volume_l
from wetfoot.water.upward_flow import Column, Curve


def nest_column(nest: NestShape, medium: Medium, uptake_l_d: float, root_depth_m: float) -> Column:
    """Return the column of medium in a nest, from the pot's floor up, with roots in its top taking an uptake.

    The medium must be on its branch already. Above the fill the column goes on without uptake, so that every
    suction has a height.
    """
    share = root_share_above(nest, root_depth_m)
    flow = uptake_l_d / LITRES_PER_M3
    return Column(conductivity_function(medium), section_function(nest), lambda height: flow * share(height))


def section_function(nest: NestShape) -> Curve:
    """Return `medium_section_m2` as a function of plain floats, held constant beyond the medium's ends."""
    top, crown = nest.fill_height_m, nest.dome.height_m if nest.dome else 0.0
    pot_radius, dome_radius = _radii(nest)

    def section(height: float) -> float:
        z = min(max(height, 0.0), top)
        return pi * (pot_radius(z) ** 2 - (dome_radius(z) ** 2 if z < crown else 0.0))

    return section


def root_share_above(nest: NestShape, root_depth_m: float) -> Curve:
    """Return the share of the roots above a height (1 to 0), of roots spread evenly by volume below the top.

    Roots deeper than the medium fill all of it.
    """
    top, crown = nest.fill_height_m, nest.dome.height_m if nest.dome else 0.0
    pot_radius, dome_radius = _radii(nest)
    foot = max(top - root_depth_m, 0.0)

    def above_l(z: float) -> float:
        low = min(z, crown)
        pot = frustum_volume_l(pot_radius(z), pot_radius(top), top - z)
        return pot - frustum_volume_l(dome_radius(low), dome_radius(crown), crown - low)

    whole = above_l(foot)
    return lambda height: 1.0 if height <= foot else 0.0 if height >= top else above_l(height) / whole


def _radii(nest: NestShape) -> tuple[Curve, Curve]:
    """Return the pot's inside and the dome's outside radius as functions of height (0 without a dome)."""
    pot, dome, wall = nest.pot, nest.dome, nest.wall_m
    pot_slope = (pot.top_radius_m - pot.bottom_radius_m) / pot.height_m
    if dome is None:
        return lambda z: pot.bottom_radius_m + pot_slope * z, lambda z: 0.0
    rim, slope = dome.bottom_radius_m + wall, (dome.top_radius_m - dome.bottom_radius_m) / dome.height_m
    return lambda z: pot.bottom_radius_m + pot_slope * z, lambda z: rim + slope * z
