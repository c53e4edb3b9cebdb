"""The best number of seed pieces, its interval and what is said about it."""

import math

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import optimize, stats

from wetfoot.trial.best_pieces import best_number, best_number_interval, best_pieces, multiplication, net_yield_g
from wetfoot.trial.pieces_bootstrap import bootstrap_best_numbers
from wetfoot.trial.response import competition_curve, pot_yield_g


@pytest.fixture(scope="module")
def pots(request):
    return pd.read_csv(request.path.parent / "data" / "trial_case_A.csv")


@pytest.fixture(scope="module")
def curve(pots):
    return competition_curve(pots["pieces"], pots["w_complete"])


# Case A, invented data, R 4.2.2 (handbook trial.md 8): p*, SE, profile interval, bootstrap interval of 2000.
CASES = {
    60: (5.53998, 0.69305, (4.29322, 7.06718), (4.34, 7.03)),
    120: (3.64355, 0.43116, (2.86119, 4.58570), (2.89, 4.56)),
}


@pytest.mark.parametrize("seed_g", CASES)
def test_case_a(curve, pots, seed_g):
    number, error, interval, resampled = CASES[seed_g]
    best = best_pieces(curve, seed_g)
    assert best.pieces == pytest.approx(number, rel=1e-5)
    assert best.standard_error == pytest.approx(error, rel=1e-5)
    # R interpolates its profile: see the next test, which has no such error.
    assert best.interval == pytest.approx(interval, rel=6e-5)
    draws = bootstrap_best_numbers(pots["pieces"], pots["w_complete"], seed_g)
    # The ends of 2000 resamples have a sampling error of about 0.04.
    assert np.quantile(draws, [0.025, 0.975]) == pytest.approx(resampled, abs=0.12)


@pytest.mark.parametrize("seed_g", CASES)
def test_profile_against_a_general_optimiser(curve, pots, seed_g):
    target = curve.residual_ss * (1 + stats.f.isf(0.05, 1, 62) / 62)  # the definition in the handbook, trial.md 8

    def excess(number):
        def residual(scaled):
            a = scaled[0] * 1e-4
            b = (math.sqrt(a / seed_g) - a) / number
            return pots["w_complete"] - pots["pieces"] / (a + b * pots["pieces"])

        return 2 * optimize.least_squares(residual, [3.4], xtol=1e-15, ftol=1e-15, gtol=1e-15).cost - target

    low, high = best_pieces(curve, seed_g).interval
    assert low == pytest.approx(optimize.brentq(excess, 2.0, 5.0 if seed_g == 60 else 3.5), rel=1e-6)
    assert high == pytest.approx(optimize.brentq(excess, 4.0 if seed_g == 120 else 6.0, 9.0), rel=1e-6)


def test_optimum_outside_the_tested_range_is_flagged(curve):  # trap 13 of the handbook, trial.md section 11
    best = best_pieces(curve, 60)
    assert best.beyond_tested
    assert best.best_tested == 4
    assert "not below 4" in best.words
    assert "did not reach the optimum" in best.words
    inside = best_pieces(curve, 120)
    assert not inside.beyond_tested
    assert "reaches beyond" in inside.words  # its interval ends at 4.6


def test_closed_forms_of_the_handbook():
    # Agronomy.md 2.7: net seed phi = .7225, c = .05 / .9, and money phi 12.716, c 1.7222; units of kg.
    a, b = 0.111317254, 0.166975881
    assert best_number(a, b, 0.05 / 0.9 / 0.7225) == pytest.approx(6.5391, abs=5e-5)
    assert best_number(a, b, 1.7222 / 12.716) == pytest.approx(4.7628, abs=5e-5)


@given(st.floats(1e-5, 5e-3), st.floats(1e-5, 5e-3), st.floats(1.0, 300.0))
@settings(deadline=None)
def test_the_best_number_is_where_the_net_yield_is_largest(a, b, seed_g):
    best = float(best_number(a, b, seed_g))
    around = np.linspace(0.0, 2.0 * best + 1.0, 4001)
    net = pot_yield_g(around, a, b) - seed_g * around
    assert pot_yield_g(best, a, b) - seed_g * best >= net.max() - 1e-9 * abs(net).max()


def test_dear_seed_and_pots_without_competition():
    assert best_number(0.02, 0.001, 60) == 0.0  # a lone piece gives 50 g and costs 60 g
    assert best_number(0.001, 0.0, 60) == math.inf


def test_an_interval_without_end_is_said_so():
    pieces = np.tile([1.0, 2, 3, 4], 4)
    yields = 1000 * pieces - 10 * pieces**2 + np.random.default_rng(1).normal(0, 200, 16)
    best = best_pieces(competition_curve(pieces, yields), 60)
    assert best.interval[1] == math.inf
    assert best.interval[0] > 4
    assert "no upper limit" in best.words
    assert best.beyond_tested


