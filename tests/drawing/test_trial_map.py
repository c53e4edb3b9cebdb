"""The trial map: every pot in its place, nothing over the edge or over other words."""

import pytest
from svg_reading import outside, overlapping, said, words

from wetfoot.drawing.trial_map import trial_map
from wetfoot.trial.designs import draw
from wetfoot.trial.recipe import Factor, Recipe

GUTTER = Factor("gutter", ("no", "yes"), "boards")
PIECES = Factor("pieces", ("1", "2", "3", "4"))


def made(*factors, **changes):
    return draw(
        Recipe(**{"factors": factors or (GUTTER, PIECES), "blocks": 3, "seed": "invented", "year": 2026, **changes})
    )


LAYOUTS = [
    made(),
    made(guards=2, blind=True),
    made(GUTTER),
    made(PIECES, blocks=12, times=4),
    made(Factor("<b>&" + "w" * 60, ("x" * 90, "&amp;", "1", "2", "3"))),
]


@pytest.mark.parametrize("layout", LAYOUTS)
def test_nothing_lies_over_the_edge_or_over_other_words(layout):
    drawing = trial_map(layout, "A title & more " * 12)
    assert outside(drawing) == []
    assert overlapping(drawing) == []


@pytest.mark.parametrize("layout", LAYOUTS)
def test_every_recorded_pot_stands_on_the_map_once_and_every_guard(layout):
    text = said(trial_map(layout))
    for plot in layout.recorded:
        assert text.count(f"{plot.number}") == 1
    assert text.count("guard") == len(layout.plots) - len(layout.recorded)


def test_pots_stand_along_their_board_in_the_order_of_positions():
    layout = made()
    at = {word.text: word for word in words(trial_map(layout))}
    for plot, after in zip(layout.plots, layout.plots[1:], strict=False):
        here, there = at[f"{plot.number}"], at[f"{after.number}"]
        assert here.left < there.left if plot.board == after.board else here.top < there.top


def test_a_blind_map_has_codes_only():
    text = " ".join(said(trial_map(made(blind=True))))
    assert "T1" in text
    assert "gutter" not in text
    assert "gutter yes" in " ".join(said(trial_map(made(blind=True), blind=False)))


def test_the_key_tells_every_code():
    layout = made()
    text = said(trial_map(layout))
    for plot in layout.recorded:
        assert f"{plot.code}: gutter {plot.treatment[0]}, pieces {plot.treatment[1]}" in text
