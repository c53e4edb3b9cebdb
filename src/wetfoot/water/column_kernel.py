"""The Richards equation of a column, compiled: curves at nodes, flow between them, Newton's method for one stage.

Mixed form (Celia, Bouloutas & Zarba 1990, Water Resour. Res. 26:1483): the unknown is the pressure head at the nodes,
what is balanced is the water of each node's slice. Steps through time are in `column_steps`.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from wetfoot.water.column_curves import PIECE_BELOW, PIECE_SHIFT, Curves

Array = NDArray[np.float64]

_RESIDUAL = 1e-11  # volume fraction left over at a node when a stage counts as solved; the next step makes it good
_STILL_M = 1e-13  # movement of a head that only rounding explains
_LEAP = 0.2  # of the steepest head: a longer way across it is a leap
_LOST = 1e9
_LOOSE = 0.05  # of the tolerance: movement that is not worth another pass
_PASSES = 20


class Grid(NamedTuple):
    """A column as the kernel sees it: per node, and per interval between nodes (see `column.Column`)."""

    rise_m: Array
    volume_m3: Array
    link_m: Array
    root_share: Array


class Limits(NamedTuple):
    """Constants of a run.

    Attributes:
        day_length_d: from sunrise to sunset.
        full_until_m, none_from_m: suctions at which uptake begins to fall, and ends.
        steepest_m, driest_m: suctions at which water content falls most steeply, and at which the curves end.
        dry_capacity: water content by head (per metre) below which an error counts as water and not as a head.
        tolerance_m: allowed error of a step.
    """

    day_length_d: float
    full_until_m: float
    none_from_m: float
    steepest_m: float
    dry_capacity: float
    driest_m: float
    tolerance_m: float


class Work(NamedTuple):
    """Arrays that are used over and over: curves at the nodes, the tridiagonal system, the stages."""

    scaled: Array
    bits: NDArray[np.int64]
    water: Array
    capacity: Array
    conductivity: Array
    slope: Array
    lower: Array
    diagonal: Array
    upper: Array
    right: Array
    swept: Array
    moved: Array
    known: Array
    per_m3: Array
    stored: Array
    begun: Array
    trend: Array
    rate: Array  # (3, nodes)
    head: Array  # (3, nodes)


def new_work(nodes: int) -> Work:
    """Return fresh arrays for a column of so many nodes."""
    scaled = np.zeros(nodes)
    plain = [np.zeros(nodes) for _ in range(len(Work._fields) - 4)]
    return Work._make([scaled, scaled.view(np.int64), *plain, np.zeros((3, nodes)), np.zeros((3, nodes))])


def compiled(function: Any) -> Any:
    """Compile a function and keep it on disk; dividing by 0 gives infinity as in numpy."""
    return njit(cache=True, error_model="numpy")(function)


@compiled
def look_up(curves: Curves, head, work):  # type: ignore[no-untyped-def]
    """Put water content, conductivity and their derivatives by head at every node into ``work``."""
    pieces, unit = curves.pieces, curves.unit_m
    last = len(pieces) - 1
    for i in range(len(head)):
        work.scaled[i] = max(-head[i] / unit, 0.0)
    for i in range(len(head)):
        row = pieces[min(max((work.bits[i] >> PIECE_SHIFT) - PIECE_BELOW, 0), last)]
        s = work.scaled[i] - row[0]
        work.water[i] = row[1] + s * (row[2] + s * (row[3] + s * row[4]))
        work.conductivity[i] = row[5] + s * (row[6] + s * (row[7] + s * row[8]))
        wet = head[i] >= 0.0
        work.capacity[i] = 0.0 if wet else -(row[2] + s * (2.0 * row[3] + s * 3.0 * row[4])) / unit
        work.slope[i] = 0.0 if wet else -(row[6] + s * (2.0 * row[7] + s * 3.0 * row[8])) / unit


@compiled
def basin_m3(level, basin):  # type: ignore[no-untyped-def]
    """Return the free solution at a level, and its slope; straight between the points, level below the first."""
    levels, free = basin
    if level <= levels[0]:
        return free[0], 0.0
    i = min(np.searchsorted(levels, level), len(levels) - 1) - 1
    slope = (free[i + 1] - free[i]) / (levels[i + 1] - levels[i])
    return free[i] + slope * (level - levels[i]), slope


@compiled
def rates(grid, limits, head, demand, top, work, rate):  # type: ignore[no-untyped-def]
    """Put the net inflow of every node into ``rate``, its derivatives into ``work``; return the uptake in all.

    Darcy's law between nodes, conductivity the mean of both ends; uptake falls in a line between the two suctions.
    """
    last, taken, flow_in, in_by_here = len(head) - 1, 0.0, 0.0, 0.0
    for i in range(last + 1):
        wanted, share, slope = demand * grid.root_share[i], 1.0, 0.0
        if -head[i] >= limits.none_from_m:
            share = 0.0
        elif -head[i] > limits.full_until_m:
            slope = 1.0 / (limits.none_from_m - limits.full_until_m)
            share = (limits.none_from_m + head[i]) * slope
        taken += wanted * share
        flow_out, by_here, by_next = 0.0, 0.0, 0.0
        if i < last:
            link = 0.5 * grid.link_m[i]
            both = work.conductivity[i] + work.conductivity[i + 1]
            pull = head[i + 1] - head[i] + grid.rise_m[i]
            flow_out = -link * both * pull
            by_here = -link * (work.slope[i] * pull - both)
            by_next = -link * (work.slope[i + 1] * pull + both)
            work.upper[i] = -by_next
            work.lower[i + 1] = by_here
        rate[i] = flow_in - flow_out - wanted * share
        work.diagonal[i] = in_by_here - by_here - wanted * slope
        flow_in, in_by_here = flow_out, by_next
    rate[last] += top
    return taken


@compiled
def sweep(lower, diagonal, upper, right, swept, moved):  # type: ignore[no-untyped-def]
    """Solve a tridiagonal system of at least three rows for ``moved``.

    Gauss' elimination from both ends to the middle and back: the two chains do not wait for each other, which takes
    half the time of one.
    """
    last = len(moved) - 1
    half = last // 2
    up, x = upper[0] / diagonal[0], right[0] / diagonal[0]
    down, y = lower[last] / diagonal[last], right[last] / diagonal[last]
    swept[0], moved[0], swept[last], moved[last] = up, x, down, y
    for i in range(1, half):
        j = last - i
        from_foot, from_top = 1.0 / (diagonal[i] - lower[i] * up), 1.0 / (diagonal[j] - upper[j] * down)
        up, x = upper[i] * from_foot, (right[i] - lower[i] * x) * from_foot
        down, y = lower[j] * from_top, (right[j] - upper[j] * y) * from_top
        swept[i], moved[i], swept[j], moved[j] = up, x, down, y
    middle = last - half
    if middle > half:
        scale = 1.0 / (diagonal[half] - lower[half] * up)
        up, x = upper[half] * scale, (right[half] - lower[half] * x) * scale
    y = (right[middle] - lower[middle] * x - upper[middle] * y) / (
        diagonal[middle] - lower[middle] * up - upper[middle] * down
    )
    moved[middle] = y
    x = x - up * y if middle > half else y
    moved[half] = x
    for i in range(half - 1, -1, -1):
        j = last - i
        x, y = moved[i] - swept[i] * x, moved[j] - swept[j] * y
        moved[i], moved[j] = x, y


@compiled
def _move(head, moved, steepest):  # type: ignore[no-untyped-def]
    """Move the heads as Newton asks; return the largest movement.

    Water content bends one way below its steepest head and the other way above it. A node that leaps across stops
    there: from that head Newton comes down to either side without overshooting.
    """
    largest = 0.0
    for i in range(len(head)):
        old, by = head[i], moved[i]
        leaps = (old - steepest) * (old + by - steepest) < 0.0 and abs(by) > -_LEAP * steepest
        head[i] = steepest if leaps else old + by
        largest = max(largest, abs(by))
    return largest


@compiled
def _assemble(grid, basin, weight, head, rate, work):  # type: ignore[no-untyped-def]
    """Turn the derivatives in ``work`` into Newton's system; return the largest water left over at a node, by volume.

    Without a basin table the lowest head is held and its row is the identity.
    """
    known, right, lower, diagonal, upper = work.known, work.right, work.lower, work.diagonal, work.upper
    volume, water, capacity = grid.volume_m3, work.water, work.capacity
    for i in range(len(head)):
        right[i] = known[i] + weight * rate[i] - volume[i] * water[i]
        diagonal[i] = volume[i] * capacity[i] - weight * diagonal[i]
        lower[i] *= -weight
        upper[i] *= -weight
    if basin.shape[1] == 0:
        right[0], diagonal[0], upper[0] = 0.0, 1.0, 0.0
    else:
        free, per_m = basin_m3(head[0], basin)
        right[0] -= free
        diagonal[0] += per_m
    worst, total = 0.0, 0.0
    for i in range(len(head)):
        off = abs(right[i] * work.per_m3[i])
        total += off
        worst = max(worst, off)
    return worst if total < _LOST else np.inf  # also where one of them is not a number


@compiled
def solve_stage(grid, curves, limits, basin, demand, top, weight, exact, head, rate, work, counts):  # type: ignore[no-untyped-def]
    """Solve water(head) = known + weight x rate(head) by Newton; return (solved, uptake).

    Done when the water left over is next to nothing or, if not ``exact``, when the next movement would be far below the
    tolerance, judged by how fast the last one made the rest smaller.
    """
    moved, before = np.inf, 0.0
    for _ in range(_PASSES):
        look_up(curves, head, work)
        taken = rates(grid, limits, head, demand, top, work, rate)
        worst = _assemble(grid, basin, weight, head, rate, work)
        counts[1] += 1
        if worst <= _RESIDUAL or (moved <= _STILL_M and worst <= 100.0 * _RESIDUAL):
            return True, taken
        if not exact and worst < 0.1 * before and moved * worst <= _LOOSE * limits.tolerance_m * before:
            return True, taken
        if worst == np.inf:
            return False, taken
        sweep(work.lower, work.diagonal, work.upper, work.right, work.swept, work.moved)
        moved, before = _move(head, work.moved, -limits.steepest_m), worst
    return False, taken
