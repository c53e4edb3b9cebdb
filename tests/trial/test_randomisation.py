"""Randomisation tests, and how often the tests of a trial without any effect are significant.

Sources: the count of arrangements (4 blocks of 2 boards give 2^4, so no p below 2/16) is arithmetic; the p values of
case A, invented data, come from an independent program with 20000 shuffles; so do the type-I error rates at board SD
0.6 (2000 simulations each): 0.275 ignoring boards, 0.052 and, with six lost pots, 0.039 with the right test.
"""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from wetfoot.trial.fitting import Trial
from wetfoot.trial.kenward_roger import f_test, kenward_roger
from wetfoot.trial.mixed import reml, same_group
from wetfoot.trial.randomisation import false_alarms, randomisation_tests, shuffle_boards
from wetfoot.trial.roles import Roles
from wetfoot.trial.strata import decompose
from wetfoot.trial.terms import build_model, coded, factorial_terms, levels_of, sum_coding, term_name

DATA = Path(__file__).parent / "data"
ROLES = Roles(("gutter",), ("pieces", "pot"), "block", "board")


def case_a(column):
    table = pd.read_csv(DATA / "trial_case_A.csv").dropna(subset=[column])
    return Trial(table[column].to_numpy(float), {name: table[name].to_numpy() for name in ROLES.columns}, ROLES)


def test_case_a():
    found = {test.term: test for test in randomisation_tests(case_a("w_complete"), seed=11)}
    assert (found["gutter"].p, found["gutter"].smallest_p) == (0.125, 0.125)
    assert (found["gutter"].shuffles, found["gutter"].exact) == (16, True)
    assert (found["pieces"].p, found["pieces"].smallest_p) == (5e-5, 5e-5)
    published = {"pot": 0.0616, "gutter:pieces": 0.0730, "gutter:pot": 0.672, "pieces:pot": 0.148}
    for term, p in published.items():
        # both are counts of 20000 shuffles: four standard errors of their difference
        assert found[term].p == pytest.approx(p, abs=4 * np.sqrt(2 * p * (1 - p) / 20000))


def test_same_seed_same_answer():
    one, other, third = (randomisation_tests(case_a("w_complete"), seed, 499) for seed in (1, 1, 2))
    assert one == other != third


def test_with_lost_pots_the_shuffles_agree_with_least_squares_within_boards():
    # Boards fixed, each term after all others; F tests of ordinary least squares are close for normal data.
    trial = case_a("w")
    found = {test.term: test.p for test in randomisation_tests(trial, seed=3, draws=4999)}
    model = build_model(
        {f: trial.factors[f] for f in ("gutter", "pieces", "pot")}, factorial_terms(["gutter", "pieces", "pot"])
    )
    inside = [t for t in model.terms if t != ("gutter",)]
    boards = coded(trial.factors["board"], levels_of(trial.factors["board"]))
    within = build_model({f: trial.factors[f] for f in ("gutter", "pieces", "pot")}, inside, boards)
    adjusted = kenward_roger(reml(trial.y, within.x, {}))
    for term in inside:
        assert found[term_name(term)] == pytest.approx(f_test(adjusted, within.selector(term)).p, abs=0.035)
    assert found["gutter"] == 0.125


def test_twelve_block_years_allow_smaller_p():
    values = np.tile([0.0, 10.0], 12) + np.random.default_rng(0).standard_normal(24)
    gutter = sum_coding(2)[np.tile([0, 1], 12)]
    found = shuffle_boards(values, np.repeat(np.arange(12), 2), {"gutter": gutter}, seed=1)[0]
    assert found.exact
    assert found.shuffles == 4096
    assert found.smallest_p == found.p == pytest.approx(2 / 4096)


def test_many_arrangements_are_sampled():
    values = np.arange(40.0)
    gutter = sum_coding(2)[np.tile([0, 1], 20)]
    found = shuffle_boards(values, np.repeat(np.arange(20), 2), {"gutter": gutter}, seed=1, draws=999)[0]
    assert (found.exact, found.shuffles, found.smallest_p) == (False, 1000, 0.001)


def layout():
    block, board = np.repeat(np.arange(4), 16), np.repeat(np.arange(8), 8)
    factors = {"gutter": board % 2, "cell": np.tile(np.arange(8), 8)}
    return block, board, build_model(factors, factorial_terms(["gutter", "cell"]), coded(block, levels_of(block)))


@pytest.mark.parametrize("board_sd", [0.0, 0.6])
def test_gutter_test_is_honest_and_ignoring_boards_is_not(board_sd):
    block, board, model = layout()
    terms = {term_name(t): model.columns(t) for t in model.terms}
    trials = 8000
    right = decompose({"block": block, "board": board}, terms)[1]
    wrong = decompose({"block": block}, terms)[1]
    alarms = np.mean(stats.f.sf(false_alarms(right, board, board_sd, trials, 4)["gutter"], 1, 3) < 0.05)
    low, high = stats.binom.interval(0.999, trials, 0.05)
    assert low <= alarms * trials <= high
    ignoring = np.mean(stats.f.sf(false_alarms(wrong, board, board_sd, trials, 4)["gutter"], 1, 45) < 0.05)
    if board_sd:
        assert ignoring == pytest.approx(0.275, abs=4 * np.sqrt(0.275 * 0.725 * (1 / 2000 + 1 / trials)))


def test_gutter_test_with_lost_pots_is_not_liberal():
    block, board, _ = layout()
    rng = np.random.default_rng(20)
    cell = np.tile(np.arange(8), 8)
    trials, hits = 300, 0
    for _ in range(trials):
        keep = np.sort(rng.permutation(64)[6:])
        factors = {"gutter": (board % 2)[keep], "cell": cell[keep]}
        model = build_model(factors, [("gutter",), ("cell",)], coded(block[keep], levels_of(block[keep])))
        y = (0.6 * rng.standard_normal(8)[board] + rng.standard_normal(64))[keep]
        adjusted = kenward_roger(reml(y, model.x, {"board": same_group(board[keep])}))
        hits += f_test(adjusted, model.selector(("gutter",))).p < 0.05
    assert hits <= stats.binom.ppf(0.999, trials, 0.05)
    assert hits >= stats.binom.ppf(0.0001, trials, 0.039)
