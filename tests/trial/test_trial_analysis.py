"""The whole analysis of one response, as a person asks for it.

Sources: cases A and C are invented data, their answers from R 4.2.2 and, for the unbounded fit, an independent program.
"""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wetfoot.errors import WetfootError
from wetfoot.trial.analysis import analyse_response
from wetfoot.trial.roles import Roles
from wetfoot.trial.terms import factorial_terms

DATA = Path(__file__).parent / "data"
ROLES = Roles(("gutter",), ("pieces", "pot"), "block", "board", quantitative=("pieces",))
A, C = "trial_case_A.csv", "trial_case_C_singular.csv"


def table(name, column):
    data = pd.read_csv(DATA / name)
    return data[column].to_numpy(float), {c: data[c].to_numpy() for c in ROLES.columns}


def test_complete_trial_is_analysed_by_strata():
    found = analyse_response(*table(A, "w_complete"), ROLES)
    assert found.method == "strata"
    gutter = found.term("gutter")
    assert (gutter.stratum, gutter.df, gutter.df_error) == ("board", 1, 3)
    assert gutter.p == pytest.approx(0.0159033, abs=5e-8)
    assert found.mean == pytest.approx(1863.4375)
    assert found.cv == pytest.approx(0.10556119, abs=1e-8)
    assert found.lost == ()
    assert [c.letters_tukey for c in found.comparisons if c.factor == "pieces"] == [("c", "b", "ab", "a")]


def test_lost_pots_go_to_reml_with_boards_free_to_fall_below_zero():
    found = analyse_response(*table(A, "w"), ROLES)
    assert found.method == "REML + KR"
    assert [found.lost[i] + 1 for i in range(6)] == [9, 10, 28, 45, 58, 60]
    gutter = found.term("gutter")
    assert (gutter.f, gutter.df_error, gutter.p) == pytest.approx((33.0238, 2.8922, 0.0115614), rel=1e-5)
    assert found.components["board"] == pytest.approx(-863.966, abs=1e-3)
    assert found.bounded["board"] == 0
    check = found.bounded_tests["gutter"]
    assert (check.f, check.df_error, check.p) == pytest.approx((28.379869, 2.910658, 0.0139529), rel=1e-5)
    assert any("6 of 64 pots have no value" in text for text in found.warnings)
    assert any("below zero (-864)" in text for text in found.warnings)
    assert any("gutter covers whole boards" in text for text in found.warnings)


def test_case_c():
    found = analyse_response(*table(C, "w_complete"), ROLES)
    assert found.term("gutter").p == pytest.approx(0.149378, abs=5e-7)
    published = {"pieces": 34.47329, "pot": 0.26586, "gutter:pieces": 1.78092, "gutter:pot": 0.75757}
    assert {name: found.term(name).f for name in published} == pytest.approx(published, abs=6e-6)
    lost = analyse_response(*table(C, "w"), ROLES)
    assert lost.term("gutter").p == pytest.approx(0.191975, rel=1e-5)
    assert lost.table_of_means("pieces").estimates.value == pytest.approx(
        [1442.98437, 1840.11977, 2030.93086, 2067.06959], abs=6e-6
    )
    assert lost.table_of_means("pieces").estimates.se == pytest.approx(
        [76.299522, 77.601450, 78.220553, 76.371155], rel=1e-5
    )
    assert lost.table_of_means("gutter").estimates.value == pytest.approx([1737.23418, 1953.31811], abs=6e-6)
    assert lost.table_of_means("gutter").estimates.df == pytest.approx([2.94, 3.03], abs=0.006)


@settings(deadline=None, max_examples=15)
@given(st.sets(st.integers(0, 63), min_size=1, max_size=8), st.sampled_from([A, C]))
def test_gutter_never_has_more_error_than_boards_less_blocks_less_one(lost, name):
    y, factors = table(name, "w_complete")
    y[list(lost)] = np.nan
    terms = (("gutter",), ("pieces",), ("pot",))
    found = analyse_response(y, factors, Roles(("gutter",), ("pieces", "pot"), "block", "board", terms=terms))
    assert found.term("gutter").df_error <= 8 - 4 - 1


