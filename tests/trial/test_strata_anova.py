"""Analysis of variance by strata against certified and published tables.

Sources: NIST Statistical Reference Datasets (as shipped with scipy); oats: Yates 1935; npk, poisons, warpbreaks: the
usual worked examples, answers computed with R 4.2.2 (`aov` with Error()); case A: invented data, answers from R 4.2.2.
The data of warpbreaks are typed from memory and hold because all the published sums of squares come out.
"""

import math
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import scipy.stats

from wetfoot.trial.contrasts import orthogonal_polynomials
from wetfoot.trial.strata import combined_mean_square, decompose, is_orthogonal, strata_anova
from wetfoot.trial.terms import build_model, coded, factorial_terms, levels_of, term_name

DATA = Path(__file__).parent / "data"
NIST = Path(scipy.stats.__file__).parent / "tests" / "data" / "nist_anova"


def anova(table, response, factors, groupings, transform=lambda y: y):
    """Analyse a table by strata with all interactions of some factors."""
    columns = {name: table[name].to_numpy() for name in factors}
    model = build_model(columns, factorial_terms(factors))
    strata = decompose(groupings, {term_name(term): model.columns(term) for term in model.terms})
    return strata_anova(transform(table[response].to_numpy(float)), strata)


def nested(table, outer, inner):
    return (table[outer].astype(str) + "/" + table[inner].astype(str)).to_numpy()


@pytest.mark.parametrize(
    ("name", "digits"),
    [
        *[("SiRstv", 12), ("AtmWtAg", 9)],
        *[(f"SmLs0{i}", 14) for i in (1, 2, 3)],
        *[(f"SmLs0{i}", 10) for i in (4, 5, 6)],
        *[(f"SmLs0{i}", 4) for i in (7, 8, 9)],
    ],
)
def test_nist_certified_f(name, digits):
    # Digits reachable in double precision differ by set: the last three have 13 constant leading digits.
    path = NIST / f"{name}.dat"
    if not path.exists():
        pytest.skip("this scipy comes without its test data")
    lines = path.read_text().splitlines()
    between = next(line for line in lines[40:50] if line.startswith("Between")).split()
    certified_f, certified_df = float(between[-1]), int(between[-4])
    group, y = np.loadtxt(lines[60:], unpack=True)
    labels = group.astype(int)
    row = strata_anova(y, decompose({}, {"group": coded(labels, levels_of(labels))})).row("group")
    assert row.df == certified_df
    correct = -math.log10(max(abs(row.f - certified_f) / certified_f, 1e-16))
    assert correct >= digits


def case_a(column="w_complete"):
    table = pd.read_csv(DATA / "trial_case_A.csv")
    table = table[table[column].notna()]
    groupings = {"block": table["block"].to_numpy(), "board": table["board"].to_numpy()}
    return anova(table, column, ("gutter", "pieces", "pot"), groupings)


@pytest.mark.parametrize(
    ("term", "stratum", "df", "ss", "f", "p"),
    [
        ("gutter", "board", 1, 1301310.5625, 24.41089, 0.0159033),
        ("pieces", "pot", 3, 6141759.625, 52.90946, 2.5484e-14),
        ("pot", "pot", 1, 138756.25, 3.58603, 0.0651690),
        ("gutter:pieces", "pot", 3, 294152.5625, 2.53404, 0.0697463),
        ("gutter:pot", "pot", 1, 6930.5625, 0.17911, 0.674295),
        ("pieces:pot", "pot", 3, 218857.875, 1.88540, 0.146732),
        ("gutter:pieces:pot", "pot", 3, 5719.8125, 0.04927, 0.985326),
    ],
)
def test_case_a_complete(term, stratum, df, ss, f, p):
    row = case_a().row(term)
    assert (row.stratum, row.df) == (stratum, df)
    assert row.ss == pytest.approx(ss, rel=1e-10)
    assert row.f == pytest.approx(f, abs=6e-6)
    assert row.p == pytest.approx(p, rel=3e-5)


def test_case_a_errors_of_each_stratum():
    found = case_a()
    assert [(found.residual(s).df, found.residual(s).ms) for s in ("block", "board", "pot")] == [
        (3, pytest.approx(719122.2917, rel=1e-9)),
        (3, pytest.approx(53308.6042, rel=1e-9)),
        (42, pytest.approx(38693.5193, rel=1e-8)),
    ]


def test_lost_pots_make_pieces_leak_into_coarser_strata():
    found = case_a("w")
    assert not found.orthogonal
    assert case_a().orthogonal
    assert found.row("pieces", "block").ss == pytest.approx(1412337.15, abs=0.005)
    assert found.row("pieces", "board").ss == pytest.approx(219718.35, abs=0.005)
    assert found.row("pieces", "pot").ss == pytest.approx(5265342.1, abs=0.05)
    assert found.row("pieces", "pot").f == pytest.approx(43.65668, abs=5e-6)


def test_boards_left_out_give_the_wrong_answer_that_is_published_as_a_warning():
    table = pd.read_csv(DATA / "trial_case_A.csv")
    found = anova(table, "w_complete", ("gutter", "pieces", "pot"), {"block": table["block"].to_numpy()})
    assert found.row("gutter").f == pytest.approx(32.80516, abs=5e-6)
    assert found.row("gutter").p == pytest.approx(7.9096e-07, rel=1e-4)


def test_gutter_never_has_more_error_than_boards_allow():
    assert case_a().row("gutter").df_error == 8 - 4 - 1


