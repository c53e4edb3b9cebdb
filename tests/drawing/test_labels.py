"""Labels keep their distance and leaders do not cross."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.optimize import LinearConstraint, minimize

from wetfoot.drawing.labels import crosses, spread, untangled

PLACE = st.floats(-500, 500)


@given(st.lists(PLACE, max_size=12), st.floats(1, 30))
def test_labels_stand_apart_in_order_and_inside(wanted: list[float], gap: float) -> None:
    wanted = sorted(wanted)
    places = spread(wanted, gap, -600, 600)
    assert all(b - a >= gap - 1e-9 for a, b in pairwise(places))
    assert all(-600 - 1e-9 <= place <= 600 + 1e-9 for place in places)


def test_labels_with_room_stay_where_they_are_wanted() -> None:
    assert spread([0.0, 20.0, 50.0], 10.0, -100, 100) == [0.0, 20.0, 50.0]


def test_labels_move_as_little_as_can_be() -> None:
    # against a general optimiser: scipy's SLSQP on the same least squares
    wanted, gap = [3.0, 4.0, 5.0, 30.0, 31.0, 70.0], 13.0
    apart = LinearConstraint(np.diff(np.eye(6), axis=0), lb=gap)

    def moved(places: NDArray[np.float64]) -> float:
        return float(np.sum((places - wanted) ** 2))

    best = minimize(moved, np.arange(6.0) * gap, constraints=apart, method="SLSQP")
    np.testing.assert_allclose(spread(wanted, gap, -100, 200), best.x, atol=1e-3)


POINT = st.tuples(st.floats(0, 90), st.floats(0, 100))


@given(st.lists(POINT, min_size=1, max_size=9, unique=True))
def test_no_two_leaders_cross(anchors: list[tuple[float, float]]) -> None:
    ports = [(120.0, 13.0 * index) for index in range(len(anchors))]
    chosen = untangled(anchors, ports)
    assert sorted(chosen) == list(range(len(anchors)))
    for i in range(len(anchors)):
        for j in range(i):
            a, b = (anchors[i], ports[chosen[i]]), (anchors[j], ports[chosen[j]])
            longer = math.dist(a[0], b[1]) + math.dist(b[0], a[1])
            touching = longer >= math.dist(*a) + math.dist(*b) - 1e-6
            assert not crosses(*a, *b) or touching


def test_two_segments_cross_only_where_both_pass() -> None:
    assert crosses((0, 0), (2, 2), (0, 2), (2, 0))
    assert not crosses((0, 0), (1, 1), (0, 2), (2, 0.5))
    assert not crosses((0, 0), (2, 2), (0, 0), (2, 0))  # a common end is no crossing