def test_a_lost_board_leaves_gutter_to_the_other_blocks():
    y, factors = table(A, "w_complete")
    y[factors["board"] == factors["board"][0]] = np.nan
    found = analyse_response(y, factors, ROLES)
    assert found.term("gutter").df_error <= 2
    assert found.term("gutter").f > 0


def test_split_pots_that_were_weighed_count():
    data = pd.read_csv(DATA / A)
    kept = data["w_complete"].to_numpy(float)
    without = np.where(data["split"] == 1, np.nan, kept)
    factors = {c: data[c].to_numpy() for c in ROLES.columns}
    assert analyse_response(kept, factors, ROLES).lost == ()
    found = analyse_response(without, factors, ROLES)
    assert len(found.lost) == 8
    assert any("weigh split pots too" in text for text in found.warnings)


def test_interacting_factors_are_compared_within_each_other():
    y, factors = table(A, "w_complete")
    y = y + np.where((factors["gutter"] == "yes") & (factors["pieces"] == 1), 900, 0)
    found = analyse_response(y, factors, ROLES)
    assert [c.within for c in found.comparisons if c.factor == "pieces"] == ["gutter no", "gutter yes"]
    assert len([c for c in found.comparisons if c.factor == "gutter"]) == 4
    assert any("gutter and pieces interact" in text for text in found.warnings)


def test_empty_cell_is_refused_by_name():
    y, factors = table(A, "w_complete")
    y[(factors["gutter"] == "yes") & (factors["pieces"] == 4) & (factors["pot"] == "air")] = np.nan
    with pytest.raises(WetfootError, match="gutter yes, pieces 4, pot air: no pot with a value"):
        analyse_response(y, factors, ROLES)
    smaller = Roles(
        ("gutter",), ("pieces", "pot"), "block", "board", terms=factorial_terms(["gutter", "pieces", "pot"])[:-1]
    )
    assert analyse_response(y, factors, smaller).method == "REML + KR"


def test_a_board_factor_called_a_pot_factor_is_refused():
    with pytest.raises(WetfootError, match="gutter: has one level on every board"):
        analyse_response(*table(A, "w"), Roles((), ("gutter", "pieces", "pot"), "block", "board"))
    with pytest.raises(WetfootError, match="pot: has several levels on board"):
        analyse_response(*table(A, "w"), Roles(("gutter", "pot"), ("pieces",), "block", "board"))


def test_all_problems_are_told_at_once():
    y, factors = table(A, "w")
    with pytest.raises(WetfootError) as caught:
        analyse_response(y, factors, Roles(("roof",), ("pieces",), "bay", None))
    assert {p.where for p in caught.value.problems} == {"roof", "bay", "board"}


@pytest.mark.parametrize(
    ("roles", "where"),
    [
        (Roles(), "roles"),
        (Roles(("gutter",), ("pieces", "pieces"), "block", "board"), "pieces"),
        (Roles(("gutter",), ("pieces",), "block", "board", quantitative=("gutter",)), "gutter"),
        (Roles(("gutter",), ("pieces",), "block", "board", terms=(("weather",),)), "terms"),
        (Roles(("gutter",), ("pieces",), "block", "board", quantitative=("weather",)), "quantitative"),
    ],
)
def test_roles_that_do_not_fit_are_refused(roles, where):
    with pytest.raises(WetfootError) as caught:
        analyse_response(*table(A, "w"), roles)
    assert where in {p.where for p in caught.value.problems}


