"""Tests of fixed effects with estimated variances.

Sources: cases A and C are invented data, answers from R 4.2.2 (lmerTest 3.1-3, pbkrtest 0.5.2) to the digits given; the
unbounded fit of case A by an independent prototype. oats with nine rows left out: answers from pbkrtest and emmeans.
"""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import f_oneway

from wetfoot.trial.kenward_roger import estimates, f_test, kenward_roger
from wetfoot.trial.mixed import reml, same_group
from wetfoot.trial.satterthwaite import satterthwaite
from wetfoot.trial.strata import decompose, strata_anova
from wetfoot.trial.terms import build_model, coded, factorial_terms, levels_of, mean_rows, term_name

DATA = Path(__file__).parent / "data"
A, C = "trial_case_A.csv", "trial_case_C_singular.csv"


def fitted(name, column, block_fixed=True, bounded=True, terms=None):
    table = pd.read_csv(DATA / name)
    table = table[table[column].notna()]
    factors = {f: table[f].to_numpy() for f in ("gutter", "pieces", "pot")}
    block = table["block"].to_numpy()
    nuisance = coded(block, levels_of(block)) if block_fixed else None
    model = build_model(factors, terms or factorial_terms(list(factors)), nuisance)
    random = {} if block_fixed else {"block": same_group(block)}
    random["board"] = same_group(table["board"].to_numpy())
    return model, reml(table[column].to_numpy(float), model.x, random, bounded)


M1 = {
    "gutter": (28.363724, 2.910007, 0.0139714),
    "pieces": (42.721505, 36.754861, 4.57549e-12),
    "pot": (3.335328, 36.959225, 0.0758934),
    "gutter:pieces": (2.094780, 36.890932, 0.117609),
    "gutter:pot": (0.008570, 36.859321, 0.926745),
    "pieces:pot": (1.177793, 36.513692, 0.331552),
    "gutter:pieces:pot": (0.042808, 36.403482, 0.988017),
}
M2 = {
    "gutter": (28.379869, 2.910658, 0.0139529),
    "pieces": (42.953862, 36.698596, 4.32180e-12),
    "pot": (3.360687, 36.918986, 0.0748431),
    "gutter:pieces": (2.016944, 36.849462, 0.128443),
    "gutter:pot": (0.004790, 36.808343, 0.945196),
    "pieces:pot": (1.195606, 36.491452, 0.325030),
    "gutter:pieces:pot": (0.036825, 36.372106, 0.990384),
}
M3 = {
    "gutter": (33.0238, 2.8922, 0.0115614),
    "pieces": (42.4923, 36.8069, 4.84884e-12),
    "pot": (3.41809, 37.0592, 0.0724755),
    "gutter:pieces": (2.03781, 36.9742, 0.125386),
    "gutter:pot": (0.008861, 36.9372, 0.925513),
    "pieces:pot": (1.16095, 36.5746, 0.337819),
    "gutter:pieces:pot": (0.040899, 36.4335, 0.988789),
}


@pytest.mark.parametrize(("table", "block_fixed", "bounded"), [(M1, False, True), (M2, True, True), (M3, True, False)])
def test_case_a_with_six_lost_pots(table, block_fixed, bounded):
    model, fit = fitted(A, "w", block_fixed, bounded)
    adjusted = kenward_roger(fit)
    for term in model.terms:
        test = f_test(adjusted, model.selector(term))
        f, df, p = table[term_name(term)]
        assert test.f == pytest.approx(f, rel=2e-6, abs=6e-7)
        assert test.df_error == pytest.approx(df, rel=2e-5)
        assert test.p == pytest.approx(p, rel=3e-5)


def test_case_a_reduced_model():
    terms = [("gutter",), ("pieces",), ("pot",), ("gutter", "pieces")]
    model, fit = fitted(A, "w", terms=terms)
    tests = {t: f_test(kenward_roger(fit), model.selector(t)) for t in terms}
    assert fit.components["pot"] == pytest.approx(37209.7707, rel=1e-7)
    assert [(tests[t].f, tests[t].df_error) for t in terms] == [
        (pytest.approx(30.456386, rel=1e-6), pytest.approx(2.958260, rel=1e-6)),
        (pytest.approx(46.122616, rel=1e-6), pytest.approx(43.763351, rel=1e-6)),
        (pytest.approx(3.839260, rel=1e-6), pytest.approx(43.841487, rel=1e-6)),
        (pytest.approx(2.166674, rel=1e-6), pytest.approx(43.920103, rel=1e-6)),
    ]


