"""The law of competition Y = p / (a + b p), fitted to pots and to means.

Ratkowsky's onions (handbook agronomy.md 2.2) are left out: no package at hand carries the data.
"""

import numpy as np
import pandas as pd
import pytest
from scipy import optimize, stats

from wetfoot.trial.profile_intervals import profile_interval
from wetfoot.trial.response import competition_curve, competition_curve_of_means, lack_of_fit, pot_yield_g

# Puromycin, treated cells: Bates & Watts 1988, Nonlinear Regression Analysis, table A1.3 (figures from memory; the
# residual sum of squares below, which the handbook quotes from R, holds them to account).
CONCENTRATION = np.repeat([0.02, 0.06, 0.11, 0.22, 0.56, 1.10], 2)
RATE = np.array([76, 47, 97, 107, 123, 139, 159, 152, 191, 201, 207, 200.0])


@pytest.fixture(scope="module")
def pots(request):
    return pd.read_csv(request.path.parent / "data" / "trial_case_A.csv")


@pytest.fixture(scope="module")
def curve(pots):
    return competition_curve(pots["pieces"], pots["w_complete"])


def test_puromycin_is_the_same_law():
    # Rate = V c / (K + c) has a = K / V and b = 1 / V; R 4.2.2 nls and its profile (handbook trial.md 8).
    fit = competition_curve(CONCENTRATION, RATE)
    assert 1 / fit.b == pytest.approx(212.683743, rel=1e-7)
    assert fit.a / fit.b == pytest.approx(0.06412128, rel=1e-6)
    assert fit.residual_ss == pytest.approx(1195.448814, rel=1e-9)
    assert fit.scale**0.5 == pytest.approx(10.933658, rel=1e-7)
    # Delta method from (a, b) to (K, V); exact to first order like R's standard errors.
    to_k_v = np.array([[1 / fit.b, -fit.a / fit.b**2], [0, -1 / fit.b**2]])
    assert np.sqrt(np.diag(to_k_v @ fit.covariance @ to_k_v.T)) == pytest.approx([0.00828095, 6.947155], rel=1e-4)
    low, high = profile_interval(fit, "b")
    assert (1 / high, 1 / low) == pytest.approx((197.30213, 229.29006), rel=1e-5)


def test_case_a(curve):
    # R 4.2.2 nls, invented data (handbook trial.md 8). R stops at a relative offset of 1e-5 and interpolates its
    # profile, so that its digits hold to about 5e-5 only.
    assert (curve.a, curve.b) == pytest.approx((3.473997e-04, 3.716302e-04), rel=2e-5)
    assert np.sqrt(np.diag(curve.covariance)) == pytest.approx([5.5029e-05, 2.33231e-05], rel=1e-5)
    assert curve.covariance[0, 1] == pytest.approx(-1.14567e-09, rel=1e-5)
    assert curve.residual_ss == pytest.approx(6073613.381, rel=1e-9)
    assert curve.scale**0.5 == pytest.approx(312.98803, rel=1e-7)
    assert profile_interval(curve, "a") == pytest.approx((2.457329e-04, 4.627017e-04), rel=6e-5)
    assert profile_interval(curve, "b") == pytest.approx((3.254971e-04, 4.175418e-04), rel=1e-5)
    expected = [1390.77, 1833.75, 2051.58, 2181.12]
    assert pot_yield_g([1, 2, 3, 4], curve.a, curve.b) == pytest.approx(expected, abs=0.006)


def test_case_a_against_a_general_optimiser(curve, pots):
    def residual(scaled):
        return pots["w_complete"] - pots["pieces"] / (1e-4 * (scaled[0] + scaled[1] * pots["pieces"]))

    found = optimize.least_squares(residual, [3.0, 3.0], xtol=1e-15, ftol=1e-15, gtol=1e-15)
    assert (curve.a, curve.b) == pytest.approx(found.x * 1e-4, rel=1e-6)


def test_block_effects_leave_a_balanced_curve_and_shrink_its_error(curve, pots):
    blocks = np.column_stack([(pots["block"] == k).astype(float) - (pots["block"] == 4) for k in (1, 2, 3)])
    with_blocks = competition_curve(pots["pieces"], pots["w_complete"], blocks)
    assert (with_blocks.a, with_blocks.b) == pytest.approx((curve.a, curve.b), rel=1e-6)
    # In a balanced trial the sums of squares part: what blocks take is their SS in the strata table (R, section 4.1).
    assert curve.residual_ss - with_blocks.residual_ss == pytest.approx(2157366.875, rel=1e-9)
    assert with_blocks.residual_df == 64 - 2 - 3