def test_dear_seed_has_an_interval_down_to_nothing():
    pieces = np.tile([1.0, 2, 3], 4)
    yields = pot_yield_g(pieces, 2e-2, 1e-3) + np.random.default_rng(3).normal(0, 3, 12)
    best = best_pieces(competition_curve(pieces, yields), 60)  # a lone piece gives about 48 g
    assert best.pieces == 0.0
    assert best.interval[0] == 0.0
    assert best.best_tested == 1


def test_fewer_than_were_tested():
    pieces = np.tile([2.0, 3, 4], 6)
    yields = 1000 + np.random.default_rng(2).normal(0, 20, 18)  # the second piece already adds nothing
    best = best_pieces(competition_curve(pieces, yields), 200)
    assert best.beyond_tested
    assert best.best_tested == 2
    assert "not above 2" in best.words


def test_whole_numbers_not_worse_than_the_best(curve):
    assert best_pieces(curve, 120).not_worse == (3, 4)
    assert best_pieces(curve, 60).not_worse == (4,)
    for seed_g in (30, 60, 120, 250):
        best = best_pieces(curve, seed_g)
        net = net_yield_g(curve, [1, 2, 3, 4], seed_g)
        assert best.best_tested == 1 + int(np.argmax(net))
        assert best.best_tested in best.not_worse


def test_numbers_judged_worse_are_worse_in_resampled_trials(pots):
    # Bootstrap of pots within each number of pieces: by how much four pieces beat the others at 120 g of seed each.
    rng, seed_g = np.random.default_rng(4), 120
    groups = [pots.loc[pots["pieces"] == p, "w_complete"].to_numpy() for p in (1, 2, 3, 4)]
    loss = []
    for _ in range(400):
        again = np.concatenate([rng.choice(group, 16) for group in groups])
        net = net_yield_g(competition_curve(np.repeat([1, 2, 3, 4], 16), again), [1, 2, 3, 4], seed_g)
        loss.append(net[3] - net[:3])
    low, high = np.quantile(loss, [0.025, 0.975], axis=0)
    kept = {p for p in (1, 2, 3) if low[p - 1] < 0 < high[p - 1]}
    assert kept | {4} == set(best_pieces(competition_curve(pots["pieces"], pots["w_complete"]), seed_g).not_worse)


def test_numbers_that_pay_the_same_in_truth_are_seldom_judged_worse():
    # a, b such that (a + 2b)(a + 4b) = a / s, so that two and four pieces pay the same; error of 5 % either way.
    a, seed_g = 3.5e-4, 120.0
    b = float(optimize.brentq(lambda b: (a + 2 * b) * (a + 4 * b) - a / seed_g, 1e-6, 1e-2))
    truth = pot_yield_g([2, 4], a, b) - seed_g * np.array([2, 4])
    assert truth[0] == pytest.approx(truth[1])
    rng, pieces, kept, trials = np.random.default_rng(13), np.repeat([2.0, 4], 8), 0, 100
    for _ in range(trials):
        fit = competition_curve(pieces, pot_yield_g(pieces, a, b) + rng.normal(0, 150, 16))
        kept += {2, 4} <= set(best_pieces(fit, seed_g).not_worse)
    assert stats.binomtest(kept, trials, 0.95).pvalue > 0.001


def test_profile_interval_covers_as_often_as_it_says():
    rng, truth, pieces = np.random.default_rng(12), (3.5e-4, 3.7e-4), np.repeat([1.0, 2, 3, 4], 8)
    best, covered = float(best_number(*truth, 120)), 0
    for _ in range(100):
        fit = competition_curve(pieces, pot_yield_g(pieces, *truth) + rng.normal(0, 220, 32))
        low, high = best_number_interval(fit, 120)
        covered += low <= best <= high
    assert stats.binomtest(covered, 100, 0.95).pvalue > 0.001


def test_multiplication_always_falls(curve):
    rate = multiplication(curve, [1, 2, 3, 4], 50.0)
    assert (np.diff(rate) < 0).all()
    assert rate[0] == pytest.approx(1390.77 / 50, abs=1e-3)  # fitted yield of one piece, R 4.2.2


def test_refusals(curve):
    with pytest.raises(ValueError, match="seed_g"):
        best_pieces(curve, 0)
    with pytest.raises(ValueError, match="piece_mass_g"):
        multiplication(curve, 1, 0.0)
    with pytest.raises(ValueError, match="two levels"):
        bootstrap_best_numbers([1, 1], [5, 6], 60)
