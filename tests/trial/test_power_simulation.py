"""Power by simulation, complete and with lost pots."""

import math
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from wetfoot.trial.kenward_roger import f_test, kenward_roger
from wetfoot.trial.mixed import reml, same_group
from wetfoot.trial.power import comparisons, effect_power, pair_power
from wetfoot.trial.power_simulation import balanced_p_values, draw_trials, pot_rows, simulated_power
from wetfoot.trial.split_plot import SplitPlot
from wetfoot.trial.terms import build_model, factorial_terms, indicator

TRIAL = SplitPlot({"gutter": 2}, {"pieces": 4, "pot": 2})


def kenward_roger_p(layout, term):
    """Return an analysis of one trial with block fixed and board variance free, for lost pots."""
    rows = pot_rows(layout)
    names = [*layout.board_factors, *layout.pot_factors]

    def p_value(response):
        there = np.isfinite(response)
        factors = {name: rows[name][there].astype(str).astype(object) for name in names}
        blocks = indicator(rows["block"][there].astype(str).astype(object))
        model = build_model(factors, factorial_terms(names), blocks[:, :-1] - blocks[:, -1:])
        board = rows["board"][there].astype(str).astype(object)
        try:
            fit = reml(response[there], model.x, {"board": same_group(board)})
        except ValueError:
            return math.nan
        place = model.where[term]
        return f_test(kenward_roger(fit), np.eye(model.x.shape[1])[place]).p

    return p_value


def test_strata_tests_of_the_reference_trial(request):
    # R 4.2.2, aov with Error(block/board), case A complete (handbook trial.md 4.1; invented data).
    pots = pd.read_csv(request.path.parent / "data" / "trial_case_A.csv")
    rows = pot_rows(TRIAL)
    key = pots.set_index(["block", "gutter", "pieces", "pot"])["w_complete"]
    gutter, kind = np.array(["no", "yes"])[rows["gutter"]], np.array(["std", "air"])[rows["pot"]]
    y = key.loc[list(zip(rows["block"] + 1, gutter, rows["pieces"] + 1, kind, strict=True))].to_numpy()
    for factor, p in {"gutter": 0.0159033, "pieces": 2.5484e-14, "pot": 0.0651690}.items():
        assert balanced_p_values(TRIAL, y[None], factor)[0] == pytest.approx(p, rel=2e-5)


def test_every_pot_stands_on_a_board_of_its_block_with_every_pot_treatment():
    layout = SplitPlot({"gutter": 2, "wrap": 2}, {"pieces": 3}, blocks=3, boards_per_treatment=2, years=2)
    pots = pd.DataFrame(pot_rows(layout))
    assert len(pots) == layout.pots
    boards = pots.groupby("board")
    assert len(boards) == layout.boards
    assert (boards[["year", "block", "gutter", "wrap"]].nunique() == 1).all(axis=None)
    assert (boards["pieces"].nunique() == 3).all()
    assert pots["block"].nunique() == layout.years * layout.blocks


@pytest.mark.parametrize(
    "layout",
    [
        TRIAL,
        SplitPlot({"gutter": 2}, {"pieces": 4}, blocks=3, years=3),
        SplitPlot({"gutter": 2, "wrap": 2}, {"pieces": 2}, blocks=2, boards_per_treatment=2, pots_per_treatment=3),
    ],
)
def test_simulated_power_agrees_with_the_exact_one(layout):
    found = {part.name: part for part in comparisons(layout, 12.0, 4.0)}
    effects = {"gutter": [4.0, -4.0], "pieces": np.linspace(-4, 4, layout.pot_factors["pieces"])}
    for factor in effects:
        exact = effect_power(found[factor], list(effects[factor]))
        simulated = simulated_power(layout, factor, effects, 12.0, 4.0, trials=20000, seed=7)
        # Four binomial standard errors.
        assert abs(simulated.power - exact) < 4 * math.sqrt(exact * (1 - exact) / 20000)


def test_p_values_are_uniform_when_nothing_acts():
    response = draw_trials(TRIAL, {}, 12.0, 8.0, 4000, np.random.default_rng(3))
    for factor in ("gutter", "pieces", "pot"):
        assert stats.kstest(balanced_p_values(TRIAL, response, factor), "uniform").pvalue > 0.001


def test_an_analysis_that_is_handed_in_gives_the_strata_tests_when_nothing_is_lost():
    response = draw_trials(TRIAL, {"gutter": [5, -5]}, 12.0, 4.0, 12, np.random.default_rng(5))
    analysis = kenward_roger_p(TRIAL, ("gutter",))
    fast = balanced_p_values(TRIAL, response, "gutter")
    assert [analysis(trial) for trial in response] == pytest.approx(fast.tolist(), rel=1e-5)


def test_lost_pots_cost_power_but_less_than_a_block():
    effects = {"gutter": [7.5, -7.5]}
    simulated = simulated_power(
        TRIAL,
        "gutter",
        effects,
        12.0,
        4.0,
        lost_pots=6,
        p_value=kenward_roger_p(TRIAL, ("gutter",)),
        trials=200,
        seed=2,
    )
    full = pair_power(comparisons(TRIAL, 12.0, 4.0)[0], 15.0)
    one_block_less = pair_power(comparisons(replace(TRIAL, blocks=3), 12.0, 4.0)[0], 15.0)
    assert one_block_less < simulated.power < full + 3 * simulated.standard_error


def test_trials_that_cannot_be_analysed_are_counted_apart():
    def answer(response):
        return math.nan if np.isnan(response[0]) else 0.01

    simulated = simulated_power(TRIAL, "gutter", {}, 12.0, lost_pots=32, p_value=answer, trials=400, seed=1)
    assert simulated.power == 1.0
    assert simulated.analysed + simulated.not_estimable == 400
    assert abs(simulated.not_estimable - 200) < 40  # the first of 64 pots is among 32 lost ones in half of the trials


def test_the_same_seed_draws_the_same_trials():
    first, second, other = (
        simulated_power(TRIAL, "pieces", {"pieces": [3, 1, -1, -3]}, 12.0, trials=500, seed=seed) for seed in (4, 4, 5)
    )
    assert first == second
    assert first.power != other.power


def test_refusals():
    with pytest.raises(ValueError, match="needs p_value"):
        simulated_power(TRIAL, "gutter", {}, 12.0, lost_pots=3)
    with pytest.raises(ValueError, match="one value for each level"):
        simulated_power(TRIAL, "gutter", {"gutter": [1, 2, 3]}, 12.0)
    with pytest.raises(ValueError, match="not in the layout"):
        simulated_power(TRIAL, "wrap", {}, 12.0)
