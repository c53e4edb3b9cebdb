"""The words of a sampling plan stand on the tables, and never say 'free'."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetfoot.answers.sampling import Wish, sampling
from wetfoot.errors import WetfootError


def test_the_plan_in_words_has_the_tables_number() -> None:
    # ISPM 31 table 1: 45 of 100 at 5 % and 95 %, perfect test
    found = sampling(Wish(100, 0.05, 0.95, 1.0))
    assert "Test 45 of 100" in found.words
    assert {number.name: number.value for number in found.numbers}["units to test of a very large lot"] == 59


def test_pools_that_take_more_than_the_lot_are_a_no() -> None:
    assert sampling(Wish(40, 0.01, 0.95, 0.9, pool=10)).state == "no"
    # handbook: 34 pools of 10 at 1 %, Se 0.9
    assert "34 pools of 10" in sampling(Wish(1000, 0.01, 0.95, 0.9, pool=10)).words


def test_a_level_below_one_unit_or_beyond_the_test_is_said() -> None:
    assert "less than one unit" in sampling(Wish(50, 0.01)).words
    assert "test twice" in sampling(Wish(20, 0.05)).words


@pytest.mark.parametrize("wish", [Wish(0), Wish(10, 1.5), Wish(10, pool=11), Wish(10, sensitivity=0.0)])
def test_what_cannot_be_is_refused(wish: Wish) -> None:
    with pytest.raises(WetfootError):
        sampling(wish)


@given(st.integers(1, 2000), st.floats(0.001, 0.5), st.floats(0.5, 0.999), st.floats(0.3, 1.0), st.integers(1, 50))
def test_no_plan_ever_calls_a_lot_free(lot: int, p: float, confidence: float, sensitivity: float, pool: int) -> None:
    found = sampling(Wish(lot, p, confidence, sensitivity, min(pool, lot)))
    assert "free" not in found.words.replace("You may not say: free.", "")
    assert all(number.how and number.source and number.unit for number in found.numbers)
