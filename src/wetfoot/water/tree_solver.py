"""The compiled solver of a tree's heads and flows.

Newton's method on all heads and flows at once. Because the network is a tree, each linear system is eliminated from
the leaves up and solved from the tank down, in time proportional to the number of nodes (elimination of a matrix
whose graph is a tree makes no new entries: Parter 1961, SIAM Review 3:119, from memory).
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from wetfoot.water.tree import CUT, EDGE_M, OUTLET, VALVE, compiled, overflow, pipe, root, shuts_at, uptake, valve
from wetfoot.water.tree_bounds import keep_in_bounds

Array = NDArray[np.float64]

HEAD_TOLERANCE_M = 1e-12
FLOW_TOLERANCE = 1e-12  # of the demand of the whole tree, or of 1 L/h if that is more
ROUNDING = 5e-15  # relative, of heads: what a steep law makes of their last digit is no residual
MOST_PASSES = 25
LARGEST_STEP_M = 0.5


class Work(NamedTuple):
    """What the elimination keeps for each node.

    The flow that its children take, the fixed part and the slope of all that must leave it, and its link's flow and
    its own head as `fixed + bound * change of the parent's head`.
    """

    passed_on: Array
    fixed: Array
    slope: Array
    flow_fixed: Array
    flow_bound: Array
    head_fixed: Array
    head_bound: Array


@compiled
def _leaves(tree, j, head, demand, held_l, per_h):  # type: ignore[no-untyped-def]
    """Return all that leaves a node but through its links, storing included, and its slope."""
    depth = head - tree.bottom_m[j]
    drunk, slope = uptake(depth, tree.dry_depth_m[j], demand)
    over, over_slope = overflow(head - tree.weir_height_m[j], tree.weir_l_h_m15[j])
    speed, speed_slope = root(head - tree.hole_height_m[j])
    stored = (tree.storage_l_m[j] * max(0.0, depth) - held_l) * per_h
    slope += over_slope + tree.hole_l_h_m05[j] * speed_slope
    if depth >= -EDGE_M:
        slope += tree.storage_l_m[j] * per_h
    return drunk + over + tree.hole_l_h_m05[j] * speed + stored, slope


@compiled
def _behind_tube(miss, resistance, s, t):  # type: ignore[no-untyped-def]
    """Return the change of flow and head behind a tube, each as fixed and bound to the change of the head above.

    From dQ = (dHp - dH - miss) / resistance and dQ = t + s dH, without dividing by a resistance that may be 0.
    """
    whole = 1.0 + resistance * s
    return (t - miss * s) / whole, s / whole, -(miss + resistance * t) / whole, 1.0 / whole


@compiled
def _behind_valve(miss, rise, fall, s, t):  # type: ignore[no-untyped-def]
    """Return the same behind a valve, from dQ = miss + rise dHp - fall dH and dQ = t + s dH."""
    whole = fall + s
    return (miss * s + fall * t) / whole, rise * s / whole, (miss - t) / whole, rise / whole


@compiled
def _free_end(miss, resistance, fall):  # type: ignore[no-untyped-def]
    """Return the same at a free end, whose head stays; without a fall no head above it counts."""
    return -miss / resistance, (1.0 / resistance if fall >= 0.0 else 0.0), 0.0, 0.0


@compiled
def _link(tree, j, above, level, flow, s, t, flow_unit):  # type: ignore[no-untyped-def]
    """Return a link's residual over its tolerance, and the changes of its flow and of the head behind it."""
    kind = tree.kind[j]
    if kind == VALVE:
        passed, rise, fall = valve(
            above, level, tree.seat_l_h_m05[j], tree.seat_height_m[j], tree.shift_m_per_m[j], tree.adjusted_head_m[j],
            tree.band_m[j], tree.stuck[j],
        )  # fmt: skip
        tolerance = flow_unit * FLOW_TOLERANCE + ROUNDING * (rise + fall) * (1.0 + abs(above))
        return abs(passed - flow) / tolerance, _behind_valve(passed - flow, rise, fall, s, t)
    if kind == CUT:
        return abs(flow) / (flow_unit * FLOW_TOLERANCE), (-flow, 0.0, -(flow + t) / s, 0.0)
    loss, resistance = pipe(
        flow, tree.laminar_m_per_l_h[j], tree.reynolds_per_l_h[j], tree.roughness[j], tree.kinetic_m_per_l2_h2[j]
    )
    if kind == OUTLET:
        miss = loss - max(0.0, above - level)
        return abs(miss) / HEAD_TOLERANCE_M, _free_end(miss, resistance, above - level)
    miss = loss - (above - level)
    return abs(miss) / HEAD_TOLERANCE_M, _behind_tube(miss, resistance, s, t)


@compiled
def _eliminate(tree, work, heads, flows, demand, held_l, per_h, tank_kept, flow_unit):  # type: ignore[no-untyped-def]
    """Eliminate from the leaves up to the tank; return the largest residual over its tolerance."""
    worst = 0.0
    work.passed_on[:] = 0.0
    work.fixed[:] = 0.0
    work.slope[:] = 1e-12  # keeps a bank solvable that is shut and dry, where nothing changes with its head
    for j in range(len(heads) - 1, -1, -1):
        out, slope = _leaves(tree, j, heads[j], demand[j], held_l[j], per_h)
        unmet = work.passed_on[j] + out - flows[j] if tree.kind[j] != OUTLET else 0.0
        work.fixed[j] += unmet
        work.slope[j] += slope
        if j > 0 or not tank_kept:
            rounding = ROUNDING * slope * (1.0 + abs(heads[j]))
            worst = max(worst, abs(unmet) / (flow_unit * FLOW_TOLERANCE + rounding))
        if j > 0:
            p = tree.parent[j]
            residual, change = _link(tree, j, heads[p], heads[j], flows[j], work.slope[j], work.fixed[j], flow_unit)
            work.flow_fixed[j], work.flow_bound[j], work.head_fixed[j], work.head_bound[j] = change
            worst = max(worst, residual)
            work.passed_on[p] += flows[j]
            work.fixed[p] += change[0]
            work.slope[p] += change[1]
    return worst


