"""Where the steps of Newton's method on a tree must stop: heights without water, and edges where a law goes flat."""

from __future__ import annotations

import math

from wetfoot.water.tree import EDGE_M, VALVE, compiled, shuts_at


@compiled
def keep_in_bounds(tree, heads, head_step, low, top):  # type: ignore[no-untyped-def]
    """Shorten steps that leave the heights where water can be, or fall past an edge below which a law is flat."""
    for j in range(len(heads) - 1, -1, -1):
        head_step[j] = max(low - heads[j], min(head_step[j], top - heads[j]))
        _stop_at(tree.hole_height_m[j], heads, head_step, j)
        _stop_at(tree.bottom_m[j], heads, head_step, j)
        if tree.kind[j] == VALVE:
            _keep_to_valve(tree, heads, head_step, j)


@compiled
def _keep_to_valve(tree, heads, head_step, j):  # type: ignore[no-untyped-def]
    """Stop the head above an open valve at its outlet, and the level below at the edges of the float's band."""
    p = tree.parent[j]
    if math.isnan(tree.stuck[j]):
        shuts = shuts_at(heads[p], tree.seat_height_m[j], tree.shift_m_per_m[j], tree.adjusted_head_m[j])
        wide_open = shuts - tree.band_m[j]
        _stop_at(shuts, heads, head_step, j)
        if heads[j] + EDGE_M < wide_open < heads[j] + head_step[j]:
            head_step[j] = wide_open - heads[j]
    if tree.stuck[j] != 0.0:
        _stop_at(max(tree.seat_height_m[j], heads[j] + head_step[j]), heads, head_step, p)


@compiled
def _stop_at(edge, heads, head_step, j):  # type: ignore[no-untyped-def]
    """Shorten a node's step to an edge that it would fall past."""
    if heads[j] + head_step[j] < edge < heads[j] - EDGE_M:
        head_step[j] = edge - heads[j]