def test_oats():
    table = pd.read_csv(DATA / "oats.csv")
    groupings = {"block": table["block"].to_numpy(), "plot": nested(table, "block", "variety")}
    found = anova(table, "yield", ("nitrogen", "variety"), groupings)
    assert found.orthogonal
    assert found.residual("block").ss == pytest.approx(15875.27778, abs=5e-6)
    assert found.row("variety").ss == pytest.approx(1786.361111, abs=5e-7)
    assert found.row("variety").f == pytest.approx(1.48534, abs=5e-6)
    assert found.row("variety").p == pytest.approx(0.27239, abs=5e-6)
    assert found.residual("plot").ss == pytest.approx(6013.305556, abs=5e-7)
    assert found.row("nitrogen").ss == pytest.approx(20020.5, abs=1e-8)
    assert found.row("nitrogen").f == pytest.approx(37.68565, abs=5e-6)
    assert found.row("nitrogen:variety").f == pytest.approx(0.30282, abs=5e-6)
    assert found.residual("pot").ss == pytest.approx(7968.75, abs=1e-8)


def test_oats_split_into_polynomials():
    table = pd.read_csv(DATA / "oats.csv")
    x = table["nitrogen"].to_numpy()
    shape = orthogonal_polynomials(np.unique(x))[:, np.searchsorted(np.unique(x), x)].T
    variety = coded(table["variety"].to_numpy(), levels_of(table["variety"].to_numpy()))
    terms = {"variety": variety} | {f"n{i + 1}": shape[:, [i]] for i in range(3)}
    terms |= {f"v:n{i + 1}": variety * shape[:, [i]] for i in range(3)}
    groupings = {"block": table["block"].to_numpy(), "plot": nested(table, "block", "variety")}
    found = strata_anova(table["yield"].to_numpy(float), decompose(groupings, terms))
    assert [found.row(f"n{i}").ss for i in (1, 2, 3)] == pytest.approx([19536.4, 480.5, 3.6], abs=1e-8)
    assert [found.row(f"n{i}").f for i in (1, 2, 3)] == pytest.approx([110.32320, 2.71341, 0.02033], abs=6e-6)
    assert [found.row(f"v:n{i}").ss for i in (1, 2, 3)] == pytest.approx([168.35, 11.083333, 142.316667], abs=5e-7)


def test_npk_finds_the_interaction_that_is_confounded_with_blocks():
    table = pd.read_csv(DATA / "npk.csv")
    found = anova(table, "yield", ("n", "p", "k"), {"block": table["block"].to_numpy()})
    assert found.orthogonal
    row = found.row("n:p:k")
    assert (row.stratum, row.ss) == ("block", pytest.approx(37.001667, abs=5e-7))
    assert (row.f, row.p) == (pytest.approx(0.48322, abs=5e-6), pytest.approx(0.52524, abs=5e-6))
    published = {"n": 12.25873, "p": 0.54413, "k": 6.16569, "n:p": 1.37830, "n:k": 2.14597, "p:k": 0.03119}
    assert {term: found.row(term).f for term in published} == pytest.approx(published, abs=5e-6)
    assert found.residual("pot").ss == pytest.approx(185.286667, abs=5e-7)


@pytest.mark.parametrize(
    ("transform", "f", "error"),
    [
        (lambda y: y, (23.22174, 13.80558, 1.87433), 0.0222423611),
        (lambda y: 1 / y, (72.63475, 28.34307, 1.09042), 0.240085641),
    ],
)
def test_poisons(transform, f, error):
    found = anova(pd.read_csv(DATA / "poisons.csv"), "time", ("poison", "treatment"), {}, transform)
    assert [found.row(term).f for term in ("poison", "treatment", "poison:treatment")] == pytest.approx(f, abs=5e-6)
    assert found.residual("pot").ms == pytest.approx(error, rel=1e-8)
    assert found.residual("pot").df == 36


def test_warpbreaks():
    found = anova(pd.read_csv(DATA / "warpbreaks.csv"), "breaks", ("wool", "tension"), {})
    assert found.row("wool").ss == pytest.approx(450.666667, abs=5e-7)
    assert found.row("tension").ss == pytest.approx(2034.259259, abs=5e-7)
    assert found.row("tension").p == pytest.approx(0.00069262, rel=1e-4)
    assert found.row("wool:tension").p == pytest.approx(0.02104419, rel=1e-6)
    assert found.residual("pot").ms == pytest.approx(119.6898148, abs=5e-8)


def test_uneven_replication_is_not_orthogonal():
    table = pd.read_csv(DATA / "warpbreaks.csv").iloc[1:]
    model = build_model({n: table[n].to_numpy() for n in ("wool", "tension")}, [("wool",), ("tension",)])
    assert not is_orthogonal(decompose({}, {term_name(t): model.columns(t) for t in model.terms}))


def test_error_of_two_gutters_at_one_number_of_pieces():
    # Variance 2 (Ea/8 + 3 Eb/8)/r with Satterthwaite's df: case A, agrees with the reference mixed-model fit.
    variance, df = combined_mean_square(np.array([1 / 8, 3 / 8]), np.array([53308.6042, 38693.5193]), np.array([3, 42]))
    assert math.sqrt(2 * variance / 4) == pytest.approx(102.892287, abs=5e-7)
    assert df == pytest.approx(22.626605, abs=2e-6)


def test_gaps_are_refused():
    strata = decompose({}, {"a": np.array([[1.0], [1.0], [-1.0], [-1.0]])})
    with pytest.raises(ValueError, match="without gaps"):
        strata_anova(np.array([1.0, np.nan, 2.0, 3.0]), strata)
