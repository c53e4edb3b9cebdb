"""The level in every pot of a bench, and the flow in every tube, while every pot drinks at a steady rate."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wetfoot.water.bench_parts import BankLines, Supply
from wetfoot.water.bench_tree import BenchTree, bench_tree
from wetfoot.water.tree import opening, shuts_at
from wetfoot.water.tree_solver import newton, outflows, rest, settle, steady

Array = NDArray[np.float64]
Demand = float | Sequence[float | Array]

FIRST_STEP_H, LAST_STEP_H, MOST_STEPS = 1e-3, 1e9, 100


class NotConvergedError(ArithmeticError):
    """The solver stopped before its equations held.

    Attributes:
        heads_m: the state it reached, one head a node.
        residual: the largest remaining residual over its tolerance; solved would be below 1.
        passes: how many passes of Newton's method were made.
    """

    def __init__(self, what: str, heads_m: Array, residual: float, passes: int) -> None:
        self.heads_m, self.residual, self.passes = heads_m, residual, passes
        finite = heads_m[np.isfinite(heads_m)]
        reached = f"heads {finite.min():.4g} to {finite.max():.4g} m" if len(finite) else "no finite head"
        super().__init__(
            f"{what}: no balance after {passes} passes, residual {residual:.3g} times its tolerance; reached {reached}"
        )


@dataclass(frozen=True)
class BankLevels:
    """One bank's levels and flows; arrays by pot, from the sump outwards.

    Depth = set level + closing shift - float sag - lateral loss - microtube loss - board, for pots that hold water.

    Attributes:
        depth_m: of solution in each pot, 0 where it stands dry.
        inflow_l_h: through each microtube.
        uptake_l_h: what each pot drinks.
        overflow_l_h: what runs over in each pot.
        lateral_l_h: flow in the reach of the lateral that leads to each pot.
        lateral_loss_m: head lost in the lateral from the sump to each pot.
        microtube_loss_m: head lost in each microtube.
        board_m: height of the board at each pot above that at the sump.
        dry: pots that cannot drink what they want.
        sump_level_m: depth in the sump.
        float_sag_m: fall of the float below its shutting level.
        closing_shift_m: rise of the shutting level because of the tank's height.
        valve_l_h: flow through the valve.
        valve_open: how far it is open, 0 to 1.
        sump_overflow_l_h: what runs over in the sump.
    """

    depth_m: Array
    inflow_l_h: Array
    uptake_l_h: Array
    overflow_l_h: Array
    lateral_l_h: Array
    lateral_loss_m: Array
    microtube_loss_m: Array
    board_m: Array
    dry: NDArray[np.bool_]
    sump_level_m: float
    float_sag_m: float
    closing_shift_m: float
    valve_l_h: float
    valve_open: float
    sump_overflow_l_h: float


@dataclass(frozen=True)
class BenchLevels:
    """Levels and flows of the whole bench; `passes` is how many times Newton's method went over the tree."""

    banks: tuple[BankLevels, ...]
    supply_loss_m: float
    tank_l_h: float
    passes: int


def node_demand_l_h(bench: BenchTree, demand_l_h: Demand) -> Array:
    """Return what each node wants to drink: one rate for all pots, or one rate or an array of pots for each bank.

    Raises:
        ValueError: if a demand is negative or not finite, or their number is not that of banks or pots.
    """
    wanted = np.zeros(len(bench.tree.parent))
    per_bank = [demand_l_h] * len(bench.pots) if isinstance(demand_l_h, int | float) else list(demand_l_h)
    if len(per_bank) != len(bench.pots):
        raise ValueError(f"demand_l_h must give {len(bench.pots)} banks, not {len(per_bank)}")
    for nodes, rate in zip(bench.pots, per_bank, strict=True):
        if np.ndim(rate) > 0 and np.shape(rate) != nodes.shape:
            raise ValueError(f"demand_l_h must give {len(nodes)} pots, not {np.shape(rate)}")
        wanted[nodes] = rate
    if not (np.isfinite(wanted).all() and (wanted >= 0).all()):
        raise ValueError(f"demand_l_h must be finite and >= 0, not {demand_l_h}")
    return wanted


