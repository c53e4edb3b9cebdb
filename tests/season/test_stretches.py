"""The season cut into stretches between the tank's readings: order, top-ups, missed, late and doubtful ones."""

from __future__ import annotations

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetfoot.season.stretches import ABOVE_FULL, NOT_KNOWN, NOT_WRITTEN, TOO_MUCH, Added, TankReading, doubt
from wetfoot.season.stretches import tank_stretches as stretches

FULL = 1000.0


def test_what_was_drawn_counts_the_top_up_in() -> None:
    found = stretches(
        [TankReading(7.3, 600.0), TankReading(14.3, 550.0)], [Added(7.3, 390.0), Added(14.3, 440.0)], FULL
    )
    assert [(one.start_d, one.end_d, one.drawn_l) for one in found] == [(7.3, 14.3, 440.0)]
    assert found[0].left_out == ""
    # two readings of 5 L, and 2 % of 390 L poured in
    assert found[0].error_sd_l == pytest.approx((5.0**2 + 5.0**2 + 7.8**2) ** 0.5)


def test_a_second_reading_of_the_visit_stands_after_the_top_up() -> None:
    same = [TankReading(7.3, 600.0), TankReading(7.3, 990.0), TankReading(14.3, 550.0)]
    later = [TankReading(7.3, 600.0), TankReading(7.35, 990.0), TankReading(14.3, 550.0)]
    for readings in (same, later):
        (one,) = stretches(readings, [Added(7.3, 999.0)], FULL)
        assert one.drawn_l == 440.0


def test_two_readings_before_a_top_up_leave_it_counted() -> None:
    readings = [TankReading(7.30, 600.0), TankReading(7.32, 602.0), TankReading(14.3, 550.0)]
    (one,) = stretches(readings, [Added(7.4, 390.0)], FULL)
    assert one.drawn_l == 602.0 + 390.0 - 550.0


@given(st.integers(0, 10_000))
def test_the_order_of_writing_does_not_matter(seed: int) -> None:
    readings = [TankReading(7.0 * visit + 0.3, 500.0 + visit) for visit in range(6)]
    top_ups = [Added(7.0 * visit + 0.3, 480.0) for visit in range(6)]
    mixed = random.Random(seed)
    shuffled = (mixed.sample(readings, 6), mixed.sample(top_ups, 6))
    assert stretches(*shuffled, FULL) == stretches(readings, top_ups, FULL)


def test_a_missed_reading_makes_one_long_stretch_of_the_same_sum() -> None:
    readings = [TankReading(7.3 + 7.0 * visit, 600.0) for visit in range(3)]
    top_ups = [Added(7.3 + 7.0 * visit, 390.0) for visit in range(3)]
    (whole,) = stretches([readings[0], readings[2]], top_ups, FULL)
    assert whole.drawn_l == sum(one.drawn_l for one in stretches(readings, top_ups, FULL))


@pytest.mark.parametrize(
    ("before", "after", "added", "why"),
    [
        (600.0, 550.0, float("nan"), NOT_KNOWN),
        (400.0, 990.0, None, NOT_WRITTEN),
        (900.0, 700.0, 900.0, TOO_MUCH),
    ],
)
def test_a_stretch_that_cannot_be_believed_is_left_out_and_says_why(
    before: float, after: float, added: float | None, why: str
) -> None:
    top_ups = [] if added is None else [Added(7.3, added)]
    (one,) = stretches([TankReading(7.3, before), TankReading(14.3, after)], top_ups, FULL)
    assert one.left_out == why


def test_a_reading_above_what_the_tank_holds_is_doubtful_and_bounds_no_stretch() -> None:
    wrong = TankReading(14.3, 1200.0)
    assert doubt(wrong, FULL) == ABOVE_FULL
    (one,) = stretches([TankReading(7.3, 900.0), wrong, TankReading(21.3, 500.0)], [], FULL)
    assert (one.start_d, one.end_d, one.drawn_l) == (7.3, 21.3, 400.0)


def test_an_empty_tank_is_told_apart() -> None:
    (one,) = stretches([TankReading(7.3, 900.0), TankReading(14.3, 22.0)], [], FULL, empty_l=20.0)
    assert one.emptied


def test_a_tank_of_no_size_is_refused() -> None:
    with pytest.raises(ValueError, match="full_l"):
        stretches([], [], 0.0)
