"""Pools of a finite lot: against counting every way to fill them, and against the tables of ISPM 31."""

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetfoot.stock.finite_pools import most_unseen, pools_detection, pools_of_lot
from wetfoot.stock.sampling import sample_size


def counted(pools: list[int], lot: int, infected: int, sensitivity: float) -> float:
    """Return the chance of a positive pool by counting every place that the infected units can have."""
    pool_of = [number for number, size in enumerate(pools) for _ in range(size)]
    ways = list(combinations(range(lot), infected))
    missed = [(1 - sensitivity) ** len({pool_of[unit] for unit in way if unit < len(pool_of)}) for way in ways]
    return 1 - sum(missed) / len(ways)


@pytest.mark.parametrize("pools", [[1], [3, 3], [4, 4, 2], [10], [1, 2, 3, 4], [2] * 5])
@pytest.mark.parametrize("infected", [0, 1, 3, 5])
@pytest.mark.parametrize("sensitivity", [1.0, 0.9, 0.3])
def test_every_way_of_filling_the_pools_counted(pools: list[int], infected: int, sensitivity: float) -> None:
    expected = counted(pools, 10, infected, sensitivity)
    assert pools_detection(pools, 10, infected, sensitivity) == pytest.approx(expected, abs=1e-12)


# ISPM 31 (2008), tables of appendix 2 for 95 and 99 %, as the handbook (agronomy 4, tables 1a and 1b) gives them
@pytest.mark.parametrize(
    ("lot", "level", "certainty", "size"),
    [(25, 0.10, 0.95, 19), (50, 0.05, 0.95, 39), (100, 0.05, 0.95, 45), (200, 0.01, 0.95, 155), (700, 0.005, 0.95, 442),
     (1000, 0.001, 0.95, 950), (50, 0.02, 0.99, 50), (200, 0.05, 0.99, 73), (600, 0.01, 0.99, 321)],
)  # fmt: skip
def test_pools_of_one_are_the_tables_of_ispm_31(lot: int, level: float, certainty: float, size: int) -> None:
    assert pools_of_lot(lot, level, 1, certainty) == [1] * size


# finite lots with imperfect tests, handbook, agronomy 4 ("Finite with Se (95 %)"), computed there
@pytest.mark.parametrize(
    ("lot", "level", "sensitivity", "size"),
    [(200, 0.05, 0.9, 57), (200, 0.05, 0.8, 64), (500, 0.01, 0.9, 250), (100, 0.05, 0.9, 50), (60, 0.05, 0.9, 42)],
)
def test_imperfect_tests_of_finite_lots(lot: int, level: float, sensitivity: float, size: int) -> None:
    found = pools_of_lot(lot, level, 1, 0.95, sensitivity)
    assert found is not None
    assert len(found) == size == sample_size(lot, level, 0.95, sensitivity)


def test_of_a_very_large_lot_pools_are_those_of_the_binomial() -> None:
    # handbook, agronomy 4: pools for 95 %, k 10, p 0.01: 30 with a perfect test, 34 with Se 0.9
    for sensitivity, pools in ((1.0, 30), (0.9, 34)):
        found = pools_of_lot(200_000, 0.01, 10, 0.95, sensitivity)
        assert found is not None
        assert len(found) == pools


def test_out_of_reach_is_said() -> None:
    assert pools_of_lot(30, 0.01, 1) is None  # less than one unit
    assert pools_of_lot(30, 0.04, 1, 0.95, 0.9) is None  # one unit, which a test misses once in ten
    assert pools_of_lot(10, 0.3, 10, 0.95, 0.9) is None  # all in one pool: one test


@given(st.lists(st.integers(1, 6), min_size=1, max_size=6), st.integers(0, 20), st.floats(0.2, 1.0))
def test_more_infected_or_more_pools_are_seen_more_surely(pools: list[int], infected: int, sensitivity: float) -> None:
    lot = 40
    chance = pools_detection(pools, lot, infected, sensitivity)
    assert -1e-12 <= chance <= pools_detection(pools, lot, infected + 1, sensitivity) + 1e-12
    assert chance <= pools_detection([*pools, 4], lot, infected, sensitivity) + 1e-12


@given(st.integers(1, 8), st.integers(1, 4), st.floats(0.5, 1.0))
def test_what_may_remain_is_the_largest_that_is_missed_too_often(tests: int, pool: int, sensitivity: float) -> None:
    lot, pools = 40, [pool] * tests
    most = most_unseen(pools, lot, 0.95, sensitivity)
    assert most == lot or pools_detection(pools, lot, most + 1, sensitivity) >= 0.95
    assert pools_detection(pools, lot, most, sensitivity) < 0.95


def test_none_left_unseen_after_a_perfect_census() -> None:
    assert most_unseen([1] * 12, 12, 0.95, 1.0) == 0


@pytest.mark.parametrize(("pools", "lot", "infected", "sensitivity"),
                         [([5, 6], 10, 1, 1.0), ([0], 10, 1, 1.0), ([1], 10, 11, 1.0), ([1], 10, 1, 0.0)])  # fmt: skip
def test_what_cannot_be_is_refused(pools: list[int], lot: int, infected: int, sensitivity: float) -> None:
    with pytest.raises(ValueError, match=r"pools|infected|sensitivity"):
        pools_detection(pools, lot, infected, sensitivity)
