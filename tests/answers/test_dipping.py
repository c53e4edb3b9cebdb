"""The hot-water dip held to the handbook's worked series (agronomy 1.5) and to limits that can be reasoned."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import j1, jn_zeros

from wetfoot.answers.dipping import DipWish, dipping
from wetfoot.errors import WetfootError

# Handbook, agronomy 1.5: radius mm, core C at 10 min, dose at 10 min, minutes for 8.3 min; 25 C into 50 C.
SERIES = [
    (10.0, 49.69, 5.10, 11.29),
    (12.5, 48.21, 0.44, 15.77),
    (15.0, 45.38, 0.01, 21.00),
    (20.0, 38.15, 0.00, 33.57),
]
# Handbook, agronomy 1.5: filled share, temperature of the mixed bath.
LOADS = [(0.05, 48.74), (0.10, 47.49), (0.12, 46.99), (0.20, 44.98)]


def numbers(wish: DipWish) -> dict[str, float]:
    return {number.name: number.value for number in dipping(wish).answer.numbers}


@pytest.mark.parametrize(("radius_mm", "core_c", "dose_min", "needed_min"), SERIES)
def test_the_core_of_pieces_of_four_sizes(radius_mm: float, core_c: float, dose_min: float, needed_min: float) -> None:
    found = numbers(DipWish(diameter_m=2e-3 * radius_mm))
    assert found["core at the end"] == pytest.approx(core_c, abs=0.006)
    assert found["dose at the core"] == pytest.approx(dose_min, abs=0.006)
    assert found["minutes needed, bath held"] == pytest.approx(needed_min, abs=0.02)


@pytest.mark.parametrize(("load", "bath_c"), LOADS)
def test_cold_pieces_cool_the_bath(load: float, bath_c: float) -> None:
    assert numbers(DipWish(load=load))["bath after loading, unheated"] == pytest.approx(bath_c, abs=0.006)


def test_the_first_term_by_hand() -> None:
    """One term of the series: ln(2 / (b J1(b)) / 0.04) / b^2 R^2 / a = 11.87 min to 49 C (handbook, agronomy 1.5)."""
    b = jn_zeros(0, 1)[0]
    minutes = math.log(2.0 / (b * j1(b)) / 0.04) / b**2 * 0.0125**2 / 1.4e-7 / 60.0
    assert minutes == pytest.approx(11.87, abs=0.01)
    found = numbers(DipWish(diameter_m=0.025, minutes=minutes))
    assert found["core at the end"] == pytest.approx(49.0, abs=0.01)


def test_the_usual_ten_minutes_do_not_reach_the_core_of_a_thick_piece() -> None:
    """Handbook, agronomy 0: 48.2 C at 10 min in 25 mm; 99 % egg kill needs about 15.8 min."""
    found = dipping(DipWish(diameter_m=0.025))
    assert found.answer.state == "no"
    assert "16 minutes" in found.answer.words
    assert "47.5°C" in " ".join(found.answer.warnings)
    assert any("few pieces first" in words for words in found.answer.warnings)
    assert any("scalds" in words for words in found.answer.warnings)


def test_the_verdict_asks_for_the_worst_case_and_the_cooled_bath() -> None:
    held = DipWish(diameter_m=0.02, minutes=12.0, load=0.0)
    assert dipping(held).answer.state == "watch"  # expected pieces have it, the thickest do not
    assert dipping(replace(held, minutes=40.0)).answer.state == "yes"
    assert dipping(replace(held, minutes=40.0, load=0.2)).answer.state == "watch"  # not if it is left to cool


@settings(deadline=None, max_examples=15)
@given(st.floats(0.012, 0.06), st.floats(0.0, 0.4), st.floats(46.0, 54.0), st.floats(2.0, 60.0))
def test_the_range_holds_the_middle_and_thicker_takes_longer(
    d: float, spread: float, bath: float, minutes: float
) -> None:
    found = dipping(DipWish(d, spread, bath, minutes, 0.05))
    for number in found.answer.numbers:
        if number.low is not None and number.high is not None:
            assert number.low <= number.value <= number.high
    assert found.cooled_c < bath
    assert (found.held_c[0] <= found.held_c[2] + 1e-9).all()
    if found.needed_min[1] < math.inf and d < 0.055:
        assert dipping(DipWish(d * 1.1, spread, bath, minutes, 0.05)).needed_min[1] >= found.needed_min[1]


def test_all_that_cannot_be_is_told_at_once() -> None:
    with pytest.raises(WetfootError) as refused:
        dipping(DipWish(diameter_m=0.5, bath_c=95.0, minutes=0.0, load=0.9))
    assert [problem.where for problem in refused.value.problems] == ["diameter", "bath", "minutes", "load"]
