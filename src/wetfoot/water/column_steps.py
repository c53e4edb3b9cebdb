"""Steps of a column through time, compiled: third order, L-stable, with the error of every step controlled.

The singly diagonally implicit method of three stages (Alexander 1977, SIAM J. Numer. Anal. 14:1006), with the
second-order result of its first two stages for the error. No stage looks at the flows before the step, so that jumps
of a boundary and slices that have just filled up leave nothing behind. What Newton leaves over in a step is made good
in the next, because the water of each slice is carried on by flows and not by heads.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from wetfoot.water.column_kernel import basin_m3, compiled, look_up, solve_stage, sweep

Array = NDArray[np.float64]

_G = 0.43586652150845899942  # root of G^3 - 3 G^2 + 3 G / 2 - 1 / 6
# Weights of the flows at the three stages for each stage; the last is the step's end.
_STAGES = np.array(
    [[_G, 0.0, 0.0], [(1.0 - _G) / 2.0, _G, 0.0], [-1.5 * _G**2 + 4.0 * _G - 0.25, 1.5 * _G**2 - 5.0 * _G + 1.25, _G]]
)
_PLACES = np.array([_G, (1.0 + _G) / 2.0, 1.0])
_ERROR = np.array([_G, -2.0 * _G, _G])  # the step's end less the second-order result of the first two stages

FIRST_STEP_D, LEAST_STEP_D = 1e-6, 1e-15
DAY_STEPS = 16  # at least, so that a demand too small to move a head is still summed well
MOST_STEPS = 500_000
MOST_GROWTH, LEAST_GROWTH = 4.0, 0.2


class Drive(NamedTuple):
    """What happens, in spans of time with no jump inside; arrays of one value per span, ``level_m`` of two."""

    end_d: Array
    level_m: Array
    top_m3_d: Array
    peak_m3_d: Array
    dawn_d: Array
    jump: NDArray[np.bool_]


class Totals(NamedTuple):
    """Results at the end of each span: heads (spans, nodes), and flows since the beginning (spans, 3).

    Flows are from below, from the top, and uptake. ``counts`` are steps, passes of Newton's method, steps refused for
    their error, and stages that did not converge; ``reached_d`` is the time reached.
    """

    head_m: Array
    flows_m3: Array
    counts: NDArray[np.int64]
    reached_d: Array


@compiled
def _demand(drive, limits, span, now):  # type: ignore[no-untyped-def]
    return drive.peak_m3_d[span] * max(0.0, math.sin(math.pi * (now - drive.dawn_d[span]) / limits.day_length_d))


@compiled
def _level(drive, span, begun, now):  # type: ignore[no-untyped-def]
    low, high = drive.level_m[span]
    return low + (high - low) * (now - begun) / (drive.end_d[span] - begun)


@compiled
def _guess(work, stage, step):  # type: ignore[no-untyped-def]
    """Put a first guess of a stage's heads into ``work.head``: on from the last step, then on from the stage before."""
    head, begun = work.head[stage], work.begun
    if stage == 0:
        ahead, slope = _PLACES[0] * step, work.trend
        for i in range(len(head)):
            head[i] = begun[i] + ahead * slope[i]
    else:
        ahead, before = _PLACES[stage] / _PLACES[stage - 1], work.head[stage - 1]
        for i in range(len(head)):
            head[i] = begun[i] + ahead * (before[i] - begun[i])


@compiled
def _try_step(grid, curves, drive, limits, basin, work, counts, span, begun, now, step, last, uptake):  # type: ignore[no-untyped-def]
    """Solve the stages of a step from ``work.begun``; return whether Newton found them all."""
    for stage in range(3):
        head, rate = work.head[stage], work.rate[stage]
        then = now + _PLACES[stage] * step
        _guess(work, stage, step)
        work.known[:] = work.stored
        for earlier in range(stage):
            weight = step * _STAGES[stage, earlier]
            for i in range(len(head)):
                work.known[i] += weight * work.rate[earlier, i]
        if basin.shape[1] == 0:
            head[0] = _level(drive, span, begun, then)
        demand, top = _demand(drive, limits, span, then), drive.top_m3_d[span]
        solved, uptake[stage] = solve_stage(
            grid, curves, limits, basin, demand, top, step * _G, last and stage == 2, head, rate, work, counts
        )
        if not solved:
            return False
    return True


