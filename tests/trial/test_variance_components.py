"""Variance components by restricted maximum likelihood.

Sources: cases A and C are invented data, their answers from R 4.2.2 (lme4 1.1-31, nlme 3.1-162); oats: Yates 1935,
answers from lme4. lme4's optimiser leaves about 1e-5 relative error in its variances.
"""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wetfoot.trial.mixed import reml, same_group
from wetfoot.trial.strata import decompose, strata_anova
from wetfoot.trial.terms import build_model, coded, factorial_terms, levels_of

DATA = Path(__file__).parent / "data"


def case(name, column, block_fixed):
    table = pd.read_csv(DATA / name)
    table = table[table[column].notna()]
    factors = {f: table[f].to_numpy() for f in ("gutter", "pieces", "pot")}
    block = table["block"].to_numpy()
    model = build_model(
        factors, factorial_terms(list(factors)), coded(block, levels_of(block)) if block_fixed else None
    )
    random = {} if block_fixed else {"block": same_group(block)}
    random["board"] = same_group(table["board"].to_numpy())
    return table[column].to_numpy(float), model.x, random


A, C = "trial_case_A.csv", "trial_case_C_singular.csv"


@pytest.mark.parametrize(
    ("name", "column", "fixed", "bounded", "components", "criterion"),
    [
        (A, "w_complete", False, True, {"board": 1826.8856, "block": 41613.3555, "pot": 38693.5193}, 708.4427439),
        (A, "w_complete", True, True, {"board": 1826.8856, "pot": 38693.5193}, 669.1758131),
        (A, "w", False, True, {"board": 0, "block": 34769.525, "pot": 39926.945}, 625.6352022),
        (A, "w", True, True, {"board": 0, "pot": 39929.76231}, 586.9042964),
        (A, "w", True, False, {"board": -863.966, "pot": 40391.601}, 586.8741980),
        (C, "w_complete", False, True, {"block": 0, "board": 13950.7634, "pot": 35665.3460}, 703.3113317),
        (C, "w_complete", True, True, {"board": 18953.3858, "pot": 35665.3460}, None),
        (C, "w", True, True, {"board": 28227.578, "pot": 33480.839}, 585.7632584),
    ],
)
def test_cases(name, column, fixed, bounded, components, criterion):
    y, x, random = case(name, column, fixed)
    fit = reml(y, x, random, bounded)
    assert fit.converged
    assert fit.components == pytest.approx(components, rel=1e-5, abs=1e-9)
    assert criterion is None or fit.criterion == pytest.approx(criterion, abs=1e-6)


def test_board_variance_below_zero_fits_better_and_is_kept():
    y, x, random = case(A, "w", True)
    free, bounded = reml(y, x, random), reml(y, x, random, bounded=True)
    assert free.components["board"] < 0 == bounded.components["board"]
    assert free.criterion < bounded.criterion


def oats():
    table = pd.read_csv(DATA / "oats.csv")
    plot = (table["block"] + table["variety"]).to_numpy()
    random = {"plot": same_group(plot), "block": same_group(table["block"].to_numpy())}
    return table, random


def test_oats():
    table, random = oats()
    factors = {f: table[f].to_numpy() for f in ("nitrogen", "variety")}
    model = build_model(factors, factorial_terms(list(factors)))
    fit = reml(table["yield"].to_numpy(float), model.x, random)
    assert fit.components == pytest.approx({"plot": 106.0618, "block": 214.4771, "pot": 177.0833}, rel=1e-5)
    # 546.1352 under this coding; under treatment coding it would read 529.0285
    assert fit.criterion == pytest.approx(546.1352, abs=5e-5)


def test_criterion_changes_with_the_coding_by_the_determinant_only():
    y, x, random = case(A, "w", True)
    turn = np.eye(x.shape[1])
    turn[0, 1:] = 0.5
    turn[3, 3] = 4.0
    one, other = reml(y, x, random), reml(y, x @ turn, random)
    assert other.components == pytest.approx(one.components, rel=1e-6)
    assert other.criterion - one.criterion == pytest.approx(2 * np.log(4.0), abs=1e-6)


@settings(deadline=None, max_examples=25)
@given(st.integers(2, 5), st.integers(2, 4), st.integers(0, 2**32 - 1), st.floats(0, 2))
def test_balanced_trials_give_the_mean_squares_of_the_strata(blocks, pots, seed, board_sd):
    # Expected mean squares of a split plot (Cochran and Cox 1957, from memory).
    rng = np.random.default_rng(seed)
    block, board = np.repeat(np.arange(blocks), 2 * pots), np.repeat(np.arange(2 * blocks), pots)
    factors = {"g": board % 2, "p": np.tile(np.arange(pots), 2 * blocks)}
    model = build_model(factors, factorial_terms(["g", "p"]), coded(block, levels_of(block)))
    y = 50 + board_sd * rng.standard_normal(2 * blocks)[board] + rng.standard_normal(len(board))
    terms = {":".join(t): model.columns(t) for t in model.terms}
    anova = strata_anova(y, decompose({"block": block, "board": board}, terms))
    a, b = anova.residual("board").ms, anova.residual("pot").ms
    fit = reml(y, model.x, {"board": same_group(board)})
    assert fit.theta == pytest.approx([(a - b) / pots, b], rel=1e-5, abs=1e-5 * b)


def test_random_slopes_with_their_covariance_by_moments():
    # Balanced random lines: the restricted estimates equal the moments of the least-squares lines of each pot, so
    # covariance of (intercept, slope) = sample covariance of the lines - error * inverse(X'X); derived, exact.
    rng = np.random.default_rng(5)
    pots, x = 12, np.arange(8.0)
    lines = rng.multivariate_normal([10, 2], [[9, 1], [1, 4]], pots)
    y = lines[:, [0]] + lines[:, [1]] * x + rng.standard_normal((pots, len(x)))
    design = np.column_stack([np.ones_like(x), x])
    fitted = y @ design @ np.linalg.inv(design.T @ design)
    error = float(np.sum((y - fitted @ design.T) ** 2) / (pots * (len(x) - 2)))
    moments = np.cov(fitted.T) - error * np.linalg.inv(design.T @ design)
    same, days = same_group(np.repeat(np.arange(pots), len(x))), np.tile(x, pots)
    shared = same * (days[:, None] + days[None, :])
    patterns = {"level": same, "both": shared, "slope": same * np.outer(days, days)}
    fit = reml(y.ravel(), np.column_stack([np.ones_like(days), days]), patterns)
    assert fit.theta == pytest.approx([moments[0, 0], moments[0, 1], moments[1, 1], error], rel=1e-6)


def test_what_cannot_be_told_apart_is_refused():
    y, x, random = case(A, "w_complete", True)
    with pytest.raises(ValueError, match="columns are not independent"):
        reml(y, np.hstack([x, x[:, [1]]]), random)
    with pytest.raises(ValueError, match="cannot be told from the fixed terms"):
        reml(y, x, {"all": np.ones((64, 64))})
    with pytest.raises(ValueError, match="cannot be told from each other"):
        reml(y, x, {"board": random["board"], "again": random["board"]})
    with pytest.raises(ValueError, match="explained exactly"):
        reml(np.full(64, 7.0), x, random)