@compiled
def _substitute(tree, work, head_step, flow_step, tank_kept):  # type: ignore[no-untyped-def]
    """Solve from the tank down for the Newton step; return its largest change of head."""
    head_step[0] = 0.0 if tank_kept else -work.fixed[0] / work.slope[0]
    flow_step[0] = 0.0
    largest = abs(head_step[0])
    for j in range(1, len(head_step)):
        above = head_step[tree.parent[j]]
        head_step[j] = work.head_fixed[j] + work.head_bound[j] * above
        flow_step[j] = work.flow_fixed[j] + work.flow_bound[j] * above
        largest = max(largest, abs(head_step[j]))
    return largest


@compiled
def newton(tree, heads, flows, demand, held_l, per_h, tank_kept):  # type: ignore[no-untyped-def]
    """Find heads and flows in place; return passes used and the last residual over its tolerance (below 1: solved).

    `per_h` is one over the time step in hours, 0 for steady flow; `tank_kept` holds the tank at its level.
    A step that does not lessen the worst of the last residuals is halved.
    """
    flow_unit, low, top = max(1.0, demand.sum()), heads.min(), heads.max()
    for j in range(len(heads)):
        if tree.storage_l_m[j] > 0.0:
            low = min(low, tree.bottom_m[j])
    n = len(heads)
    work = Work(np.zeros(n), np.zeros(n), np.zeros(n), np.zeros(n), np.zeros(n), np.zeros(n), np.zeros(n))
    head_step, flow_step = np.zeros(n), np.zeros(n)
    recent = np.full(8, np.inf)
    share, worst = 1.0, np.inf
    for count in range(MOST_PASSES):
        worst = _eliminate(tree, work, heads, flows, demand, held_l, per_h, tank_kept, flow_unit)
        if not math.isfinite(heads.sum() + flows.sum()):
            return count + 1, math.inf
        if worst <= 1.0:  # one step more brings it down to rounding, as good as free
            _substitute(tree, work, head_step, flow_step, tank_kept)
            heads += head_step
            flows += flow_step
            return count + 1, worst
        if count > 0 and not worst < recent.max() and share > 1e-3:
            share *= 0.5
            heads -= share * head_step
            flows -= share * flow_step
            continue
        recent[count % 8] = worst
        largest = _substitute(tree, work, head_step, flow_step, tank_kept)
        share = 1.0
        scale = min(1.0, LARGEST_STEP_M / largest)
        head_step *= scale
        flow_step *= scale
        keep_in_bounds(tree, heads, head_step, low, top)
        heads += head_step
        flows += flow_step
    return MOST_PASSES, worst


@compiled
def settle(tree, heads, flows, demand, held_l, per_h):  # type: ignore[no-untyped-def]
    """Set every flow to the sum of what leaves below it, so that water is neither made nor lost."""
    loose = flows.copy()
    flows[:] = 0.0
    for j in range(len(heads) - 1, 0, -1):
        out, _ = _leaves(tree, j, heads[j], demand[j], held_l[j], per_h)
        flows[j] += out if tree.kind[j] != OUTLET else loose[j]
        if tree.kind[j] == CUT:
            flows[j] = 0.0
        if tree.parent[j] > 0:
            flows[tree.parent[j]] += flows[j]


@compiled
def outflows(tree, heads, flows, demand):  # type: ignore[no-untyped-def]
    """Return what each node drinks, lets run over and leaks, flows from free ends included; shape (3, nodes)."""
    out = np.empty((3, len(heads)))
    for j in range(len(heads)):
        out[0, j] = uptake(heads[j] - tree.bottom_m[j], tree.dry_depth_m[j], demand[j])[0]
        out[1, j] = overflow(heads[j] - tree.weir_height_m[j], tree.weir_l_h_m15[j])[0]
        hole = tree.hole_l_h_m05[j] * root(heads[j] - tree.hole_height_m[j])[0]
        out[2, j] = flows[j] if tree.kind[j] == OUTLET else hole
    return out


@compiled
def rest(tree, tank_height):  # type: ignore[no-untyped-def]
    """Return the heads of a full bench at rest: every bank at the level at which its float shuts."""
    heads = np.empty(len(tree.parent))
    heads[0] = tank_height
    for j in range(1, len(heads)):
        above = heads[tree.parent[j]]
        if tree.kind[j] == VALVE:
            heads[j] = shuts_at(above, tree.seat_height_m[j], tree.shift_m_per_m[j], tree.adjusted_head_m[j])
        elif tree.kind[j] == OUTLET:
            heads[j] = tree.bottom_m[j]
        else:
            heads[j] = max(above, tree.bottom_m[j])
    return heads


@compiled
def steady(tree, tank_height, demand):  # type: ignore[no-untyped-def]
    """Return steady heads and flows from a tank that keeps its level, with passes and residual as `newton` does."""
    heads = rest(tree, tank_height)
    flows = np.zeros(len(heads))
    settle(tree, heads, flows, demand, demand, 0.0)
    passes, residual = newton(tree, heads, flows, demand, demand, 0.0, True)
    settle(tree, heads, flows, demand, demand, 0.0)
    return heads, flows, passes, residual
