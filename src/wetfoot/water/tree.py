"""A tree of tubes and valves from the tank down to every pot, and the laws of its links and vessels, compiled.

Node 0 is the tank; every other node hangs on its parent by one link, parents before children. Each law returns what
it says and the slope that Newton's method needs (`tree_solver`).
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from wetfoot.water import lines

Array = NDArray[np.float64]

PIPE, VALVE, CUT, OUTLET = 0, 1, 2, 3

# Below this head the square root of an orifice is replaced by a parabola, or its slope would be infinite at rest.
QUIET_HEAD_M = 1e-4
EDGE_M = 1e-12  # this near to an edge counts as on it, and the slope there as that on its wet side
# Churchill's factor is 0.14 % above 64/Re where it takes over; a blend over ten Reynolds numbers keeps the loss rising.
BLEND_REYNOLDS = 10.0
LAMINAR = lines.LAMINAR_LIMIT


class Tree(NamedTuple):
    """Nodes with the link that each hangs on; every array has one entry a node, heights above the ground.

    Attributes:
        parent: the node that the link comes from, -1 for the tank.
        kind: PIPE, VALVE, CUT (nothing passes) or OUTLET (a tube whose free end runs to the ground at `bottom_m`).
        laminar_m_per_l_h: head lost per litre an hour in laminar flow.
        reynolds_per_l_h: Reynolds number per litre an hour.
        roughness: roughness over bore.
        kinetic_m_per_l2_h2: head lost at ends and bends per square of the flow.
        seat_l_h_m05: what a wide-open valve passes per root of a metre of head.
        seat_height_m: level at which the float shuts the valve at its adjusted head.
        shift_m_per_m: rise of the shutting level per metre of head above the adjusted one.
        adjusted_head_m: head at which the float was adjusted.
        band_m: fall of the float from shut to wide open.
        stuck: NaN for a float that moves, or the opening at which it is stuck, 0 to 1.
        bottom_m: height of the vessel's inside bottom.
        storage_l_m: litres that the vessel holds per metre of level; 0 for a mere joint.
        dry_depth_m: depth below which a pot drinks less than it wants.
        weir_height_m: height of the overflow's lower edge, infinite for none.
        weir_l_h_m15: what the overflow passes per metre of head to the power 1.5.
        hole_height_m: height of a leak, infinite for none.
        hole_l_h_m05: what the leak passes per root of a metre of head.
    """

    parent: NDArray[np.int64]
    kind: NDArray[np.int64]
    laminar_m_per_l_h: Array
    reynolds_per_l_h: Array
    roughness: Array
    kinetic_m_per_l2_h2: Array
    seat_l_h_m05: Array
    seat_height_m: Array
    shift_m_per_m: Array
    adjusted_head_m: Array
    band_m: Array
    stuck: Array
    bottom_m: Array
    storage_l_m: Array
    dry_depth_m: Array
    weir_height_m: Array
    weir_l_h_m15: Array
    hole_height_m: Array
    hole_l_h_m05: Array


def compiled(function: Any) -> Any:
    """Return a function compiled by numba, kept on disk, dividing as numpy does."""
    return njit(cache=True, error_model="numpy")(function)


_friction = compiled(lines.churchill_friction_factor)


@compiled
def _tube_loss(flow, laminar, reynolds, roughness, kinetic):  # type: ignore[no-untyped-def]
    """Return the head lost in a tube at a flow above 0 with its Reynolds number."""
    loss = laminar * flow
    if reynolds > LAMINAR:
        share = min(1.0, (reynolds - LAMINAR) / BLEND_REYNOLDS)
        loss *= 1.0 + share * (_friction(reynolds, roughness) * reynolds / 64.0 - 1.0)
    return loss + kinetic * flow * flow


@compiled
def pipe(flow, laminar, reynolds_per_flow, roughness, kinetic):  # type: ignore[no-untyped-def]
    """Return the head lost in a tube and its slope by the flow, either way."""
    size = abs(flow)
    reynolds = size * reynolds_per_flow
    loss = _tube_loss(size, laminar, reynolds, roughness, kinetic)
    if reynolds > LAMINAR:
        more = 1.0 + 1e-7
        slope = (_tube_loss(size * more, laminar, reynolds * more, roughness, kinetic) - loss) / (size * 1e-7)
    else:
        slope = laminar + 2.0 * kinetic * size
    return math.copysign(loss, flow), slope


@compiled
def root(head):  # type: ignore[no-untyped-def]
    """Return the square root of a head and its slope, smooth down to 0 at no head."""
    if head < -EDGE_M:
        return 0.0, 0.0
    head = max(0.0, head)
    if head >= QUIET_HEAD_M:
        return math.sqrt(head), 0.5 / math.sqrt(head)
    x, unit = head / QUIET_HEAD_M, math.sqrt(QUIET_HEAD_M)
    return unit * x * (1.5 - 0.5 * x), (1.5 - x) * unit / QUIET_HEAD_M


@compiled
def shuts_at(above, seat, shift, adjusted):  # type: ignore[no-untyped-def]
    """Return the level at which a float shuts its valve under the head above it."""
    return seat + shift * (above - seat - adjusted)


@compiled
def opening(fall, band, stuck):  # type: ignore[no-untyped-def]
    """Return how far a float valve is open, 0 to 1, when the float has fallen so far, and the slope of that."""
    if not math.isnan(stuck):
        return stuck, 0.0
    moving = -EDGE_M <= fall <= band + EDGE_M
    return min(1.0, max(0.0, fall / band)), 1.0 / band if moving else 0.0


@compiled
def valve(above, level, full, seat, shift, adjusted, band, stuck):  # type: ignore[no-untyped-def]
    """Return what a valve passes, its rise by the head above and its fall by the level below."""
    speed, speed_slope = root(above - max(level, seat))
    share, share_slope = opening(shuts_at(above, seat, shift, adjusted) - level, band, stuck)
    rise = full * (share * speed_slope + speed * share_slope * shift)
    fall = full * (speed * share_slope + (share * speed_slope if level > seat else 0.0))
    return full * share * speed, rise, fall


@compiled
def uptake(depth, dry_depth, demand):  # type: ignore[no-untyped-def]
    """Return what a pot drinks and its slope: all it wants above the dry depth, less below, nothing at the bottom."""
    if depth < -EDGE_M:
        return 0.0, 0.0
    if depth >= dry_depth:
        return demand, 0.0
    x = max(0.0, depth) / dry_depth
    return demand * x * (2.0 - x), demand * 2.0 * (1.0 - x) / dry_depth


@compiled
def overflow(over, per_m15):  # type: ignore[no-untyped-def]
    """Return what runs over an edge under so much head, a weir, and its slope."""
    if over <= 0.0:
        return 0.0, 0.0
    return per_m15 * over * math.sqrt(over), 1.5 * per_m15 * math.sqrt(over)
