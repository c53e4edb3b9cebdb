"""Split pots: Firth's logistic regression against published programs and its closed form."""

import math

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wetfoot.trial.binary import firth_logistic
from wetfoot.trial.proportions import firth_log_odds


@pytest.fixture(scope="module")
def pots(request):
    return pd.read_csv(request.path.parent / "data" / "trial_case_A.csv")


def test_case_a_with_pieces_as_a_number(pots):
    # firthmodels 0.8.2 and a second program, case A, invented data (handbook trial.md 4.3).
    design = np.column_stack(
        [
            np.ones(64),
            np.where(pots["gutter"] == "no", 1, -1),
            np.where(pots["pot"] == "std", 1, -1),
            pots["pieces"] - 2.5,
        ]
    )
    fit = firth_logistic(design, pots["split"])
    assert fit.coefficients == pytest.approx([-4.06504505, -0.87139076, -0.87139076, 2.49784895], abs=1e-8)
    assert fit.log_likelihood == pytest.approx(-9.11695758, abs=1e-8)
    assert fit.intervals[1] == pytest.approx([-2.106165, 0.067313], abs=1e-6)
    assert fit.intervals[2] == pytest.approx(fit.intervals[1], abs=1e-7)
    assert fit.intervals[3] == pytest.approx([0.993769, 5.236513], abs=1e-6)
    assert fit.p_values[1] == pytest.approx(0.0701468, abs=1e-7)
    assert fit.p_values[3] == pytest.approx(2.85491e-05, rel=1e-5)


def test_case_a_with_pieces_as_levels_where_two_never_split(pots):
    # Same sources; zero of 16 pots split at one and two pieces, where the plain fit diverges.
    design = np.column_stack([np.ones(64), *[pots["pieces"] == level for level in (2, 3, 4)]])
    fit = firth_logistic(design, pots["split"])
    assert fit.coefficients[3] == pytest.approx(3.26011878, abs=1e-8)
    assert fit.intervals[3] == pytest.approx([0.979661, 8.167415], abs=1e-6)
    assert fit.p_values[3] == pytest.approx(0.00234500, abs=1e-8)
    assert fit.coefficients[2] == pytest.approx(1.16113265, abs=1e-8)
    assert fit.intervals[2] == pytest.approx([-1.845767, 6.175209], abs=1e-6)
    expected = [-3.49650756, -3.49650756, -2.33537492, -0.23638878]
    assert firth_log_odds([0, 0, 1, 7], 16) == pytest.approx(expected, abs=1e-8)


CROWDING = (
    ".22 .26 .28 .30 .31 .33 .35 .36 .38 .40 .41 .43 .44 .46 .47 .49 .50 .52 .54 .56 .58 .61 .64 .70",
    "0 0 0 0 0 0 0 0 0 0 1 0 0 0 1 0 0 1 1 0 1 1 1 1",
)


def test_splitting_against_crowding():  # handbook agronomy.md 2.5, check data
    crowding, split = (np.array(column.split(), dtype=float) for column in CROWDING)
    fit = firth_logistic(np.column_stack([np.ones(24), np.log(crowding / 0.45)]), split)
    assert fit.coefficients == pytest.approx([-0.81656143, 7.59721865], abs=1e-8)
    assert np.sqrt(np.diag(fit.covariance)) == pytest.approx([0.60813, 3.23980], abs=5e-6)


def test_separated_pots_have_a_finite_answer():  # handbook agronomy.md 2.5: maximum likelihood diverges here
    crowding = np.arange(0.25, 0.61, 0.05)
    fit = firth_logistic(np.column_stack([np.ones(8), np.log(crowding / 0.45)]), [0, 0, 0, 0, 0, 1, 1, 1])
    assert fit.coefficients == pytest.approx([-0.33415, 9.06198], abs=5e-6)
    assert np.sqrt(np.diag(fit.covariance)) == pytest.approx([1.0526, 6.3724], abs=5e-5)
    assert np.isfinite(fit.intervals).all()


@given(st.integers(1, 12), st.integers(1, 12), st.data())
@settings(deadline=None, max_examples=25)
def test_two_by_two_is_half_a_pot_in_every_cell(first, second, data):
    # Closed form (Firth 1993; trap 11 of the handbook, trial.md section 11).
    a, b = data.draw(st.integers(0, first)), data.draw(st.integers(0, second))
    group = np.repeat([0.0, 1.0], [first, second])
    split = np.r_[np.arange(first) < a, np.arange(second) < b]
    fit = firth_logistic(np.column_stack([np.ones(first + second), group]), split)
    odds = [math.log((a + 0.5) / (first - a + 0.5)), math.log((b + 0.5) / (second - b + 0.5))]
    assert fit.coefficients == pytest.approx([odds[0], odds[1] - odds[0]], abs=1e-6)
    assert fit.chances[0] == pytest.approx((a + 0.5) / (first + 1), abs=1e-7)


def test_interval_ends_are_where_the_test_has_its_level():
    # Duality: a coefficient shifted to the end of its interval by an offset-like recoding has p = 0.05. With one
    # group against another the shifted null is checked by the likelihood itself at the end.
    design = np.column_stack([np.ones(20), np.repeat([0.0, 1.0], 10)])
    split = np.r_[np.arange(10) < 2, np.arange(10) < 6]
    fit = firth_logistic(design, split)

    def penalised(b0, b1):
        p = 1 / (1 + np.exp(-(design @ [b0, b1])))
        log_likelihood = np.log(np.where(split, p, 1 - p)).sum()
        return log_likelihood + 0.5 * math.log(np.linalg.det(design.T @ np.diag(p * (1 - p)) @ design))

    for end in fit.intervals[1]:
        best = max(penalised(b0, end) for b0 in np.linspace(-4, 2, 2001))
        assert 2 * (fit.log_likelihood - best) == pytest.approx(3.841459, abs=1e-4)  # chi-squared 95 %, 1 df


def test_refusals():
    with pytest.raises(ValueError, match="full column rank"):
        firth_logistic(np.ones((4, 2)), [0, 1, 0, 1])
    with pytest.raises(ValueError, match="0 or 1"):
        firth_logistic(np.ones((3, 1)), [0, 1, math.nan])
    with pytest.raises(ValueError, match="design must be"):
        firth_logistic(np.ones((3, 1)), [0, 1])
