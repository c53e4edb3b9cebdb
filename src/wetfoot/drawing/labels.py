"""Where labels go so that they keep clear of each other and their leaders do not cross."""

from __future__ import annotations

from collections.abc import Sequence
from math import dist

from wetfoot.drawing.svg import Point


def spread(wanted: Sequence[float], gap: float, low: float, high: float) -> list[float]:
    """Return places at least ``gap`` apart, inside [low, high] if they fit there, nearest to those wanted.

    Least squares under the order given: pooling adjacent violators (Barlow et al. 1972, Statistical Inference
    under Order Restrictions) on the places less their gaps.

    Args:
        wanted: places in rising order.
        gap: least distance between neighbours.
        low: least place.
        high: greatest place.
    """
    pools: list[tuple[float, int]] = []
    for index, place in enumerate(wanted):
        pools.append((place - index * gap, 1))
        while len(pools) > 1 and pools[-2][0] > pools[-1][0]:
            (first, n), (second, m) = pools[-2:]
            pools[-2:] = [((first * n + second * m) / (n + m), n + m)]
    level = [mean for mean, count in pools for _ in range(count)]
    last = max(low, high - (len(wanted) - 1) * gap)
    return [min(max(place, low), last) + index * gap for index, place in enumerate(level)]


def untangled(anchors: Sequence[Point], ports: Sequence[Point]) -> list[int]:
    """Return, for each anchor, the port its straight leader goes to, so that no two leaders cross.

    Swapping the ports of two leaders that cross shortens them together, so the swapping ends.
    """

    def length(i: int, j: int) -> float:
        return dist(anchors[i], ports[chosen[i]]) + dist(anchors[j], ports[chosen[j]])

    chosen = list(range(len(anchors)))
    pairs = [(i, j) for i in range(len(anchors)) for j in range(i)]
    tangled = True
    while tangled:
        tangled = False
        for i, j in pairs:
            if crosses(anchors[i], ports[chosen[i]], anchors[j], ports[chosen[j]]):
                before = length(i, j)
                chosen[i], chosen[j] = chosen[j], chosen[i]
                tangled = tangled or length(i, j) < before - 1e-9
    return chosen


def crosses(a: Point, b: Point, c: Point, d: Point) -> bool:
    """Return whether the inner parts of the segments ab and cd cross."""
    return _side(a, b, c) * _side(a, b, d) < 0 and _side(c, d, a) * _side(c, d, b) < 0


def _side(a: Point, b: Point, p: Point) -> float:
    return (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])
