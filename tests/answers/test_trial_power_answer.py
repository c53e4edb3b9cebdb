"""How many blocks, and the layout before planting: values of the trial handbook, sections 2.1 and 7.3."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from wetfoot.answers.trial_layout import laid_out, read_factor, recipe_of, trial_layout
from wetfoot.answers.trial_power import PowerWish, read_power, trial_power
from wetfoot.errors import WetfootError
from wetfoot.trial.recipe import Factor

FACTORS = tuple(read_factor(typed) for typed in ("gutter=no,yes@boards", "pieces=1,2,3,4", "pot = std, air @ pots"))
CASE_A = Path(__file__).parents[1] / "trial" / "data" / "trial_case_A.csv"


def wish(**changes: object) -> PowerWish:
    typed = {"cv": "12 %", "board_cv": "4 %", "difference": "15 %", **changes}
    return read_power(FACTORS, **typed)  # type: ignore[arg-type]


def test_factors_are_read_as_typed() -> None:
    assert FACTORS[0] == Factor("gutter", ("no", "yes"), "boards")
    assert FACTORS[1] == Factor("pieces", ("1", "2", "3", "4"), "pots")
    assert FACTORS[2] == Factor("pot", ("std", "air"), "pots")


@pytest.mark.parametrize("typed", ["gutter", "=a,b", "gutter=a,b@sumps", "gutter="])
def test_a_factor_that_does_not_read_so_is_refused(typed: str) -> None:
    with pytest.raises(WetfootError, match="factor"):
        read_factor(typed)


def test_blocks_needed_are_those_of_the_handbook() -> None:
    # 7.3: 15 % at CV 12 %, power 80 %: 3 for pieces, 6 within one gutter, 11 for single cells, gutter 5 (board CV 4 %)
    needed = {each.comparison: each.blocks for each in trial_power(wish()).needed}
    assert needed["pieces"] == 3
    assert needed["pieces within one board treatment"] == 6
    assert needed["single cells of one board treatment"] == 11
    assert needed["gutter"] == 5
    at_8 = {each.comparison: each.blocks for each in trial_power(wish(board_cv="8 %")).needed}
    assert at_8["gutter"] == 8


def test_the_table_has_the_handbooks_power_and_lsd() -> None:
    # 7.3, 4 blocks: pieces .932 / 8.56 %; gutter .682 at board CV 4 %
    rows = {(row[0], row[2]): row for row in trial_power(wish()).tables[0].rows}
    assert rows[4, "pieces"][4:6] == pytest.approx((0.932, 8.56), abs=6e-4, rel=6e-4)
    assert rows[4, "gutter"][4] == pytest.approx(0.682, abs=6e-4)


def test_three_years_of_four_blocks() -> None:
    # 7.3: three years x 4 blocks, year fixed, 9 df: gutter power .9998 (board CV 4 %), .949 (8 %)
    rows = {row[2]: row for row in trial_power(wish(board_cv="8 %", blocks="4", years=3)).tables[0].rows}
    assert rows["gutter"][3:5] == pytest.approx((9, 0.949), abs=6e-4)


def test_words_say_how_many_and_json_holds_it() -> None:
    found = trial_power(wish())
    assert "take 5 blocks, 80 pots in all" in found.answer.words
    assert json.loads(json.dumps(found.record(), allow_nan=False, default=str))["answer"]["blocks_needed"]


def test_lost_pots_are_simulated_and_lower_power() -> None:
    found = trial_power(wish(blocks="4", lost=6))
    power = {name: s.power for name, s in found.simulated}
    assert power["pieces"] == pytest.approx(0.8, abs=0.12)  # 7.3: F test .819 with nothing lost; 200 trials, SE 0.03
    assert all(s.analysed + s.not_estimable == 200 for _, s in found.simulated)


def test_past_tables_give_the_coefficients() -> None:
    # handbook 2.7: CV of pots 10.556 % on complete case A; a little more with 6 pots lost (40391.6^.5 / 1866, 4.2 M3)
    found = read_power(FACTORS, "12 %", "4 %", "15 %", past=(CASE_A,))
    assert found.cv_pct == pytest.approx(100 * 40391.601**0.5 / 1866.0, rel=2e-3)
    assert found.board_cv_pct == 0.0
    assert "trial_case_A.csv" in found.said[0]


def test_all_that_is_wrong_is_told_at_once() -> None:
    with pytest.raises(WetfootError) as refused:
        read_power((Factor("gutter", ("no",)),), "0 %", "12 kg", "15 %", blocks="8-2")
    assert {problem.where for problem in refused.value.problems} == {"cv", "board-cv", "factor", "blocks"}


def test_the_layout_tells_its_degrees_of_freedom_before_planting() -> None:
    # handbook 2.1: r = 4, gutter 1 on 3; pot error 14 (r - 1) = 42; critical F(1, 3) = 10.13 (section 0)
    laid = trial_layout(recipe_of(FACTORS, 4, "invented", 2026))
    lines = {(line.stratum, line.term): line for line in laid.lines}
    assert lines["board", "gutter"].df_error == 3
    assert lines["pot", "error"].df == 42
    assert laid.skeleton_table.shown[1] == ["board", "gutter", "1", "3", "10.13"]
    assert any("10.13" in warning for warning in laid.answer.warnings)
    assert laid_out(laid.layout).layout == laid.layout
    assert len(laid.record()["answer"]["plots"]) == 64


def test_a_recipe_without_a_seed_or_with_odd_blocks_is_refused() -> None:
    with pytest.raises(WetfootError) as refused:
        recipe_of(FACTORS, 0, " ", 2026)
    assert {problem.where for problem in refused.value.problems} >= {"blocks", "seed"}
