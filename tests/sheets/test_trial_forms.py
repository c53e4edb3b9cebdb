"""Forms of a trial: every pot once, random within blocks or along the walk, no treatment told."""

import pytest
from sheet_reading import printed

from wetfoot.errors import WetfootError
from wetfoot.sheets.press import press
from wetfoot.sheets.trial_forms import scoring_form, weighing_list, weighing_order
from wetfoot.trial.designs import draw
from wetfoot.trial.recipe import Factor, Recipe
from wetfoot.trial.weights import LOSSES

RECIPE = Recipe(
    (Factor("gutter", ("no", "yes"), "boards"), Factor("pieces", ("1", "2", "3"))), 4, "invented", 2026, guards=1
)
LAYOUT = draw(RECIPE)


def rows(sheet):
    return [row for block in sheet.says["blocks"] for row in block["rows"]]


def test_the_weighing_order_is_random_within_blocks_and_comes_again():
    order = weighing_order(LAYOUT)
    assert sorted(order, key=lambda plot: plot.number) == list(LAYOUT.recorded)
    assert [plot.block for plot in order] == sorted(plot.block for plot in order)
    assert order != list(LAYOUT.recorded)
    assert order == weighing_order(LAYOUT)


def test_the_scoring_form_follows_the_walk():
    assert [row[2] for row in rows(scoring_form(LAYOUT))] == [f"{plot.number}" for plot in LAYOUT.recorded]


@pytest.mark.parametrize("form", [weighing_list, scoring_form])
def test_forms_print_every_pot_with_its_check_character_and_no_treatment(form, example_plan):
    sheet = printed(press(form(LAYOUT), example_plan))
    for plot in LAYOUT.recorded:
        assert sheet.flat.count(f"{plot.pot}{plot.label[-1]}{plot.number}") == 1
    for told in ("gutter", "pieces", *(plot.code for plot in LAYOUT.recorded)):
        assert told not in sheet.text
    text = " ".join(sheet.text.split())
    for loss in LOSSES:
        assert loss in text
    assert "Block 4" in text


def test_columns_are_those_that_were_asked_for(example_plan):
    sheet = scoring_form(LAYOUT, ["height, cm", "leaves"])
    assert sheet.says["heads"] == ["height, cm", "leaves", "remarks"]
    assert "height, cm" in printed(press(sheet, example_plan)).text
    assert "lb or oz" in printed(press(weighing_list(LAYOUT, "US"), example_plan)).text


@pytest.mark.parametrize("scores", [[], ["a"] * 7])
def test_a_form_without_columns_or_with_too_many_is_refused(scores):
    with pytest.raises(WetfootError, match="columns"):
        scoring_form(LAYOUT, scores)
