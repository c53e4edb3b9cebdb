"""Four days in the life of a nest: first wetting after filling, a hot day, days without supply, and wetting again.

Each gives a `ColumnRun`. Wetting from below follows the medium's wetting branch, drying its drying branch; the medium
is given as the library has it, on the drying branch. The branch is a run's only memory of what went before: real
media lie between the two.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from wetfoot.water.column import Basin, ColumnRun, run_column
from wetfoot.water.column_curves import Array, medium_curves
from wetfoot.water.column_drive import Demand, Watering
from wetfoot.water.column_slices import CELLS, slice_nest
from wetfoot.water.medium import Medium, WettingHistory, as_wetted
from wetfoot.water.nest import M_WATER_PER_KPA, NestShape, free_solution_l
from wetfoot.water.wicking import ROOT_DEPTH_M

AS_FILLED_KPA = 30.0  # suction of moist potting medium from the bag: common practice, no source


def first_wetting(
    nest: NestShape,
    medium: Medium,
    level_m: float,
    hours: ArrayLike,
    filled_at_kpa: float = AS_FILLED_KPA,
    waterings: Sequence[Watering] = (),
    cells: int = CELLS,
) -> ColumnRun:
    """Return how a freshly filled nest wets from below, when the solution comes at hour 0 and stays at a level.

    Args:
        nest, medium: the nest, and the medium as the library has it; it follows its wetting branch.
        level_m: depth of the solution.
        hours: times at which the state is wanted.
        filled_at_kpa: suction of the medium as filled, the same at all heights.
        waterings: water from the top.
        cells: intervals of the column.

    Raises:
        ValueError: naming the argument and the value.
        ColumnNotSolvedError: with the state that was reached.
    """
    column = slice_nest(nest, ROOT_DEPTH_M, cells)
    curves = medium_curves(as_wetted(medium, "never wetted"))
    return run_column(column, curves, -filled_at_kpa * M_WATER_PER_KPA, hours, level_m, waterings)


def hot_day(
    nest: NestShape,
    medium: Medium,
    level_m: float,
    demand_l_d: Demand,
    hours: ArrayLike,
    history: WettingHistory = "wetted from above once",
    root_depth_m: float = ROOT_DEPTH_M,
    cells: int = CELLS,
) -> ColumnRun:
    """Return how a nest goes through hot days with the level held, from rest at the first midnight.

    Args:
        nest, medium, level_m, hours, cells: as in `first_wetting`.
        demand_l_d: litres a day that the plant wants, one value or one per day.
        history: how the medium was wetted; it decides the branch.
        root_depth_m: depth of the roots below the top of the medium.

    Raises:
        ValueError: naming the argument and the value.
        ColumnNotSolvedError: with the state that was reached.
    """
    column = slice_nest(nest, root_depth_m, cells)
    curves = medium_curves(as_wetted(medium, history))
    return run_column(column, curves, level_m - column.height_m, hours, level_m, (), demand_l_d)


def without_supply(
    nest: NestShape,
    medium: Medium,
    level_m: float,
    demand_l_d: Demand,
    hours: ArrayLike,
    history: WettingHistory = "wetted from above once",
    root_depth_m: float = ROOT_DEPTH_M,
    cells: int = CELLS,
) -> ColumnRun:
    """Return how a nest dries when no more comes from midnight on: the basin first, then the medium.

    Arguments and errors as in `hot_day`; ``level_m`` is the level at the first midnight.
    """
    column = slice_nest(nest, root_depth_m, cells)
    curves = medium_curves(as_wetted(medium, history))
    basin = nest_basin(nest)
    return run_column(column, curves, level_m - column.height_m, hours, basin, (), demand_l_d)


def wetting_again(
    nest: NestShape,
    medium: Medium,
    dried: ColumnRun,
    level_m: float,
    demand_l_d: Demand,
    hours: ArrayLike,
    waterings: Sequence[Watering] = (),
    root_depth_m: float = ROOT_DEPTH_M,
) -> ColumnRun:
    """Return how a nest that has dried takes up water when the level is back at hour 0, a midnight.

    The medium goes over to its wetting branch with the water it holds: the same water content, at the suction that
    it has there.

    Args:
        nest, medium, level_m, demand_l_d, hours, root_depth_m: as in `hot_day`.
        dried: the run that dried it on the drying branch; it goes on from that run's last state.
        waterings: water from the top, that shows what one thorough watering is worth.

    Raises:
        ValueError: naming the argument and the value.
        ColumnNotSolvedError: with the state that was reached.
    """
    column = slice_nest(nest, root_depth_m, len(dried.height_m) - 1)
    wetting = as_wetted(medium, "dried out once")
    start = head_on_branch_m(dried.head_m[-1], wetting)
    return run_column(column, medium_curves(wetting), start, hours, level_m, waterings, demand_l_d)


def head_on_branch_m(drying_head_m: Array, wetting: Medium) -> Array:
    """Return the heads at which the wetting branch holds the water that the drying branch holds at other heads.

    Both are the same function of alpha times suction; heads above 0 stay.
    """
    return np.where(drying_head_m < 0.0, drying_head_m / wetting.alpha_ratio, drying_head_m)


def nest_basin(nest: NestShape, points: int = 241) -> Basin:
    """Return the free solution of a nest by level, from its bottom to the brim."""
    level = np.linspace(0.0, min(nest.basin.height_m, nest.pot.height_m), points)
    return Basin(level, free_solution_l(nest, level))