def test_case_c_with_lost_pots():
    model, fit = fitted(C, "w")
    published = {
        ("gutter",): (2.822119, 2.986556),
        ("pieces",): (34.716493, 36.105261),
        ("pot",): (0.173065, 36.036732),
        ("gutter", "pieces"): (2.604709, 36.210633),
    }
    for term, (f, df) in published.items():
        test = f_test(kenward_roger(fit), model.selector(term))
        assert (test.f, test.df_error) == (pytest.approx(f, rel=1e-5, abs=1e-6), pytest.approx(df, rel=1e-5))
    assert f_test(kenward_roger(fit), model.selector(("gutter",))).p == pytest.approx(0.191975, rel=1e-5)


def test_case_c_complete_equals_the_strata_only_with_blocks_fixed():
    model, fit = fitted(C, "w_complete", block_fixed=False)
    test = f_test(kenward_roger(fit), model.selector(("gutter",)))
    assert (test.f, test.p) == (pytest.approx(4.730033, rel=1e-5), pytest.approx(0.1179161, rel=1e-5))
    assert satterthwaite(fit, model.selector(("gutter",))).p == pytest.approx(0.0725735, rel=1e-5)
    model, fit = fitted(C, "w_complete")
    test = f_test(kenward_roger(fit), model.selector(("gutter",)))
    assert (test.f, test.df_error) == (pytest.approx(3.719311, rel=1e-6), pytest.approx(3))
    assert test.p == pytest.approx(0.149378, rel=1e-5)


def test_the_trap_of_a_dropped_board_variance():
    # Satterthwaite without the component that stands at zero tests the boards with the pots' degrees of freedom.
    model, fit = fitted(A, "w", block_fixed=False)
    trap = satterthwaite(fit, model.selector(("gutter",)))
    assert (trap.f, trap.df_error) == (pytest.approx(28.537938, rel=1e-6), pytest.approx(39.1132, rel=1e-5))
    assert trap.p == pytest.approx(4.2017e-06, rel=1e-4)
    several = satterthwaite(fit, model.selector(("pieces",)))
    assert (several.f, several.df_error) == (pytest.approx(43.338299, rel=1e-6), pytest.approx(39.0701, rel=1e-5))


def test_type_iii_needs_the_sum_to_zero_coding():
    # Without random boards Kenward-Roger is ordinary least squares, whose type III table R gives (39 error df).
    model, _ = fitted(A, "w")
    table = pd.read_csv(DATA / A).dropna(subset=["w"])
    adjusted = kenward_roger(reml(table["w"].to_numpy(float), model.x, {}))
    published = [28.50216, 43.55232, 3.42505, 2.09538, 0.00487, 1.21033, 0.03720]
    tests = [f_test(adjusted, model.selector(t)) for t in model.terms]
    assert [test.f for test in tests] == pytest.approx(published, abs=6e-6)
    assert [test.df_error for test in tests] == pytest.approx([39] * 7)