def steady_heads(bench: BenchTree, demand_l_h: Demand) -> tuple[Array, Array, int]:
    """Return heads and flows of all nodes in steady flow from a tank that keeps its level, and the passes used.

    Newton's method from the set level; where that fails (banks that run dry, valves too small), implicit steps of
    growing length from full pots lead into the steady state.

    Raises:
        NotConvergedError: with the state reached.
    """
    wanted = node_demand_l_h(bench, demand_l_h)
    heads, flows, passes, residual = steady(bench.tree, bench.tank_height_m, wanted)
    if not residual <= 1.0:
        heads, flows, more = _by_growing_steps(bench, wanted)
        settle(bench.tree, heads, flows, wanted, wanted, 0.0)
        passes += more
    return heads, flows, passes


def _by_growing_steps(bench: BenchTree, wanted: Array) -> tuple[Array, Array, int]:
    """Return the steady state as what implicit steps of growing length lead to, the tank kept at its level."""
    heads, flows, step_h, total = rest(bench.tree, bench.tank_height_m), np.zeros(len(wanted)), FIRST_STEP_H, 0
    failed = (heads, np.inf)
    for _ in range(MOST_STEPS):
        trial, trial_flows = heads.copy(), flows.copy()
        passes, residual = newton(bench.tree, trial, trial_flows, wanted, held_l(bench, heads), 1.0 / step_h, True)
        total += passes
        if not residual <= 1.0:
            step_h, failed = step_h / 8.0, (trial, residual)
            continue
        heads, flows, step_h = trial, trial_flows, step_h * 4.0
        if step_h > LAST_STEP_H:
            return heads, flows, total
    raise NotConvergedError("levels of the bench", *failed, total)


def held_l(bench: BenchTree, heads: Array) -> Array:
    """Return the litres that each node holds."""
    tree = bench.tree
    return np.asarray(tree.storage_l_m * np.maximum(0.0, heads - tree.bottom_m))


def bench_levels(banks: Sequence[BankLines], supply: Supply, demand_l_h: Demand) -> BenchLevels:
    """Return the level in every pot while each drinks at a steady rate.

    Laminar loss below a Reynolds number of 2000, Darcy-Weisbach with Churchill 1977 above; float valves opening in
    proportion to the fall of the float; orifice and weir by Torricelli and Poleni.

    Args:
        banks: tubes, valve and pots of each bank.
        supply: tank and supply line.
        demand_l_h: one rate for every pot, or for each bank one rate or an array of one a pot.

    Raises:
        ValueError: naming every measure that cannot be.
        NotConvergedError: with the state reached.
    """
    return levels_of(bench_tree(banks, supply), demand_l_h)


def levels_of(bench: BenchTree, demand_l_h: Demand) -> BenchLevels:
    """Return the levels of a bench that is laid out already (see `bench_levels`)."""
    heads, flows, passes = steady_heads(bench, demand_l_h)
    out = outflows(bench.tree, heads, flows, node_demand_l_h(bench, demand_l_h))
    return BenchLevels(
        banks=tuple(_bank_levels(bench, b, heads, flows, out) for b in range(len(bench.sumps))),
        supply_loss_m=float(heads[0] - heads[1]),
        tank_l_h=float(flows[1]),
        passes=passes,
    )


def _bank_levels(bench: BenchTree, bank: int, heads: Array, flows: Array, out: Array) -> BankLevels:
    tree, sump, joints, pots = bench.tree, bench.sumps[bank], bench.joints[bank], bench.pots[bank]
    depth = np.maximum(0.0, heads[pots] - tree.bottom_m[pots])
    shuts = shuts_at(heads[1], tree.seat_height_m[sump], tree.shift_m_per_m[sump], tree.adjusted_head_m[sump])
    return BankLevels(
        depth_m=depth,
        inflow_l_h=flows[pots],
        uptake_l_h=out[0, pots],
        overflow_l_h=out[1, pots],
        lateral_l_h=flows[joints],
        lateral_loss_m=heads[sump] - heads[joints],
        microtube_loss_m=heads[joints] - heads[pots],
        board_m=tree.bottom_m[pots] - tree.bottom_m[sump],
        dry=depth < tree.dry_depth_m[pots],
        sump_level_m=float(heads[sump] - tree.bottom_m[sump]),
        float_sag_m=float(shuts - heads[sump]),
        closing_shift_m=float(shuts - tree.seat_height_m[sump]),
        valve_l_h=float(flows[sump]),
        valve_open=float(opening(shuts - heads[sump], tree.band_m[sump], tree.stuck[sump])[0]),
        sump_overflow_l_h=float(out[1, sump]),
    )
