"""Water moving through the medium of a nest hour by hour: wicking up, being drunk, draining, drying.

The Richards equation upright in one dimension, with the medium's cross-section A(z) changing with height:

    A d(theta)/dt = d/dz [A K(h) (dh/dz + 1)] - uptake(z, t)

Solution stands at the foot, at a held level or in a basin that is drawn down. Roots drink evenly by volume over their
depth, along a half sine by day, less where suction passes a limit and nothing beyond a second one. Water may come
from the top; what the medium does not take in time stands on it as pressure, its volume not counted. Hysteresis is
not followed: a run keeps to the branch its curves are on. No air is trapped, and no salt counts.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from wetfoot.water.column_curves import Array, Curves, curve_values
from wetfoot.water.column_drive import Daylight, Demand, Level, Watering, demand_rate_l_d, drive_spans, wanted_l
from wetfoot.water.column_kernel import Grid, Limits, new_work
from wetfoot.water.column_slices import SlicedColumn
from wetfoot.water.column_steps import Drive, Totals, integrate
from wetfoot.water.nest import LITRES_PER_M3, M_WATER_PER_KPA

TOLERANCE_M = 1e-5
MOST_MASS_ERROR = 1e-10
DAYLIGHT = Daylight()
UPTAKE_LIMITS_KPA = (5.0, 10.0)
DRY_M = 1.0  # of suction: where water content changes less by head than here, errors count as water, not as heads


class Basin(NamedTuple):
    """Free solution that stands at the foot of one column, by level: both arrays rising."""

    level_m: Array
    free_l: Array


class ColumnNotSolvedError(ArithmeticError):
    """The column was not solved: says why, and the state that was reached (``hours``, ``height_m``, ``head_m``)."""

    def __init__(self, why: str, hours: float, height_m: Array, head_m: Array) -> None:
        self.hours, self.height_m, self.head_m = hours, height_m, head_m
        super().__init__(
            f"the column was not solved beyond {hours:.6g} h ({why}); suction there {-head_m.max():.4g} to "
            f"{-head_m.min():.4g} m, at the top {-head_m[-1]:.4g} m"
        )


@dataclass(frozen=True)
class ColumnRun:
    """The state of a column at the requested times; arrays (times,), (times, nodes) or (times, nodes - 1).

    Attributes:
        hours: from the first midnight.
        height_m: of the nodes.
        head_m: pressure head, below 0 above the water line.
        water_content: as a volume fraction.
        flow_l_d: upward flow between neighbouring nodes, litres per day.
        uptake_l_d: what the roots of each slice take, litres per day.
        medium_l: water in the medium.
        from_below_l, from_top_l, taken_up_l, wanted_l: since the first midnight.
        mass_error: water that was made or lost, over what the medium holds or what flowed, if that is more.
        steps: steps through time; passes: passes of Newton's method in them.
    """

    hours: Array
    height_m: Array
    head_m: Array
    water_content: Array
    flow_l_d: Array
    uptake_l_d: Array
    medium_l: Array
    from_below_l: Array
    from_top_l: Array
    taken_up_l: Array
    wanted_l: Array
    mass_error: float
    steps: int
    passes: int

    @property
    def level_m(self) -> Array:
        """Level of the solution at the foot; below 0 how far under the foot it would lie."""
        return self.head_m[:, 0]

    @property
    def top_suction_kpa(self) -> Array:
        """Suction at the surface of the medium."""
        return -self.head_m[:, -1] / M_WATER_PER_KPA


def run_column(
    column: SlicedColumn,
    curves: Curves,
    start_head_m: ArrayLike,
    hours: ArrayLike,
    level_m: Level | Basin,
    waterings: Sequence[Watering] = (),
    demand_l_d: Demand = 0.0,
    daylight: Daylight = DAYLIGHT,
    uptake_limits_kpa: tuple[float, float] = UPTAKE_LIMITS_KPA,
    tolerance_m: float = TOLERANCE_M,
) -> ColumnRun:
    """Return how a column goes on from a state.

    Args:
        column: from `slice_nest` or `slice_column`.
        curves: from `medium_curves`, the medium on its branch already.
        start_head_m: pressure head at every node, or one for all; ``level - column.height_m`` is rest.
        hours: rising times at which the state is wanted, counted from a midnight at which the run begins.
        level_m: the level of the solution at the foot, held: one value, or (hour, level) points joined by straight
            lines, two points at one hour being a jump; or a `Basin` that is drawn down from the first head.
        waterings: water from the top (or evaporation from the surface).
        demand_l_d: litres a day that the roots want, one value or one per day.
        daylight: hours between which they drink, along a half sine.
        uptake_limits_kpa: suction up to which roots take all they want, and from which on they take nothing.
        tolerance_m: allowed error of a step, in metres of head per (1 + head).

    Raises:
        ValueError: naming the argument and the value.
        ColumnNotSolvedError: with the state that was reached.
    """
    times = np.asarray(hours, dtype=float)
    start = np.array(np.broadcast_to(np.asarray(start_head_m, dtype=float), column.height_m.shape))
    _check(times, start, curves, uptake_limits_kpa, tolerance_m)
    basin = level_m if isinstance(level_m, Basin) else None
    level = float(start[0]) if isinstance(level_m, Basin) else level_m
    drive = drive_spans(times, level, waterings, demand_l_d, daylight)
    full, none = (kpa * M_WATER_PER_KPA for kpa in uptake_limits_kpa)
    limits = kernel_limits(curves, (daylight.sunset_h - daylight.sunrise_h) / 24.0, full, none, tolerance_m)
    totals = _solve(column, curves, drive, limits, basin, start)
    head, flows_l = _at(times, drive, totals, start)
    water, conductivity = curve_values(curves, -head)
    medium_l = water @ column.volume_m3 * LITRES_PER_M3
    began_l = float(curve_values(curves, -start)[0] @ column.volume_m3) * LITRES_PER_M3
    wanted_l_d = demand_rate_l_d(times, demand_l_d, daylight)[:, None] * column.root_share
    run = ColumnRun(
        hours=times,
        height_m=column.height_m,
        head_m=head,
        water_content=water,
        flow_l_d=_flow_l_d(column, head, conductivity),
        uptake_l_d=wanted_l_d * np.clip((none + head) / (none - full), 0.0, 1.0),
        medium_l=medium_l,
        from_below_l=flows_l[:, 0],
        from_top_l=flows_l[:, 1],
        taken_up_l=flows_l[:, 2],
        wanted_l=wanted_l(times, demand_l_d, daylight),
        mass_error=_mass_error(medium_l, began_l, flows_l),
        steps=int(totals.counts[0]),
        passes=int(totals.counts[1]),
    )
    if not run.mass_error <= MOST_MASS_ERROR:
        raise ColumnNotSolvedError(f"water balance off by {run.mass_error:.1e}", times[-1], column.height_m, head[-1])
    return run


def _flow_l_d(column: SlicedColumn, head: Array, conductivity: Array) -> Array:
    between = 0.5 * (conductivity[:, 1:] + conductivity[:, :-1]) * column.link_m
    return np.asarray(-between * (np.diff(head, axis=1) + column.rise_m) * LITRES_PER_M3)


def kernel_limits(curves: Curves, day_length_d: float, full_m: float, none_m: float, tolerance_m: float) -> Limits:
    """Return the constants of a run as the kernel takes them."""
    near_dry = curve_values(curves, np.array([0.99, 1.01]) * DRY_M)[0]
    dry_capacity = max(float(near_dry[0] - near_dry[1]) / (0.02 * DRY_M), 1e-9)
    return Limits(day_length_d, full_m, none_m, curves.steepest_m, dry_capacity, curves.driest_m, tolerance_m)


def _solve(
    column: SlicedColumn, curves: Curves, drive: Drive, limits: Limits, basin: Basin | None, start: Array
) -> Totals:
    nodes, spans = len(start), len(drive.end_d)
    totals = Totals(np.empty((spans, nodes)), np.empty((spans, 3)), np.zeros(4, dtype=np.int64), np.zeros(1))
    table, work = np.empty((2, 0)) if basin is None else _basin_m3(basin), new_work(nodes)
    work.begun[:], work.per_m3[:] = start, 1.0 / column.volume_m3
    grid = Grid(column.rise_m, column.volume_m3, column.link_m, column.root_share)
    if not integrate(grid, curves, drive, limits, table, work, totals):
        why = f"{totals.counts[0]} steps, {totals.counts[3]} of them without convergence"
        raise ColumnNotSolvedError(why, float(totals.reached_d[0]) * 24.0, column.height_m, work.begun.copy())
    return totals


def _at(times: Array, drive: Drive, totals: Totals, start: Array) -> tuple[Array, Array]:
    """Return heads and flows in litres at the requested times: at the end of a span, or of the start itself."""
    begun = (times > 0.0)[:, None]
    spans = np.searchsorted(drive.end_d * 24.0, times - 1e-5)
    return np.where(begun, totals.head_m[spans], start), np.where(begun, totals.flows_m3[spans], 0.0) * LITRES_PER_M3


def _mass_error(medium_l: Array, began_l: float, flows_l: Array) -> float:
    missing = medium_l - began_l - flows_l[:, 0] - flows_l[:, 1] + flows_l[:, 2]
    return float(np.max(np.abs(missing) / np.maximum(medium_l, np.abs(flows_l).max(axis=1))))


def _basin_m3(basin: Basin) -> Array:
    table = np.array([basin.level_m, basin.free_l], dtype=float)
    if table.shape[1] < 2 or not (np.isfinite(table).all() and (np.diff(table) > 0.0).all()):
        raise ValueError("basin must have at least two levels, level_m and free_l both rising")
    return np.asarray(table / np.array([[1.0], [LITRES_PER_M3]]))


def _check(times: Array, start: Array, curves: Curves, limits_kpa: tuple[float, float], tolerance_m: float) -> None:
    if times.ndim != 1 or len(times) == 0 or not (np.isfinite(times).all() and times[0] >= 0.0 < times[-1]):
        raise ValueError(f"hours must be times from 0 on, the last above 0, not {times}")
    if (np.diff(times) < 1e-4).any():
        raise ValueError("hours must rise, by 0.0001 h at least")
    if not (np.isfinite(start).all() and (-start < curves.driest_m).all()):
        raise ValueError(f"start_head_m must be finite and above {-curves.driest_m} m")
    if not 0.0 <= limits_kpa[0] < limits_kpa[1]:
        raise ValueError(f"uptake_limits_kpa must rise from 0 or more, not {limits_kpa}")
    if not 1e-12 <= tolerance_m <= 0.1:
        raise ValueError(f"tolerance_m must lie between 1e-12 and 0.1, not {tolerance_m}")