@compiled
def _error(limits, basin, work, step):  # type: ignore[no-untyped-def]
    """Return the largest error of a head over what is allowed; the last stage's system turns water into heads."""
    for i in range(len(work.right)):
        work.right[i] = 0.0
        for stage in range(3):
            work.right[i] += step * _ERROR[stage] * work.rate[stage, i]
    if basin.shape[1] == 0:
        work.right[0] = 0.0
    sweep(work.lower, work.diagonal, work.upper, work.right, work.swept, work.moved)
    worst = 0.0
    for i in range(len(work.right)):
        head = work.head[2, i]
        off = abs(work.moved[i]) / (limits.tolerance_m * (1.0 + abs(head)))
        off *= min(1.0, work.capacity[i] / limits.dry_capacity)
        worst = off if not off <= worst else worst
        if not -head < limits.driest_m:
            worst = math.inf
    return worst


@compiled
def _accept(grid, work, step, uptake, top, foot, sums):  # type: ignore[no-untyped-def]
    """Carry the water of every slice on by the flows of a step; return the water of the lowest slice."""
    below = 0.0
    for stage in range(3):
        weight = step * _STAGES[2, stage]
        below -= weight * work.rate[stage, 0]
        sums[1] += weight * top
        sums[2] += weight * uptake[stage]
        for i in range(len(work.stored)):
            work.stored[i] += weight * work.rate[stage, i]
    for i in range(len(work.stored)):
        work.trend[i] = (work.head[2, i] - work.begun[i]) / step
        work.begun[i] = work.head[2, i]
    now_foot = grid.volume_m3[0] * work.water[0]
    sums[0] += below + now_foot - foot
    return now_foot


@compiled
def _fill(grid, curves, basin, work):  # type: ignore[no-untyped-def]
    """Set the water of every slice from the heads; return that of the lowest without the basin's."""
    look_up(curves, work.begun, work)
    for i in range(len(work.stored)):
        work.stored[i] = grid.volume_m3[i] * work.water[i]
    foot = work.stored[0]
    if basin.shape[1] > 0:
        work.stored[0] += basin_m3(work.begun[0], basin)[0]
    return foot


@compiled
def integrate(grid, curves, drive, limits, basin, work, totals):  # type: ignore[no-untyped-def]
    """Step from ``work.begun`` through all spans and fill ``totals``; return whether the end was reached.

    ``basin`` (2, points) is level and free solution of what stands below; without points the level is held.
    """
    counts, uptake, sums = totals.counts, np.zeros(3), np.zeros(3)
    foot = _fill(grid, curves, basin, work)
    free_at_start = work.stored[0] - foot
    now, step = 0.0, FIRST_STEP_D
    for span in range(len(drive.end_d)):
        begun, end = now, drive.end_d[span]
        if drive.jump[span]:
            work.trend[:] = 0.0
            step = min(step, FIRST_STEP_D)
        longest = limits.day_length_d / DAY_STEPS if drive.peak_m3_d[span] > 0.0 else math.inf
        while now < end:
            parts = math.ceil((end - now) / min(step, longest) * (1.0 - 1e-9))
            tried = (end - now) / parts
            totals.reached_d[0] = now
            if tried < LEAST_STEP_D or counts[0] >= MOST_STEPS:
                return False
            last = parts == 1
            if not _try_step(grid, curves, drive, limits, basin, work, counts, span, begun, now, tried, last, uptake):
                counts[3] += 1
                step = LEAST_GROWTH * tried
                continue
            error = _error(limits, basin, work, tried)
            growth = 0.9 * max(error, 1e-9) ** (-1.0 / 3.0)
            if not error <= 1.0:
                counts[2] += 1
                step = tried * max(LEAST_GROWTH, growth)
                continue
            foot = _accept(grid, work, tried, uptake, drive.top_m3_d[span], foot, sums)
            counts[0] += 1
            now = end if last else now + tried
            grown = tried * min(MOST_GROWTH, growth)
            step = max(step, grown) if last else grown
        totals.head_m[span] = work.begun
        totals.flows_m3[span] = sums
        if basin.shape[1] > 0:
            totals.flows_m3[span, 0] = free_at_start - basin_m3(work.begun[0], basin)[0]
    return True
