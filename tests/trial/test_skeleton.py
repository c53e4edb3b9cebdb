"""The analysis before planting: degrees of freedom against textbook tables."""

import pytest
from trial_made_up import GUTTER, PIECES, POT, layout

from wetfoot.errors import WetfootError
from wetfoot.trial.recipe import Factor
from wetfoot.trial.skeleton import cautions, skeleton


def table(drawn):
    return {(line.stratum, line.term): (line.df, line.df_error) for line in skeleton(drawn)}


@pytest.mark.parametrize("r", [2, 3, 4, 6])
def test_split_plot_has_the_degrees_of_freedom_of_the_handbook(r):
    # trial handbook 2.1: block r-1 | gutter 1 | error a r-1 || P 3, A 1, G:P 3, G:A 1, P:A 3, G:P:A 3, error b 14(r-1)
    b = 14 * (r - 1)
    assert table(layout(blocks=r)) == {
        ("block", "error"): (r - 1, None),
        ("board", "gutter"): (1, r - 1),
        ("board", "error"): (r - 1, None),
        ("pot", "pieces"): (3, b),
        ("pot", "pot"): (1, b),
        ("pot", "gutter:pieces"): (3, b),
        ("pot", "gutter:pot"): (1, b),
        ("pot", "pieces:pot"): (3, b),
        ("pot", "gutter:pieces:pot"): (3, b),
        ("pot", "error"): (b, None),
    }


@pytest.mark.parametrize("arrangement", ["latin", "neighbour"])
def test_positions_take_seven_from_the_error_of_the_split_plot(arrangement):
    # trial handbook 7.2 b: position removable (7 df, error b 42 -> 35)
    found = table(layout(arrangement=arrangement))
    assert found["pot", "position"] == (7, 35)
    assert found["pot", "error"] == (35, None)
    assert found["board", "gutter"] == (1, 3)


def test_a_latin_square_has_the_textbook_degrees_of_freedom():
    # rows n-1, columns n-1, treatments n-1, error (n-1)(n-2): Cochran & Cox 1957, ch. 4 (from memory)
    for n in (4, 5, 6):
        found = table(layout(Factor("dose", tuple("123456"[:n])), blocks=n, arrangement="latin"))
        error = (n - 1) * (n - 2)
        assert found == {
            ("block", "error"): (n - 1, None),
            ("pot", "position"): (n - 1, error),
            ("pot", "dose"): (n - 1, error),
            ("pot", "error"): (error, None),
        }


def test_complete_blocks_have_the_textbook_degrees_of_freedom():
    # error (r-1)(t-1): Cochran & Cox 1957, ch. 4 (from memory)
    found = table(layout(PIECES, POT, blocks=5, boards_per_set=2))
    assert found["pot", "error"] == (4 * 7, None)
    assert ("board", "error") not in found


def test_a_gutter_alone_is_tested_between_boards_however_many_pots_stand_there():
    # trap 1 of the trial handbook: never more than boards - blocks - 1
    found = table(layout(GUTTER, times=6))
    assert found["board", "gutter"] == (1, 3)
    assert ("pot", "gutter") not in found


def test_all_degrees_of_freedom_add_up_to_pots_less_one():
    for drawn in (
        layout(),
        layout(arrangement="latin"),
        layout(PIECES, times=3, blocks=1),
        layout(boards_each=2, blocks=2),
    ):
        assert sum(df for df, _ in table(drawn).values()) == len(drawn.recorded) - 1


@pytest.mark.parametrize(
    ("drawn", "said"),
    [
        (layout(blocks=1), "between boards for the error of gutter"),
        (layout(PIECES, blocks=1), "between pots for the error of pieces"),
        (layout(GUTTER, times=9, blocks=1), "between boards for the error of gutter"),
        (
            layout(Factor("dose", ("1", "2")), blocks=2, arrangement="latin"),
            "between pots for the error of position, dose",
        ),
    ],
)
def test_a_design_without_error_is_refused_with_the_reason(drawn, said):
    with pytest.raises(WetfootError, match=said):
        skeleton(drawn)


def test_one_block_with_two_boards_of_each_can_be_tested():
    assert table(layout(GUTTER, PIECES, blocks=1, boards_each=2))["board", "gutter"] == (1, 2)


def test_few_degrees_of_freedom_are_told_with_the_f_they_ask_for():
    # F table: 5 % point of F(1, 3) is 10.13 (trial handbook 0.1)
    drawn = layout()
    assert any("gutter is tested with 3" in text and "10.13" in text for text in cautions(drawn, skeleton(drawn)))
    latin = layout(arrangement="latin")
    assert any("keep position in the model" in text for text in cautions(latin, skeleton(latin)))
