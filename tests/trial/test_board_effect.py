"""Splits that cluster on boards: the random-intercept check."""

import numpy as np
import pandas as pd
import pytest
from scipy import integrate, special, stats

from wetfoot.trial.board_effect import random_intercept_logistic


@pytest.fixture(scope="module")
def trial(request):
    pots = pd.read_csv(request.path.parent / "data" / "trial_case_A.csv")
    signs = [np.where(pots["gutter"] == "no", 1, -1), np.where(pots["pot"] == "std", 1, -1)]
    return np.column_stack([np.ones(64), *signs, pots["pieces"] - 2.5]), pots["split"], pots["board"]


def test_laplace_equals_lme4(trial):  # lme4 1.1-31, case A, invented data (handbook trial.md 4.3)
    fit = random_intercept_logistic(*trial, nodes=1)
    assert fit.coefficients == pytest.approx([-5.96143541, -1.24561640, -1.24885909, 3.70482173], abs=2e-5)
    assert fit.log_likelihood == pytest.approx(-10.88660302, abs=1e-7)
    assert fit.board_sd == pytest.approx(0.747975, abs=2e-6)


def test_25_nodes_equal_lme4(trial):
    fit = random_intercept_logistic(*trial, nodes=25)
    assert fit.coefficients == pytest.approx([-6.0569, -1.26613, -1.27140, 3.76520], abs=2e-5)
    assert fit.board_sd == pytest.approx(0.82697, abs=5e-6)


def test_the_likelihood_is_the_integral_it_claims_to_be(trial):
    x, y, board = trial
    fit = random_intercept_logistic(*trial)
    eta, sign = x @ fit.coefficients, np.where(y == 1, 1, -1)

    def of_board(name):
        here = (board == name).to_numpy()

        def at(u):
            return special.expit(sign[here] * (eta[here] + fit.board_sd * u)).prod() * stats.norm.pdf(u)

        return np.log(integrate.quad(at, -9, 9, epsabs=1e-14)[0])

    assert fit.log_likelihood == pytest.approx(sum(of_board(name) for name in board.unique()), abs=1e-9)


def test_separated_pots_are_refused():
    x = np.column_stack([np.ones(8), np.repeat([0, 1], 4)])
    with pytest.raises(ValueError, match="separated"):
        random_intercept_logistic(x, np.repeat([0, 1], 4), np.tile(["a", "b"], 4))
