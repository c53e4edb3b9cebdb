"""How much a nest can wick up in a day, and how hard the roots at the top must pull for it.

Steady flow: solution enters at the pot's floor, where the pressure is the level; roots take it from the top
``root_depth_m`` of the medium, evenly by volume. Uptake is the day's total spread evenly over 24 h; scale the draw
for a peak hour. Conductivity is the most uncertain number of all: every answer has its range over ``k1_range_cm_d``.
The limit is exactly proportional to it, since only Q / K enters the law.
"""

from __future__ import annotations

from math import inf, isfinite
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from wetfoot.water.medium import Medium, WettingHistory, as_wetted
from wetfoot.water.nest import M_WATER_PER_KPA, NestShape, medium_section_m2
from wetfoot.water.nest_column import nest_column
from wetfoot.water.upward_flow import height_path, largest_factor, suction_at_height_m

LIMIT_KPA = 10.0
ROOT_DEPTH_M = 0.10


class Span(NamedTuple):
    """A value with what it may be at the least and at the most, over the medium's range of conductivity."""

    low: float
    middle: float
    high: float


class SuctionProfile(NamedTuple):
    """Suction (negative below the water line) against height under a steady uptake."""

    height_m: NDArray[np.float64]
    suction_kpa: NDArray[np.float64]


def largest_uptake_l_d(
    nest: NestShape,
    medium: Medium,
    level_m: float,
    history: WettingHistory,
    limit_kpa: float = LIMIT_KPA,
    root_depth_m: float = ROOT_DEPTH_M,
) -> float:
    """Return the largest steady uptake in litres a day at which the suction at the top stays within a limit.

    Gardner (1958), Soil Sci. 85:228, for one section and no roots on the way; here for any (`largest_factor`).
    Limits beyond about 10 kPa add next to nothing: it is a cliff.

    Args:
        nest: its vessels.
        medium: on its drying branch, as the library has it.
        level_m: level of the solution above the basin's inside bottom.
        history: how the medium was wetted; it decides the answer.
        limit_kpa: suction at the top that the crop should not see.
        root_depth_m: depth of the roots from the top of the medium.

    Raises:
        ValueError: a level below 0 or not below the fill height, a root depth or limit of 0 or less, a dome that
            leaves no medium beside it.
        RuntimeError: no convergence (see `height_path`).
    """
    top, limit = nest.fill_height_m, limit_kpa * M_WATER_PER_KPA
    _check(nest, level_m, root_depth_m)
    if not (isfinite(limit_kpa) and limit_kpa > 0.0):
        raise ValueError(f"limit_kpa must be above 0, not {limit_kpa}")
    if level_m + limit <= top:
        return 0.0
    guess_l_d = medium.k1_cm_d / 10.0
    column = nest_column(nest, as_wetted(medium, history), guess_l_d, root_depth_m)
    return guess_l_d * largest_factor(column, -level_m, top, limit)


def uptake_span_l_d(
    nest: NestShape,
    medium: Medium,
    level_m: float,
    history: WettingHistory,
    limit_kpa: float = LIMIT_KPA,
    root_depth_m: float = ROOT_DEPTH_M,
) -> Span:
    """Return the largest steady uptake with its range over the medium's conductivity (see `largest_uptake_l_d`)."""
    middle = largest_uptake_l_d(nest, medium, level_m, history, limit_kpa, root_depth_m)
    return Span(middle / medium.k1_factor, middle, middle * medium.k1_factor)


def suction_at_top_kpa(
    nest: NestShape,
    medium: Medium,
    level_m: float,
    uptake_l_d: float,
    history: WettingHistory,
    root_depth_m: float = ROOT_DEPTH_M,
) -> float:
    """Return the suction at the top of the medium under a steady uptake; infinite where it would pass 1000 m of water.

    Raises:
        ValueError: as `largest_uptake_l_d`, or a negative uptake.
        RuntimeError: no convergence (see `height_path`).
    """
    _check(nest, level_m, root_depth_m)
    if not (isfinite(uptake_l_d) and uptake_l_d >= 0.0):
        raise ValueError(f"uptake_l_d must be 0 or more, not {uptake_l_d}")
    column = nest_column(nest, as_wetted(medium, history), uptake_l_d, root_depth_m)
    suction = suction_at_height_m(column, -level_m, nest.fill_height_m)
    return inf if suction is None else suction / M_WATER_PER_KPA


def suction_span_kpa(
    nest: NestShape,
    medium: Medium,
    level_m: float,
    uptake_l_d: float,
    history: WettingHistory,
    root_depth_m: float = ROOT_DEPTH_M,
) -> Span:
    """Return the suction at the top with its range: the high end belongs to the least conductive medium."""
    factors = (1.0 / medium.k1_factor, 1.0, medium.k1_factor)  # uptake over K1 is all that counts
    values = [suction_at_top_kpa(nest, medium, level_m, uptake_l_d * f, history, root_depth_m) for f in factors]
    return Span(*values)


def suction_profile(
    nest: NestShape,
    medium: Medium,
    level_m: float,
    uptake_l_d: float,
    history: WettingHistory,
    root_depth_m: float = ROOT_DEPTH_M,
    most_kpa: float = 100.0,
) -> SuctionProfile:
    """Return suction by height from the floor to the top, or to where it passes ``most_kpa``, at uneven steps."""
    reached = suction_at_top_kpa(nest, medium, level_m, uptake_l_d, history, root_depth_m)
    column = nest_column(nest, as_wetted(medium, history), uptake_l_d, root_depth_m)
    path = height_path(column, -level_m, min(reached, most_kpa) * M_WATER_PER_KPA)
    return SuctionProfile(np.array(path.height_m), np.array(path.suction_m) / M_WATER_PER_KPA)


def _check(nest: NestShape, level_m: float, root_depth_m: float) -> None:
    """Refuse a level outside the medium, roots without depth, and a dome that leaves no medium beside it."""
    top = nest.fill_height_m
    if not 0.0 <= level_m < top:
        raise ValueError(f"level_m must be from 0 to below the fill height {top} m, not {level_m}")
    if not (isfinite(root_depth_m) and root_depth_m > 0.0):
        raise ValueError(f"root_depth_m must be above 0, not {root_depth_m}")
    crown = nest.dome.height_m if nest.dome else 0.0
    if crown >= top:
        raise ValueError(f"the dome is {crown} m high, but the medium is filled to {top} m only")
    if float(np.min(medium_section_m2(nest, [0.0, max(crown - 1e-9, 0.0), top]))) <= 0.0:
        raise ValueError("the dome leaves no medium beside it: its outside is as wide as the pot's inside")
