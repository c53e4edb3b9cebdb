"""Stem counts: Poisson regression."""

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from wetfoot.trial.counts import deviance_test, poisson_regression


def sum_coded(labels):
    levels = np.unique(labels)
    return np.column_stack([(labels == level) * 1.0 - (labels == levels[-1]) for level in levels[:-1]])


@pytest.fixture(scope="module")
def fits(request):
    pots = pd.read_csv(request.path.parent / "data" / "trial_case_A.csv")
    columns = [np.ones((64, 1)), *[sum_coded(pots[name].to_numpy()) for name in ("block", "gutter", "pieces")]]
    with_pot = [*columns, np.where(pots["pot"] == "std", 1.0, -1.0)[:, None]]
    without_pieces = [columns[0], columns[1], columns[2], with_pot[-1]]
    return tuple(poisson_regression(np.hstack(parts), pots["stems"]) for parts in (with_pot, without_pieces))


def test_stems_of_case_a(fits):  # R 4.2.2 glm, invented data (handbook trial.md 4.3)
    fit = fits[0]
    assert (fit.deviance, fit.null_deviance) == pytest.approx((44.9996877, 89.2632652), abs=1e-7)
    assert fit.residual_df == 55
    assert fit.aic == pytest.approx(342.419783, abs=1e-6)
    expected = [2.54322222, -0.01196229, -0.30663897, -0.04427471, 0.02983327, -0.03350536]
    assert fit.coefficients[[0, 4, 5, 6, 7, 8]] == pytest.approx(expected, abs=1.2e-8)


def test_one_group_has_closed_forms():
    # Mean; variance of the log mean 1 / total; index of dispersion (Fisher; McCullagh & Nelder 1989, from memory).
    counts = np.array([3, 0, 5, 2, 7, 1])
    fit = poisson_regression(np.ones((6, 1)), counts)
    assert fit.coefficients[0] == pytest.approx(np.log(3.0))
    assert fit.covariance[0, 0] == pytest.approx(1 / 18)
    assert fit.scale == pytest.approx(counts.var(ddof=1) / 3.0)
    assert fit.quasi_standard_errors[0] == pytest.approx(counts.std(ddof=1) / 3.0 / np.sqrt(6))
    assert fit.deviance == pytest.approx(fit.null_deviance)
    assert fit.aic == pytest.approx(2 - 2 * stats.poisson.logpmf(counts, 3.0).sum())


def test_pieces_act_on_stems(fits):
    larger, smaller = fits
    chi2, p = deviance_test(smaller, larger, quasi=False)
    assert chi2 == pytest.approx(smaller.deviance - larger.deviance)
    assert p == pytest.approx(stats.chi2.sf(chi2, 3))
    f, p = deviance_test(smaller, larger)
    assert f == pytest.approx(chi2 / 3 / larger.scale)
    assert p == pytest.approx(stats.f.sf(f, 3, 55))
    with pytest.raises(ValueError, match="more coefficients"):
        deviance_test(larger, smaller)


def test_what_has_no_answer_is_refused():
    groups = np.column_stack([np.ones(6), np.repeat([0, 1], 3)])
    with pytest.raises(ValueError, match="all zero"):
        poisson_regression(groups, [0, 0, 0, 3, 4, 5])
    with pytest.raises(ValueError, match="whole numbers"):
        poisson_regression(groups, [1, 2, np.nan, 3, 4, 5])
    with pytest.raises(ValueError, match="whole numbers"):
        poisson_regression(groups, [1, 2, 2.5, 3, 4, 5])