def test_oats_without_nine_plots():
    table = pd.read_csv(DATA / "oats.csv").drop(index=[i - 1 for i in (1, 2, 3, 5, 8, 13, 21, 34, 55)])
    model = build_model({f: table[f].to_numpy() for f in ("variety", "nitrogen")}, [("variety",), ("nitrogen",)])
    plot = same_group((table["block"] + table["variety"]).to_numpy())
    random = {"plot": plot, "block": same_group(table["block"].to_numpy())}
    fit = reml(table["yield"].to_numpy(float), model.x, random)
    adjusted = kenward_roger(fit)
    assert fit.components == pytest.approx({"plot": 76.284851, "block": 209.440504, "pot": 180.492292}, rel=1e-4)
    variety, nitrogen = (f_test(adjusted, model.selector((f,))) for f in ("variety", "nitrogen"))
    assert (variety.f, variety.df_error) == (pytest.approx(1.573925, rel=1e-5), pytest.approx(9.717041, rel=1e-5))
    assert (nitrogen.f, nitrogen.df_error) == (pytest.approx(32.225173, rel=1e-5), pytest.approx(43.403613, rel=1e-5))
    assert variety.p == pytest.approx(0.255789, rel=1e-5)
    means = estimates(adjusted, mean_rows(model, ["nitrogen"])[1])
    assert means.value == pytest.approx([78.892071, 97.034253, 114.198163, 124.068570], rel=1e-6)
    assert means.se == pytest.approx([7.294380, 7.136271, 7.136186, 7.070235], rel=2e-5)
    assert means.df == pytest.approx([7.783, 7.191, 7.192, 6.955], abs=1e-3)


def test_oats_complete_means():
    table = pd.read_csv(DATA / "oats.csv")
    model = build_model(
        {f: table[f].to_numpy() for f in ("nitrogen", "variety")}, factorial_terms(["nitrogen", "variety"])
    )
    plot = same_group((table["block"] + table["variety"]).to_numpy())
    fit = reml(table["yield"].to_numpy(float), model.x, {"plot": plot, "block": same_group(table["block"].to_numpy())})
    adjusted = kenward_roger(fit)
    for factor, value, se, df in (
        ("nitrogen", [79.3888889, 98.8888889, 114.2222222, 123.3888889], 7.174754, 6.79),
        ("variety", [104.5, 109.7916667, 97.625], 7.797580, 8.87),
    ):
        found = estimates(adjusted, mean_rows(model, [factor])[1])
        assert found.value == pytest.approx(value, rel=1e-8)
        assert found.se == pytest.approx([se] * len(value), rel=1e-5)
        assert found.df == pytest.approx([df] * len(value), abs=6e-3)


@pytest.mark.parametrize("df", [2, 3, 4, 5])
def test_few_degrees_of_freedom_of_several_coefficients(df):
    # One way with three groups is exact for any df; the paper's formula divides zero by zero at exactly 4.
    group = np.arange(3 + df) % 3
    y = np.array([3.0, 7.0, 12.0, 4.0, 9.5, 11.0, 2.0, 8.0])[: 3 + df]
    model = build_model({"g": group}, [("g",)])
    test = f_test(kenward_roger(reml(y, model.x, {})), model.selector(("g",)))
    expected = f_oneway(*(y[group == level] for level in range(3)))
    assert (test.f, test.df_error) == (pytest.approx(expected.statistic), pytest.approx(df))
    assert test.p == pytest.approx(expected.pvalue)


@settings(deadline=None, max_examples=25)
@given(st.integers(2, 5), st.integers(2, 4), st.integers(0, 2**32 - 1), st.floats(0, 2))
def test_balanced_trials_give_the_f_of_the_strata(blocks, pots, seed, board_sd):
    # Kenward and Roger 1997 prove this exactness; here it must hold for negative board variances too.
    rng = np.random.default_rng(seed)
    block, board = np.repeat(np.arange(blocks), 2 * pots), np.repeat(np.arange(2 * blocks), pots)
    factors = {"g": board % 2, "p": np.tile(np.arange(pots), 2 * blocks)}
    model = build_model(factors, factorial_terms(["g", "p"]), coded(block, levels_of(block)))
    y = 50 + board_sd * rng.standard_normal(2 * blocks)[board] + rng.standard_normal(len(board))
    columns = {term_name(t): model.columns(t) for t in model.terms}
    anova = strata_anova(y, decompose({"block": block, "board": board}, columns))
    adjusted = kenward_roger(reml(y, model.x, {"board": same_group(board)}))
    for term in model.terms:
        row, test = anova.row(term_name(term)), f_test(adjusted, model.selector(term))
        assert test.f == pytest.approx(row.f, rel=1e-4)
        assert test.df_error == pytest.approx(row.df_error, rel=1e-4)
