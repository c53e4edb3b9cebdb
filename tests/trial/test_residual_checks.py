"""Assumption checks and effect sizes.

Sources: case A is invented data, answers from R 4.2.2; poisons: Box and Cox 1964, the interval on a 0.001 grid from R.
"""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from wetfoot.trial.residual_checks import (
    box_cox,
    coefficient_of_variation,
    effect_size,
    even_spread,
    normality,
    residuals,
)
from wetfoot.trial.terms import build_model, factorial_terms, indicator

DATA = Path(__file__).parent / "data"


def test_case_a_residuals_with_boards_fixed():
    table = pd.read_csv(DATA / "trial_case_A.csv")
    model = build_model({f: table[f].to_numpy() for f in ("gutter", "pieces", "pot")},
                        factorial_terms(["gutter", "pieces", "pot"]))  # fmt: skip
    x = np.hstack([model.x, indicator(table["board"].to_numpy())])
    check = normality(residuals(table["w_complete"].to_numpy(float), x))[0]
    assert (check.statistic, check.p) == (pytest.approx(0.9868726, abs=1e-7), pytest.approx(0.7317036, abs=1e-6))
    assert not check.doubtful


def test_case_a_spread_over_pieces():
    # These published values are those of the responses grouped by pieces, not of residuals.
    table = pd.read_csv(DATA / "trial_case_A.csv")
    forsythe, bartlett = even_spread(table["w_complete"].to_numpy(float), table["pieces"].to_numpy(), "pieces")
    assert (forsythe.statistic, forsythe.p) == (pytest.approx(1.3037754, abs=1e-7), pytest.approx(0.2815321, abs=1e-7))
    assert (bartlett.statistic, bartlett.p) == (pytest.approx(4.4248555, abs=1e-7), pytest.approx(0.2190917, abs=1e-7))


def test_uneven_spread_is_found():
    labels = np.repeat(["a", "b"], 20)
    values = np.random.default_rng(3).standard_normal(40) * np.where(labels == "a", 1, 12)
    assert all(check.doubtful for check in even_spread(values, labels, "x"))


def test_levels_without_spread_are_not_judged():
    assert even_spread(np.array([1.0, 1, 1, 2, 3, 4]), np.repeat(["a", "b"], 3), "x") == ()


def test_box_cox_of_poisons():
    table = pd.read_csv(DATA / "poisons.csv")
    factors = {f: table[f].to_numpy() for f in ("poison", "treatment")}
    x = build_model(factors, factorial_terms(list(factors))).x
    found = box_cox(table["time"].to_numpy(), x)
    assert (found.power, found.low, found.high) == pytest.approx((-0.816, -1.294, -0.342), abs=1.1e-3)


def test_box_cox_refuses_what_has_no_logarithm():
    with pytest.raises(ValueError, match="positive responses"):
        box_cox(np.array([0.0, 1, 2]), np.ones((3, 1)))


@pytest.mark.parametrize(
    ("df", "f", "error", "eta", "omega"),
    [
        (1, 24.41089170, 3, 0.890554, 0.267826),
        (3, 52.90945985, 42, 0.790762, 0.708731),
        (3, 2.53403815, 42, 0.153262, 0.067084),
    ],
)
def test_case_a_effect_sizes(df, f, error, eta, omega):
    found = effect_size(df, f, error, 64)
    assert (found.partial_eta2, found.partial_omega2) == pytest.approx((eta, omega), abs=6e-7)


def test_case_a_coefficients_of_variation():
    assert coefficient_of_variation(38693.5193, 1863.4375) == pytest.approx(0.10556119, abs=1e-8)
    assert coefficient_of_variation(53308.6042, 1863.4375, 8) == pytest.approx(0.04380653, abs=1e-8)
