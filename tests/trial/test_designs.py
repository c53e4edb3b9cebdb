"""Layouts: what stands where, numbered along the walk, drawn again from the seed for ever."""

import hashlib
from collections import Counter
from itertools import groupby, pairwise, permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from trial_made_up import GUTTER, PIECES, POT, layout, recipe

from wetfoot.errors import WetfootError
from wetfoot.trial.designs import differences, draw
from wetfoot.trial.recipe import Factor


def boards(drawn):
    return [[plot for plot in plots if not plot.is_guard] for _, plots in groupby(drawn.plots, key=lambda p: p.board)]


def test_every_board_has_one_gutter_and_every_pot_treatment_once():
    drawn = layout()
    for plots in boards(drawn):
        assert len({plot.treatment[0] for plot in plots}) == 1
        assert sorted(plot.treatment[1:] for plot in plots) == sorted(recipe().treatments("pots"))
    for block in range(1, 5):
        assert sorted(plots[0].treatment[0] for plots in boards(drawn) if plots[0].block == block) == ["no", "yes"]


def test_plots_are_numbered_by_block_along_a_serpentine_walk():
    # trial handbook 9: block hundreds, boards in serpentine order
    drawn = layout()
    assert [plot.number for plot in boards(drawn)[0]] == list(range(101, 109))
    assert [plot.number for plot in boards(drawn)[1]] == list(range(116, 108, -1))
    assert [plot.number for plot in boards(drawn)[2]] == list(range(201, 209))
    assert drawn.recorded[0].pot == "21B1L1"
    assert next(p for p in drawn.recorded if p.pot == "21B1L3").label == "21B1L3B"  # trial handbook 9


def test_a_layout_is_the_same_on_every_version():
    # drawn once with this algorithm and kept: trap 14 of the trial handbook
    told = "".join(f"{p.number} {p.pot} {p.code} {p.treatment}\n" for p in layout(blind=True, guards=1).plots)
    assert (
        hashlib.sha256(told.encode()).hexdigest() == "941d91483c9779c6ea906b89d4b0a73b4bbe151f4ba5056c0bde28a2c8074e29"
    )


def test_the_draw_can_be_done_by_hand_from_the_stream():
    # version 1 as documented in draw: one board a block, so pots board by board get the handbook's first shuffles
    drawn = layout(Factor("dose", tuple("01234567")), seed="ginger-2024", blocks=2, boards_each=1)
    first, second = ([plot.treatment[0] for plot in plots] for plots in boards(drawn))
    assert first == list("34127056")
    assert second == list("07564132")


def test_other_seeds_give_other_layouts():
    assert len({layout(seed=f"{seed}").plots for seed in range(50)}) == 50


def test_treatments_fall_on_places_equally_often():
    # expectation of a fair draw: each of 2 levels on the first board in half of 400 draws; 5 sd of a binomial
    count = sum(layout(GUTTER, PIECES, seed=f"{seed}", blocks=2).plots[0].treatment[0] == "yes" for seed in range(400))
    assert abs(count - 200) < 5 * (400 * 0.25) ** 0.5


def test_a_latin_square_puts_every_treatment_once_in_every_position():
    for drawn in (layout(arrangement="latin"), layout(PIECES, POT, blocks=8, arrangement="latin")):
        columns = zip(*boards(drawn), strict=True)
        assert all(len({plot.treatment[-2:] for plot in column}) == 8 for column in columns)


def test_a_neighbour_square_balances_neighbours():
    pairs = Counter()
    for plots in boards(layout(arrangement="neighbour")):
        treatments = [plot.treatment[1:] for plot in plots]
        pairs.update(pairwise(treatments))
    assert pairs == dict.fromkeys(permutations(recipe().treatments("pots"), 2), 1)


def test_guard_pots_stand_at_both_ends_and_are_not_recorded():
    drawn = layout(guards=1)
    assert len(drawn.recorded) == 64
    assert len(drawn.plots) == 80
    guards = {plot.position for plot in drawn.plots if plot.is_guard}
    assert guards == {1, 10}


def test_blind_codes_are_drawn_by_lot_and_stand_for_one_treatment_each():
    open_, blind = layout(), layout(blind=True)
    for drawn in (open_, blind):
        pairs = {(plot.code, plot.treatment) for plot in drawn.recorded}
        assert {code for code, _ in pairs} == {f"T{i}" for i in range(1, 17)}
        assert len(pairs) == 16
    ordered = dict(zip(recipe().treatments(), [f"T{i}" for i in range(1, 17)], strict=True))
    assert {plot.treatment: plot.code for plot in open_.recorded} == ordered
    assert {plot.treatment: plot.code for plot in blind.recorded} != ordered


@settings(deadline=None, max_examples=40)
@given(
    st.integers(1, 12),
    st.integers(2, 5),
    st.integers(1, 3),
    st.integers(1, 3),
    st.integers(0, 2),
    st.booleans(),
    st.booleans(),
    st.text(min_size=1).filter(str.strip),
)
def test_every_design_is_balanced_and_numbered_without_gaps(blocks, n, times, each, guards, blind, gutter, seed):
    factors = [*([GUTTER] if gutter else []), Factor("dose", tuple(f"{i}" for i in range(n)))]
    asked = recipe(*factors, blocks=blocks, times=times, boards_each=each, guards=guards, blind=blind, seed=seed)
    drawn = draw(asked)
    counts = Counter((plot.block, plot.treatment) for plot in drawn.recorded)
    assert set(counts.values()) == {times * each}
    assert len(counts) == blocks * len(asked.treatments())
    numbers = [plot.number for plot in drawn.recorded]
    assert len(set(numbers)) == len(numbers) == asked.boards * asked.positions
    assert len({len(plot.pot) for plot in drawn.plots}) == 1
    assert len({plot.pot for plot in drawn.plots}) == len(drawn.plots)
    assert differences(drawn) == []


def test_a_set_may_spread_over_two_boards():
    drawn = layout(PIECES, POT, boards_per_set=2)
    assert len(boards(drawn)) == 8
    counts = Counter((plot.block, plot.treatment) for plot in drawn.recorded)
    assert set(counts.values()) == {1}
    assert len(counts) == 32


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (recipe(GUTTER, PIECES, blocks=3, arrangement="latin"), "multiple of 4 boards"),
        (recipe(Factor("d", ("1", "2", "3")), blocks=3, arrangement="neighbour"), "multiple of 6 boards"),
        (recipe(GUTTER, arrangement="latin"), "no factor is on pots"),
        (recipe(PIECES, times=2, arrangement="latin"), "each treatment once on every board"),
        (recipe(GUTTER, PIECES, boards_per_set=2), "together with a factor on boards"),
        (recipe(PIECES, boards_per_set=3), "do not spread evenly"),
        (recipe(Factor("d", ("1",))), "1 level"),
        (recipe(Factor("d", ("1", "1"))), "twice"),
        (recipe(PIECES, PIECES), "twice"),
        (recipe(Factor("block", ("1", "2"))), "means something else"),
        (recipe(blocks=0), "0"),
        (recipe(seed=" "), "there is none"),
        (recipe(PIECES, blocks=99, boards_each=24), "at most 5,000"),
        (recipe(PIECES, boards_each=25), "at most 24"),
    ],
)
def test_what_cannot_be_laid_out_is_refused_with_the_reason(asked, said):
    with pytest.raises(WetfootError, match=said):
        draw(asked)


def test_all_problems_are_told_at_once():
    with pytest.raises(WetfootError) as refused:
        draw(recipe(Factor("d", ("1",)), blocks=0, seed=""))
    assert len(refused.value.problems) == 3