def test_responses_without_values_or_variation_are_refused():
    y, factors = table(A, "w_complete")
    with pytest.raises(WetfootError, match="no pot has a value"):
        analyse_response(np.full(64, np.nan), factors, ROLES)
    with pytest.raises(WetfootError, match="explained exactly"):
        analyse_response(np.full(64, 5.0), factors, ROLES)
    with pytest.raises(WetfootError, match="one label for every pot"):
        analyse_response(y[:-1], factors, ROLES)


def test_infinite_values_and_blank_labels_are_refused():
    y, factors = table(A, "w_complete")
    blank = factors["gutter"].astype(object)
    blank[3] = None
    with pytest.raises(WetfootError) as caught:
        analyse_response(np.where(np.arange(64) == 2, np.inf, y), factors | {"gutter": blank}, ROLES)
    assert {p.where for p in caught.value.problems} == {"response", "gutter"}


def test_single_block_tests_pots_but_not_boards():
    y, factors = table(A, "w_complete")
    here = factors["block"] == factors["block"][0]
    found = analyse_response(y[here], {n: v[here] for n, v in factors.items()},
                             Roles(("gutter",), ("pieces",), "block", "board"))  # fmt: skip
    assert found.term("gutter").f is None
    assert found.term("pieces").f > 1
    assert any("gutter cannot be tested" in text for text in found.warnings)
    assert not any("gutter" in t.factors for t in found.means)


def test_confounded_interaction_is_tested_between_blocks():
    data = pd.read_csv(DATA / "npk.csv")
    factors = {c: data[c].to_numpy() for c in ("block", "n", "p", "k")}
    found = analyse_response(data["yield"].to_numpy(float), factors, Roles((), ("n", "p", "k"), "block"))
    assert found.method == "strata"
    assert (found.term("n:p:k").stratum, found.term("n:p:k").p) == ("block", pytest.approx(0.52524, abs=5e-6))
    assert found.term("n").p == pytest.approx(0.0043718, abs=5e-8)
    lost = analyse_response(
        np.where(data.index == 3, np.nan, data["yield"]), factors, Roles((), ("n", "p", "k"), "block")
    )
    assert lost.term("n:p:k").f is None
    assert lost.term("n").df_error == pytest.approx(11)


def test_completely_randomised_pots():
    data = pd.read_csv(DATA / "plantgrowth.csv")
    found = analyse_response(data["weight"].to_numpy(), {"group": data["group"].to_numpy()}, Roles((), ("group",)))
    # F and p of R's worked example
    assert found.term("group").f == pytest.approx(4.84609, abs=5e-6)
    assert found.term("group").p == pytest.approx(0.01591, abs=5e-6)
    assert list(found.components) == ["pot"]


def test_numbers_compared_as_names_are_pointed_out():
    found = analyse_response(*table(A, "w_complete"), Roles(("gutter",), ("pieces", "pot"), "block", "board"))
    assert any("pieces has numbers for levels" in text for text in found.warnings)
    assert found.contrasts == ()


def test_blocks_may_reuse_board_names():
    y, factors = table(A, "w")
    left = np.array([label[-1] for label in factors["board"]])
    found = analyse_response(y, factors | {"board": left}, ROLES)
    assert found.term("gutter").p == pytest.approx(0.0115614, rel=1e-5)


def test_variance_that_runs_to_its_edge_is_held_and_said():
    # Two fifths of invented pots lost: boards with uneven numbers of pots let the likelihood rise without end.
    block, board, pot = (a.ravel() for a in np.indices((2, 2, 6)))
    rng = np.random.default_rng(6)
    y = 10 + rng.standard_normal(24)
    y[rng.random(24) < 0.4] = np.nan
    factors = {"block": block, "board": board, "pieces": pot // 2 + 1}
    found = analyse_response(y, factors, Roles((), ("pieces",), "block", "board"))
    assert found.components == found.bounded
    assert found.components["board"] >= 0
    assert any("do not pin down" in text for text in found.warnings)
    assert 0 < found.term("pieces").p < 1
