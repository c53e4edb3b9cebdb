"""How the levels of a bench go through the day, and how long they take to come back after a dry spell.

Every pot and the tank store water; flows are steady at each instant. Steps are implicit (backward Euler), so that no
depth falls below zero and no water is made, however long the step; the error is of first order in the step.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from wetfoot.water.bench_parts import BankLines, Supply
from wetfoot.water.bench_tree import BenchTree, bench_tree
from wetfoot.water.network import Demand, NotConvergedError, held_l, node_demand_l_h
from wetfoot.water.tree_solver import newton, outflows, rest

Array = NDArray[np.float64]

SUNRISE_H, SUNSET_H = 6.0, 18.0
STEP_H = 0.05
HALVINGS = 12
BACK = 0.9  # of its depth at rest: a pot counts as recovered


class State(NamedTuple):
    """Heads of all nodes and flows of all links at one time, to go on from."""

    heads_m: Array
    flows_l_h: Array


@dataclass(frozen=True)
class Course:
    """Levels and litres by time; depths as one array (times, pots) a bank.

    Attributes:
        hours: from the start, shape (times,).
        depth_m: depth in every pot.
        tank_l: litres in the tank that it can still give.
        drunk_l, overflow_l, leaked_l: totals up to each time over the whole bench.
        wanted_l: what the pots would have drunk in all.
        end: the state at the end, to go on from.
        missing_l: water that came in less water that went out or is held: rounding, or a fault of the solver.
    """

    hours: Array
    depth_m: tuple[Array, ...]
    tank_l: Array
    drunk_l: Array
    overflow_l: Array
    leaked_l: Array
    wanted_l: float
    end: State
    missing_l: float

    @property
    def short_l(self) -> float:
        """Litres that pots wanted and did not get."""
        return float(self.wanted_l - self.drunk_l[-1])


def half_sine_share(from_h: float, to_h: float) -> float:
    """Return the mean of a half sine from 6 to 18 h over a span of hours, its peak being 1; exact, any day."""
    return (_half_sine_sum(to_h) - _half_sine_sum(from_h)) / (to_h - from_h)


def _half_sine_sum(hours: float) -> float:
    days, hour = divmod(hours, 24.0)
    span = SUNSET_H - SUNRISE_H
    lit = min(max(hour, SUNRISE_H), SUNSET_H) - SUNRISE_H
    return span / math.pi * (2.0 * days + 1.0 - math.cos(math.pi * lit / span))


def peak_l_h(daily_l: float) -> float:
    """Return the peak of a half-sine demand from 6 to 18 h that sums to so many litres a day."""
    return daily_l * math.pi / (2.0 * (SUNSET_H - SUNRISE_H))


def day_course(
    banks: Sequence[BankLines], supply: Supply, peak_demand_l_h: Demand, days: float = 1.0, step_h: float = STEP_H
) -> Course:
    """Return the course of all levels from midnight with every float shut, under a half-sine demand.

    Args:
        banks: tubes, valve and pots of each bank.
        supply: tank and supply line; the tank falls as it is drawn on.
        peak_demand_l_h: what a pot wants at noon: one rate, or for each bank one rate or an array of one a pot.
        days: how long.
        step_h: longest step.

    Raises:
        ValueError: naming every measure that cannot be.
        NotConvergedError: with the state reached.
    """
    return march(bench_tree(banks, supply), peak_demand_l_h, 24.0 * days, step_h=step_h)


def march(
    bench: BenchTree,
    peak_demand_l_h: Demand,
    hours: float,
    start_h: float = 0.0,
    start: State | None = None,
    step_h: float = STEP_H,
) -> Course:
    """Return the course of a bench that is laid out already, from a given state or from rest.

    Args:
        bench: the bench as a tree.
        peak_demand_l_h: as in `day_course`.
        hours: how long.
        start_h: hour of the day at the start.
        start: where to go on from; None for rest.
        step_h: longest step.

    Raises:
        ValueError: if hours or step are not positive, or as `network.node_demand_l_h`.
        NotConvergedError: with the state reached.
    """
    if not (hours > 0 and step_h > 0):
        raise ValueError(f"hours and step_h must be > 0, not {hours} and {step_h}")
    peak = node_demand_l_h(bench, peak_demand_l_h)
    state = State(rest(bench.tree, bench.tank_height_m), np.zeros(len(peak))) if start is None else start
    times = np.linspace(0.0, hours, math.ceil(hours / step_h - 1e-9) + 1)
    heads, gone = [state.heads_m], [np.zeros(3)]
    wanted_l = 0.0
    for begin, end in itertools.pairwise(times.tolist()):
        wanted = peak * half_sine_share(start_h + begin, start_h + end)
        state, out_l = _step(bench, state, wanted, end - begin)
        heads.append(state.heads_m)
        gone.append(gone[-1] + out_l)
        wanted_l += float(wanted.sum()) * (end - begin)
    return _course(bench, times, np.array(heads), np.array(gone), wanted_l, state)


def _course(bench: BenchTree, times: Array, heads: Array, gone: Array, wanted_l: float, end: State) -> Course:
    held = [held_l(bench, h) for h in (heads[0], heads[-1])]
    tree = bench.tree
    return Course(
        hours=times,
        depth_m=tuple(np.maximum(0.0, heads[:, pots] - tree.bottom_m[pots]) for pots in bench.pots),
        tank_l=tree.storage_l_m[0] * np.maximum(0.0, heads[:, 0] - tree.bottom_m[0]),
        drunk_l=gone[:, 0],
        overflow_l=gone[:, 1],
        leaked_l=gone[:, 2],
        wanted_l=wanted_l,
        end=end,
        missing_l=float(held[0].sum() - held[1].sum() - gone[-1].sum()),
    )


def _step(bench: BenchTree, state: State, wanted: Array, span_h: float, halvings: int = 0) -> tuple[State, Array]:
    """Return the state after a step and the litres drunk, run over and leaked in it.

    A step that finds no balance is parted in two.
    """
    heads, flows = state.heads_m.copy(), state.flows_l_h.copy()
    passes, residual = newton(bench.tree, heads, flows, wanted, held_l(bench, heads), 1.0 / span_h, False)
    if residual <= 1.0:
        return State(heads, flows), outflows(bench.tree, heads, flows, wanted).sum(axis=1) * span_h
    if halvings == HALVINGS:
        raise NotConvergedError(f"a step of {span_h:.3g} h", heads, residual, passes)
    middle, first = _step(bench, state, wanted, span_h / 2.0, halvings + 1)
    end, second = _step(bench, middle, wanted, span_h / 2.0, halvings + 1)
    return end, first + second


def with_floats_stuck(bench: BenchTree, opening: float, banks: Sequence[int] | None = None) -> BenchTree:
    """Return the bench with floats stuck at an opening, 0 (shut) to 1 (wide open), in some banks or in all."""
    if not 0.0 <= opening <= 1.0:
        raise ValueError(f"opening must lie between 0 and 1, not {opening}")
    stuck = bench.tree.stuck.copy()
    stuck[[bench.sumps[b] for b in (range(len(bench.sumps)) if banks is None else banks)]] = opening
    return bench._replace(tree=bench.tree._replace(stuck=stuck))


@dataclass(frozen=True)
class Recovery:
    """What a spell without supply does; arrays of pots, one a bank.

    Attributes:
        lowest_m: depth in each pot when the supply comes back.
        hours: until nine tenths of the depth at rest stand in the pot again; infinite if not within the time given.
    """

    lowest_m: tuple[Array, ...]
    hours: tuple[Array, ...]

    @property
    def slowest_h(self) -> float:
        """Hours until the last pot has recovered."""
        return max(float(h.max()) for h in self.hours)


def recovery(
    banks: Sequence[BankLines],
    supply: Supply,
    peak_demand_l_h: Demand,
    dry_h: float,
    from_h: float = SUNRISE_H,
    within_h: float = 72.0,
    step_h: float = STEP_H,
) -> Recovery:
    """Return how low the pots fall while the supply is shut, and how long they take to come back.

    Args:
        banks, supply, peak_demand_l_h: as in `day_course`; the half-sine demand goes on all the time.
        dry_h: how long no water comes.
        from_h: hour of the day at which the supply stops, all pots at rest.
        within_h: how long to watch after that.
        step_h: longest step.
    """
    bench = bench_tree(banks, supply)
    spell = march(with_floats_stuck(bench, 0.0), peak_demand_l_h, dry_h, from_h, step_h=step_h)
    after = march(bench, peak_demand_l_h, within_h, from_h + dry_h, spell.end, step_h)
    level = rest(bench.tree, bench.tank_height_m)
    full = [BACK * (level[pots] - bench.tree.bottom_m[pots]) for pots in bench.pots]
    return Recovery(
        lowest_m=tuple(depth[-1] for depth in spell.depth_m),
        hours=tuple(first_time_h(after.hours, d - f) for d, f in zip(after.depth_m, full, strict=True)),
    )


def first_time_h(hours: Array, above: Array) -> Array:
    """Return when each column of `above` (times, pots) first reaches 0, between two times by a straight line."""
    reached = above >= 0.0
    first = np.argmax(reached, axis=0)
    column = np.arange(above.shape[1])
    before = np.maximum(first - 1, 0)
    low, high = above[before, column], above[first, column]
    rise = np.where(high > low, high - low, 1.0)
    time = hours[before] + np.where(first > 0, -low / rise, 0.0) * (hours[first] - hours[before])
    return np.where(reached.any(axis=0), np.where(first == 0, hours[0], time), np.inf)
