"""Polynomial contrasts with true spacing.

Sources: x = 1, 2, 3, 4: the coefficients of any table of orthogonal polynomials (Fisher and Yates, from memory);
x = 1, 2, 4, 8: R 4.2.2, `contr.poly` with scores. Case A: emmeans 1.8.4.
"""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetfoot.trial.contrasts import orthogonal_polynomials, polynomial_tests
from wetfoot.trial.kenward_roger import estimates, kenward_roger
from wetfoot.trial.mixed import reml, same_group
from wetfoot.trial.terms import build_model, coded, factorial_terms, levels_of, mean_rows

DATA = Path(__file__).parent / "data"


def test_even_spacing():
    expected = np.array([[-3, -1, 1, 3], [1, -1, -1, 1], [-1, 3, -3, 1]]) / np.sqrt([[20], [4], [20]])
    assert orthogonal_polynomials(np.array([1.0, 2, 3, 4])) == pytest.approx(expected, abs=1e-12)


def test_true_spacing_of_uneven_levels():
    expected = [
        [-0.512877644532, -0.326376682884, 0.046625240412, 0.792629087004],
        [0.529627141332, -0.105925428266, -0.767959354932, 0.344257641866],
        [-0.454369467398, 0.795146567946, -0.397573283973, 0.056796183425],
    ]
    assert orthogonal_polynomials(np.array([1.0, 2, 4, 8])) == pytest.approx(np.array(expected), abs=1e-11)


@given(
    st.lists(st.integers(0, 40), min_size=2, max_size=6, unique=True),
    st.lists(st.integers(1, 9), min_size=6, max_size=6),
)
def test_orthonormal_under_any_replication(levels, replication):
    weights = np.array(replication[: len(levels)], float)
    rows = orthogonal_polynomials(np.array(levels, float), weights)
    assert (rows * weights) @ rows.T == pytest.approx(np.eye(len(levels) - 1), abs=1e-8)
    assert (rows * weights).sum(axis=1) == pytest.approx(np.zeros(len(levels) - 1), abs=1e-8)


def test_equal_levels_are_refused():
    with pytest.raises(ValueError, match="all different"):
        orthogonal_polynomials(np.array([1.0, 2, 2]))


def case_a(column, bounded):
    table = pd.read_csv(DATA / "trial_case_A.csv").dropna(subset=[column])
    factors = {f: table[f].to_numpy() for f in ("gutter", "pieces", "pot")}
    block = table["block"].to_numpy()
    model = build_model(factors, factorial_terms(list(factors)), coded(block, levels_of(block)))
    fit = reml(table[column].to_numpy(float), model.x, {"board": same_group(table["board"].to_numpy())}, bounded)
    return model, kenward_roger(fit)


def test_case_a_split_of_terms():
    model, adjusted = case_a("w_complete", False)
    found = {(c.term, c.degree): c.test for c in polynomial_tests(adjusted, model, "pieces")}
    published = {
        ("pieces", "linear"): 134.53340,
        ("pieces", "quadratic"): 18.72734,
        ("pieces", "cubic"): 5.46765,
        ("gutter:pieces", "linear"): 1.13452,
        ("gutter:pieces", "quadratic"): 2.90036,
        ("gutter:pieces", "cubic"): 3.56724,
        ("pieces:pot", "linear"): 4.80088,
    }
    assert {key: found[key].f for key in published} == pytest.approx(published, abs=6e-6)
    assert found["pieces", "linear"].p == pytest.approx(1.1183e-14, rel=1e-4)
    assert found["pieces:pot", "linear"].p == pytest.approx(0.034045, abs=6e-7)
    assert found["pieces", "linear"].df_error == pytest.approx(42)


@pytest.mark.parametrize(
    ("column", "bounded", "value", "se"),
    [
        ("w_complete", False, (2550.875, -425.625, 514.25), (219.924758, 98.353342, 219.924758)),
        ("w", True, (2571.381430, -378.266468, 577.579194), (242.606565, 107.934414, 236.333525)),
    ],
)
def test_case_a_in_whole_number_coefficients(column, bounded, value, se):
    model, adjusted = case_a(column, bounded)
    whole = np.array([[-3, -1, 1, 3], [1, -1, -1, 1], [-1, 3, -3, 1]])
    found = estimates(adjusted, whole @ mean_rows(model, ["pieces"])[1])
    assert found.value == pytest.approx(value, rel=1e-7)
    assert found.se == pytest.approx(se, rel=1e-6)
    if column == "w":
        assert found.p[1:] == pytest.approx([0.00121670, 0.0194581], rel=1e-5)


def test_more_than_four_levels_leave_deviations():
    x = np.tile(np.arange(6), 4)
    y = np.random.default_rng(1).standard_normal(24)
    model = build_model({"x": x}, [("x",)])
    found = polynomial_tests(kenward_roger(reml(y, model.x, {})), model, "x")
    assert [(c.degree, c.test.df) for c in found] == [("linear", 1), ("quadratic", 1), ("cubic", 1), ("deviations", 2)]
