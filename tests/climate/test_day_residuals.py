"""The chain of residuals against Richardson & Wright 1984, SciPy and statsmodels."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.linalg import solve_discrete_lyapunov
from statsmodels.tsa.api import VAR

from wetfoot.climate import day_residuals as dr

# Richardson 1982, mean correlations of tmax, tmin, sun at 31 stations (from memory)
SAME_DAY = np.array([[1.0, 0.633, 0.186], [0.633, 1.0, -0.193], [0.186, -0.193, 1.0]])
DAY_BEFORE = np.array([[0.621, 0.445, 0.087], [0.563, 0.674, -0.100], [0.015, -0.091, 0.251]])


def test_published_matrices_follow_from_the_published_correlations() -> None:
    """Richardson & Wright 1984 print A and B to three digits (handbook weather.md 4)."""
    a, b = dr.chain_matrices(SAME_DAY, DAY_BEFORE)
    assert a == pytest.approx(dr.PUBLISHED_A, abs=0.0025)  # correlations are rounded to 0.001
    assert b == pytest.approx(dr.PUBLISHED_B, abs=0.0015)


def test_published_matrices_imply_the_published_correlations() -> None:
    same, before = dr.published_correlations()
    reference = solve_discrete_lyapunov(dr.PUBLISHED_A, dr.PUBLISHED_B @ dr.PUBLISHED_B.T)
    assert same == pytest.approx(reference, abs=1e-12)
    assert same == pytest.approx(SAME_DAY, abs=0.0015)
    assert before == pytest.approx(DAY_BEFORE, abs=0.0015)


def test_residuals_have_the_correlations_from_the_first_day() -> None:
    normal = np.random.default_rng(2).standard_normal((20_000, 6, 3))
    a, b = dr.chain_matrices(SAME_DAY, DAY_BEFORE)
    x = dr.residual_chain(normal, SAME_DAY, a, b)
    within = 4.5 / np.sqrt(20_000)  # standard error of a correlation, times 4.5 for the largest of 90
    for day in range(6):
        assert np.abs(np.cov(x[:, day].T) - SAME_DAY).max() < 1.5 * within
    for day in range(1, 6):
        assert np.abs(x[:, day].T @ x[:, day - 1] / 20_000 - DAY_BEFORE).max() < 1.5 * within


def test_fitted_matrices_are_those_of_a_vector_autoregression() -> None:
    """statsmodels' least squares on the same series; the two differ by end days only."""
    normal = np.random.default_rng(3).standard_normal((1, 3000, 3))
    x = dr.residual_chain(normal, SAME_DAY, *dr.chain_matrices(SAME_DAY, DAY_BEFORE))[0]
    found = dr.fit_correlations(x, np.ones(3000, dtype=bool))
    a, b = dr.chain_matrices(found.same_day, found.day_before)
    reference = VAR(x / x.std(axis=0)).fit(1, trend="c")
    assert found.pairs == 2999
    assert a == pytest.approx(reference.coefs[0], abs=0.005)
    assert b @ b.T == pytest.approx(np.asarray(reference.sigma_u), abs=0.01)
    assert a == pytest.approx(dr.PUBLISHED_A, abs=4.0 * np.sqrt(2.0 / 3000))


def test_gaps_make_no_pairs() -> None:
    x = np.random.default_rng(5).standard_normal((10, 2))
    x[4] = np.nan
    follows = np.ones(10, dtype=bool)
    follows[[0, 8]] = False
    assert dr.fit_correlations(x, follows).pairs == 6  # nine pairs, less two with day 5 and one over the break


@given(st.integers(0, 10_000), st.integers(1, 5), st.integers(0, 40))
def test_any_short_series_gives_a_chain_that_does_not_grow(seed: int, variables: int, days: int) -> None:
    x = np.random.default_rng(seed).standard_normal((days, variables))
    found = dr.fit_correlations(x, np.arange(days) > 0)
    if found.pairs < 4 * variables:
        return
    a, b = dr.chain_matrices(found.same_day, found.day_before)
    assert np.abs(np.linalg.eigvals(a)).max() < 1.3
    assert np.isfinite(b).all()
    assert b == pytest.approx(np.tril(b))


def test_a_yearly_course_is_found_in_mean_and_spread() -> None:
    """Twenty invented years: 15 + 10 cos on dry days, 3 less on wet ones; spread 2 + cos, half of it on wet ones."""
    random = np.random.default_rng(6)
    day = np.tile(np.arange(1, 366), 20)
    wet = random.random(day.size) < 0.4
    wave = np.cos(2.0 * np.pi * day / 365.25)
    mean, sd = 15.0 + 10.0 * wave - 3.0 * wet, 2.0 + wave - wet
    sd = np.maximum(sd, 0.6)
    course = dr.fit_course(day, wet, mean + sd * random.standard_normal(day.size))
    found_mean, found_sd = dr.course_at(course, day, wet)
    assert np.abs(found_mean - mean).max() < 0.25
    assert np.abs(found_sd - sd).max() < 0.45
    assert np.corrcoef(found_sd, sd)[0, 1] > 0.98


def test_a_variable_that_never_changes_stays() -> None:
    day = np.arange(1, 366)
    course = dr.fit_course(day, day % 3 == 0, np.full(365, 7.0))
    mean, sd = dr.course_at(course, day, day % 3 == 0)
    assert mean == pytest.approx(7.0)
    assert sd.max() < 1e-5


def test_nothing_measured_is_refused() -> None:
    with pytest.raises(ValueError, match="values"):
        dr.fit_course(np.arange(1, 4), np.zeros(3, dtype=bool), np.full(3, np.nan))
