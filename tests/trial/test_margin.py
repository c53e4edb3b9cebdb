"""Whether the dome costs more yield than was agreed."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from wetfoot.trial.margin import break_even_loss_kg, margin_power, non_inferiority, pots_for_margin


def test_the_three_verdicts():
    small, large, unsure = (non_inferiority(d, 30.0, 42, 250.0) for d in (-100.0, -400.0, -240.0))
    assert (small.verdict, large.verdict, unsure.verdict) == ("not inferior", "inferior", "undecided")
    assert "costs less than the agreed 250 g" in small.words
    assert "costs more than the agreed 250 g" in large.words
    assert "too small to tell" in unsure.words


def test_case_a_air_against_standard():
    # Case A complete, invented data: MS of pot 138756.25 and error 38693.5193 on 42 df (handbook trial.md 4.1); the
    # difference is sqrt(4 SS / 64), its variance 2 MS / 32. Margin 5 % of the mean 1863.4375 (agronomy.md 5.3).
    difference, error = -math.sqrt(4 * 138756.25 / 64), math.sqrt(2 * 38693.5193 / 32)
    found = non_inferiority(difference, error, 42, 0.05 * 1863.4375)
    assert found.lower == pytest.approx(difference - stats.t.isf(0.05, 42) * error)
    assert found.verdict == "undecided"


@given(st.floats(-300, 300), st.floats(1, 200), st.integers(2, 100), st.floats(1, 400))
@settings(deadline=None)
def test_the_bound_and_the_test_agree(difference, error, df, margin):
    found = non_inferiority(difference, error, df, margin)
    assert found.p_value == pytest.approx(stats.t.sf((difference + margin) / error, df), abs=1e-12)
    assert (found.verdict == "not inferior") == (found.p_value < 0.05)


def test_the_saving_of_a_dome():  # handbook agronomy.md 5.3
    loss = break_even_loss_kg(0.3495, 22.0, 0.7225)
    assert loss == pytest.approx(0.0220, abs=5e-5)
    assert loss / 4.9 == pytest.approx(0.0045, abs=5e-5)
    assert 0.2 * 4.9 * math.sqrt(2 / 12) == pytest.approx(0.400, abs=5e-4)
    # "To detect 0.022 kg at 80 % power ~31,000 pots an arm": alpha 2.5 % on one side.
    assert pots_for_margin(0.022, 0.98, alpha=0.025) == pytest.approx(31_000, rel=0.01)


def test_pots_for_an_agreed_margin_are_rounded_up():
    pots = pots_for_margin(0.25, 0.98)
    assert margin_power(pots, 0.25, 0.98) >= 0.8 > margin_power(pots - 1, 0.25, 0.98)
    # Normal theory 2 (z.95 + z.8)^2 (sd / margin)^2 is a little short of it (Julious 2004, Statist. Med. 23:1921,
    # from memory).
    normal = 2 * (1.644854 + 0.841621) ** 2 * (0.98 / 0.25) ** 2
    assert normal < pots < normal + 2


def test_power_is_what_simulation_finds():
    rng = np.random.default_rng(6)
    arms = rng.normal(0.0, 1.0, (2, 20000, 12))
    difference = arms[0].mean(axis=1) - arms[1].mean(axis=1)
    error = np.sqrt((arms[0].var(axis=1, ddof=1) + arms[1].var(axis=1, ddof=1)) / 12)
    share = (difference - stats.t.isf(0.05, 22) * error > -0.9).mean()
    assert margin_power(12, 0.9, 1.0) == pytest.approx(share, abs=4 * math.sqrt(0.25 / 20000))


@pytest.mark.parametrize("sd", np.geomspace(0.05, 0.07, 30))
def test_a_margin_that_is_many_errors_wide_has_power_one(sd):
    # scipy 1.17's noncentral t is nan at some of these noncentralities near 40.
    assert margin_power(8, 1.2, sd) == pytest.approx(1.0, abs=1e-12)


def test_a_loss_beyond_the_margin_cannot_be_shown_bearable():
    assert pots_for_margin(0.25, 0.98, true_difference=-0.3) is None


def test_refusals():
    with pytest.raises(ValueError, match="margin"):
        non_inferiority(0, 1, 10, 0)
    with pytest.raises(ValueError, match="recovery"):
        break_even_loss_kg(1, 22, 0)
    with pytest.raises(ValueError, match="pots must be"):
        margin_power(1, 1, 1)
