"""The parabola and Fieller's interval of its optimum, bounded or not."""

import math

import numpy as np
import pandas as pd
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy import stats

from wetfoot.trial.quadratic import fieller, quadratic_optimum


@pytest.fixture(scope="module")
def pots(request):
    return pd.read_csv(request.path.parent / "data" / "trial_case_A.csv")


def test_case_a(pots):  # invented data (handbook trial.md 8)
    fit = quadratic_optimum(pots["pieces"], pots["w_complete"])
    assert fit.coefficients == pytest.approx([693.6875, 787.11875, -106.40625], rel=1e-9)
    assert fit.optimum == pytest.approx(3.698649, abs=5e-7)
    assert fit.standard_error == pytest.approx(0.476032, abs=5e-7)
    assert fit.interval.kind == "bounded"
    assert (fit.interval.low, fit.interval.high) == pytest.approx((3.126149, 7.243946), abs=1e-6)


def test_seed_that_costs_moves_the_optimum_down(pots):
    fit = quadratic_optimum(pots["pieces"], pots["w_complete"], seed_g=60)
    assert fit.optimum == pytest.approx((787.11875 - 60) / (2 * 106.40625), rel=1e-9)  # derivative equals the cost


def test_blocks_leave_a_balanced_optimum(pots):
    blocks = np.column_stack([(pots["block"] == k).astype(float) - (pots["block"] == 4) for k in (1, 2, 3)])
    fit = quadratic_optimum(pots["pieces"], pots["w_complete"], others=blocks)
    assert fit.optimum == pytest.approx(3.698649, abs=5e-7)
    assert fit.residual_df == 64 - 6


@given(
    st.floats(-5, 5),
    st.floats(-5, 5),
    st.floats(0.05, 3),
    st.floats(0.05, 3),
    st.floats(-0.95, 0.95),
    st.integers(3, 60),
)
@settings(deadline=None, max_examples=200)
def test_fieller_holds_just_the_ratios_that_a_t_test_does_not_refute(top, bottom, sd1, sd2, correlation, df):
    covariance = np.array([[sd1**2, correlation * sd1 * sd2], [correlation * sd1 * sd2, sd2**2]])
    found = fieller(top, bottom, covariance, df)
    for ratio in (-40.0, -3.0, -1.0, -0.2, 0.0, 0.3, 1.0, 2.5, 40.0):
        variance = covariance[0, 0] - 2 * ratio * covariance[0, 1] + ratio**2 * covariance[1, 1]
        t = abs(top - ratio * bottom) / math.sqrt(variance)
        assume(abs(t - stats.t.isf(0.025, df)) > 1e-6)
        between = found.low <= ratio <= found.high
        inside = {"bounded": between, "outside": not between, "all": True}[found.kind]
        assert inside == (t < stats.t.isf(0.025, df))


def test_a_bend_that_is_not_certain_has_no_bounded_interval():
    fit = quadratic_optimum([1, 2, 3] * 3, [1, 2, 3, 1.1, 2.1, 3.0, 1, 2.2, 3.1])
    assert fit.interval.kind == "outside"
    assert "no bounded interval" in fit.words
    assert "outside the 1 to 3 tested" in fit.words


def test_a_parabola_that_opens_upwards_has_no_best_number():
    fit = quadratic_optimum([1, 2, 3, 4] * 2, [10, 4, 5, 12, 11, 4, 4, 12.5])
    assert math.isnan(fit.optimum)
    assert "opens upwards" in fit.words


def test_two_levels_are_refused():
    with pytest.raises(ValueError, match="three levels"):
        quadratic_optimum([1, 1, 2, 2, 1], [1, 2, 3, 4, 5])
