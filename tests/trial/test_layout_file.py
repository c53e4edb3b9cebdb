"""A layout is kept in a file and read back unchanged; edits are told."""

import csv

import pytest
from trial_made_up import layout

from wetfoot.errors import WetfootError
from wetfoot.trial.designs import differences, draw
from wetfoot.trial.layout_file import read_layout, save_layout
from wetfoot.trial.recipe import Factor


@pytest.fixture
def kept(tmp_path):
    save_layout(layout(guards=1, blind=True), tmp_path / "layout.csv")
    return tmp_path / "layout.csv"


def edit(path, change):
    with path.open(newline="", encoding="utf-8-sig") as file:
        rows = list(csv.reader(file))
    change(rows)
    with path.open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows(rows)


@pytest.mark.parametrize("ending", ["csv", "xlsx"])
def test_a_layout_comes_back_unchanged_and_is_drawn_again(tmp_path, ending):
    odd = Factor('mix, "A"', ("=1+1", "-", "ü"))
    for drawn in (layout(guards=1, blind=True), layout(odd, blocks=12), layout(arrangement="neighbour")):
        save_layout(drawn, tmp_path / f"layout.{ending}")
        back = read_layout(tmp_path / f"layout.{ending}")
        assert back == drawn
        assert draw(back.recipe) == drawn


def test_an_edited_plot_counts_as_it_stands_and_is_told(kept):
    def other_pieces(rows):
        rows[2][8] = "4" if rows[2][8] != "4" else "1"

    edit(kept, other_pieces)
    back = read_layout(kept)
    (told,) = differences(back)
    assert "board 21B1L, position 2" in told
    assert back.plots[1].treatment[1] != layout(guards=1, blind=True).plots[1].treatment[1]


def test_a_level_or_plot_that_is_not_there_is_refused(kept):
    def wrong(rows):
        rows[2][8] = "9"
        rows[3][3] = rows[4][3]

    edit(kept, wrong)
    with pytest.raises(WetfootError) as refused:
        read_layout(kept)
    assert "pieces '9' is not a level" in str(refused.value)
    assert "stand there twice" in str(refused.value)


@pytest.mark.parametrize(
    "text", ["a,b\n1,2\n", "plot,recipe (do not edit)\n1,{}\n", "plot,recipe (do not edit)\n1,[1]\n", ""]
)
def test_what_is_no_layout_is_refused(tmp_path, text):
    (tmp_path / "other.csv").write_text(text)
    with pytest.raises(WetfootError):
        read_layout(tmp_path / "other.csv")


def test_a_layout_of_another_version_is_not_drawn_again(kept):
    edit(kept, lambda rows: rows[1].__setitem__(-1, rows[1][-1].replace('"version": 1', '"version": 2')))
    with pytest.raises(WetfootError, match="version 2"):
        differences(read_layout(kept))