def test_means_with_equal_variances_give_the_curve_of_the_pots(curve, pots):
    means = pots.groupby("pieces")["w_complete"].mean()
    variance = 38693.5193 / 16  # pot error of the strata table over 16 pots (handbook trial.md 4.1)
    fit = competition_curve_of_means(means.index, means, variance * np.eye(4), error_df=42)
    assert (fit.a, fit.b) == pytest.approx((curve.a, curve.b), rel=1e-6)
    f, p, departure_df, error_df = lack_of_fit(fit)
    # The F of the strata table: SS of pieces that the curve leaves over 2 df and the pot error MS.
    left = curve.residual_ss - 6073613.381 + (16 * (means - pot_yield_g(means.index, fit.a, fit.b)) ** 2).sum()
    assert f == pytest.approx(left / 2 / 38693.5193, rel=1e-6)
    assert (departure_df, error_df) == (2, 42)
    assert p == pytest.approx(stats.f.sf(f, 2, 42))


def test_means_with_a_covariance_are_fitted_by_generalised_least_squares(pots):
    # Against a general optimiser of (m - f)' C^-1 (m - f); a new block's share is common to all means.
    means = pots.groupby("pieces")["w_complete"].mean()
    covariance = 2418.0 * np.eye(4) + 9000.0
    fit = competition_curve_of_means(means.index, means, covariance, 42)
    p, inverse = means.index.to_numpy(), np.linalg.inv(covariance)

    def weighted(scaled):
        left = means.to_numpy() - p / (1e-4 * (scaled[0] + scaled[1] * p))
        return left @ inverse @ left

    found = optimize.minimize(weighted, [3.0, 3.0], method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-13})
    assert (fit.a, fit.b) == pytest.approx(found.x * 1e-4, rel=1e-5)
    assert fit.residual_ss == pytest.approx(found.fun, rel=1e-9)


def test_lack_of_fit_is_the_difference_to_free_means(curve, pots):
    f, p, departure_df, error_df = lack_of_fit(curve)
    pure = pots.groupby("pieces")["w_complete"].apply(lambda w: ((w - w.mean()) ** 2).sum()).sum()
    assert f == pytest.approx((curve.residual_ss - pure) / 2 / (pure / 60), rel=1e-9)
    assert (departure_df, error_df) == (2, 60)
    assert p == pytest.approx(stats.f.sf(f, 2, 60))


def test_a_shape_that_the_law_cannot_have_shows_as_lack_of_fit():
    pieces = np.repeat([1.0, 2, 3, 4], 6)
    peak = 1000 + 900 * (pieces == 2) + np.tile([-20, -10, -5, 5, 10, 20], 4)
    assert lack_of_fit(competition_curve(pieces, peak))[1] < 1e-6


def test_an_exact_curve_is_found_again():
    pieces = np.array([1, 2, 4, 8, 1, 2, 4, 8.0])  # unequal spacing
    truth = pot_yield_g(pieces, 4e-4, 2e-4) + np.array([1, -1, 1, -1, -1, 1, -1, 1]) * 1e-3
    fit = competition_curve(pieces, truth)
    assert (fit.a, fit.b) == pytest.approx((4e-4, 2e-4), rel=1e-5)


def test_profile_intervals_cover_as_often_as_they_say():
    rng, truth, pieces = np.random.default_rng(11), (3.5e-4, 3.7e-4), np.repeat([1.0, 2, 3, 4], 4)
    covered = 0
    for _ in range(100):
        fit = competition_curve(pieces, pot_yield_g(pieces, *truth) + rng.normal(0, 200, 16))
        low, high = profile_interval(fit, "b")
        covered += low <= truth[1] <= high
    assert stats.binomtest(covered, 100, 0.95).pvalue > 0.001


def test_refusals():
    with pytest.raises(ValueError, match="two levels"):
        competition_curve([2, 2, 2], [1, 2, 3])
    with pytest.raises(ValueError, match="none missing"):
        competition_curve([1, 2, 3], [1, 2, np.nan])
    with pytest.raises(ValueError, match="more than 2 pots"):
        competition_curve([1, 2], [1000, 1500])
    with pytest.raises(ValueError, match="positive definite"):
        competition_curve_of_means([1, 2, 3], [1, 2, 3], np.zeros((3, 3)), 10)
    with pytest.raises(ValueError, match="more than two levels"):
        lack_of_fit(competition_curve([1, 1, 2, 2], [1000, 1010, 1500, 1490]))
    with pytest.raises(ValueError, match="mean above zero"):
        competition_curve([1, 2, 3, 4], [-5, 1, 2, 3])
    with pytest.raises(ValueError, match="'a' or 'b'"):
        profile_interval(competition_curve([1, 2, 3, 4], [10, 14, 16, 18]), "c")
