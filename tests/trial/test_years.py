"""Several years together.

Sources: Bartlett's statistic: scipy; degrees of freedom with years random, (1, 2) for gutter and (3, 6) for pieces with
three years: Dixon, Moore and van Santen 2018 ch. 8; critical F 18.51 and 4.76: any F table. The data are invented here.
"""

import numpy as np
import pytest
from scipy import stats

from wetfoot.trial.analysis import analyse_response
from wetfoot.trial.fitting import Trial
from wetfoot.trial.roles import Roles
from wetfoot.trial.terms import build_model, factorial_terms
from wetfoot.trial.years import evenness, random_years

ROLES = Roles(("gutter",), ("pieces", "pot"), "block", "board", "year", quantitative=("pieces",))


def invented(seed=8, year_pieces_sd=60.0):
    """Make three years of 4 blocks, 2 boards and 8 pots; block and board labels repeat in every year."""
    rng = np.random.default_rng(seed)
    year, block, board, pot = (a.ravel() for a in np.indices((3, 4, 2, 8)))
    pieces = pot // 2
    y = 1800 + 150 * pieces + 90 * board + 100 * rng.standard_normal(3)[year]
    y += year_pieces_sd * rng.standard_normal((3, 4))[year, pieces] + 80 * rng.standard_normal((3, 4))[year, block]
    y += 60 * rng.standard_normal((3, 4, 2))[year, block, board] + 150 * rng.standard_normal(len(y))
    factors = {"year": year + 2021, "block": block, "board": board, "gutter": np.array(["no", "yes"])[board]}
    return y, factors | {"pieces": pieces + 1, "pot": np.array(["std", "air"])[pot % 2]}


@pytest.fixture(scope="module")
def complete():
    return analyse_response(*invented(), ROLES)


def test_bartlett_against_scipy():
    rng = np.random.default_rng(2)
    groups = [s * rng.standard_normal(n) for s, n in ((1, 12), (2, 15), (3, 9))]
    found = evenness([float(np.var(g, ddof=1)) for g in groups], [len(g) - 1 for g in groups])
    expected = stats.bartlett(*groups)
    assert (found.bartlett, found.p) == (pytest.approx(expected.statistic), pytest.approx(expected.pvalue))
    assert found.ratio == pytest.approx(max(np.var(g, ddof=1) for g in groups) / min(np.var(g, ddof=1) for g in groups))


def test_uneven_years_are_told():
    assert evenness([1.0, 5.0], [40, 40]).uneven
    assert not evenness([1.0, 3.0], [40, 40]).uneven
    with pytest.raises(ValueError, match="at least two years"):
        evenness([1.0], [40])


def test_degrees_of_freedom_with_years_fixed_and_random(complete):
    found = complete
    assert found.method == "strata"
    df = {t.term: (t.stratum, t.df, t.df_error) for t in found.terms}
    assert df["year"] == ("block", 2, 9)
    assert df["gutter"] == ("board", 1, 9)
    assert df["year:gutter"] == ("board", 2, 9)
    assert df["pieces"] == ("pot", 3, 126)
    assert df["year:pieces"] == ("pot", 6, 126)
    random = found.years.random_tests
    assert (random["gutter"].df, random["gutter"].df_error) == (1, 2)
    assert (random["pieces"].df, random["pieces"].df_error) == (3, 6)
    assert stats.f.sf(18.51, 1, 2) == pytest.approx(0.05, abs=1e-4)
    assert stats.f.sf(random["pieces"].f, 3, 6) == pytest.approx(random["pieces"].p)


def test_years_as_random_by_likelihood_equal_the_ratio_of_mean_squares():
    y, factors = invented()
    trial = Trial(y, factors, ROLES)
    terms = factorial_terms(["gutter", "pieces", "pot"])
    model = build_model({f: factors[f] for f in ("gutter", "pieces", "pot")}, terms)
    with_year = {"pieces": factors["pieces"]}
    fit, tests = random_years(y, model, factors["year"], trial.units.block, trial.units.board, with_year)
    # balanced: the test of pieces is MS(pieces)/MS(year:pieces) on (3, 6), as the mean squares give it
    cells = np.array(
        [
            [y[(factors["year"] == a) & (factors["pieces"] == p)].mean() for p in (1, 2, 3, 4)]
            for a in (2021, 2022, 2023)
        ]
    )
    effect = cells.mean(0) - cells.mean()
    rest = cells - cells.mean(1, keepdims=True) - effect
    f = (3 * np.sum(effect**2) / 3) / (np.sum(rest**2) / 6)
    assert fit.converged
    assert tests["pieces"].f == pytest.approx(f, rel=1e-5)
    assert tests["pieces"].df_error == pytest.approx(6, rel=1e-4)


def test_lost_pots_in_several_years():
    y, factors = invented(3)
    y[[5, 40, 77, 78, 120, 190]] = np.nan
    found = analyse_response(y, factors, ROLES)
    assert found.method == "REML + KR"
    assert found.term("year").f is None
    assert found.term("gutter").df_error == pytest.approx(9, abs=0.5)
    assert found.years.random_tests["pieces"].df_error == pytest.approx(6, abs=1.5)
    assert any("year itself is not tested" in text for text in found.warnings)


def test_yearly_errors_are_those_of_the_single_years(complete):
    y, factors = invented()
    found = complete
    alone = []
    for year in (2021, 2022, 2023):
        here = factors["year"] == year
        one = {name: labels[here] for name, labels in factors.items() if name != "year"}
        alone.append(analyse_response(y[here], one, Roles(("gutter",), ("pieces", "pot"), "block", "board")))
    ms = [a.strata.residual("pot").ms for a in alone]
    assert found.years.evenness.bartlett == pytest.approx(evenness(ms, [42] * 3).bartlett)
    assert found.years.evenness.ratio == pytest.approx(max(ms) / min(ms))
    assert found.strata.residual("pot").ms == pytest.approx(np.mean(ms))


def test_means_by_year_average_to_the_means(complete):
    found = complete
    by_year = found.table_of_means("year", "pieces").estimates.value.reshape(3, 4)
    assert by_year.mean(axis=0) == pytest.approx(found.table_of_means("pieces").estimates.value)
