"""What the levels are sensitive to, and shims that bring every pot to its level."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wetfoot.water.bench_parts import BankLines, Supply
from wetfoot.water.network import bench_levels
from wetfoot.water.shims import level_changes, shims

SUPPLY = Supply(0.55, 1.0, 1000.0, 0.019, 8.0)
BANK = BankLines(
    pots=24, set_level_m=0.05, board_height_m=0.0, lateral_bore_m=0.016, lateral_length_m=12.0, microtube_bore_m=0.003,
    microtube_length_m=0.3, valve_seat_m=0.0064, storage_l_m=60.0,
)  # fmt: skip


def test_each_change_in_its_size() -> None:
    """Handbook on hydraulics, 20 C: far pot 2.4509 mm below the sump with 3 mm, 8.6391 with 2, 1.4096 with 4; lateral
    of 13 mm 2.12855 for 0.92763 mm; boards count one to one; half a metre of head is 0.95 mm with a seat of 6.4 mm."""
    found = {change.what: 1e3 * change.lowest_change_m for change in level_changes([BANK] * 4, SUPPLY, 0.35)}
    assert found["as it is"] == 0.0
    assert found["far end of the board 1 cm high"] == pytest.approx(-10.0, abs=1e-9)
    assert found["microtubes of 2 mm"] == pytest.approx(2.4509 - 8.6391, rel=1e-3)
    assert found["microtubes of 4 mm"] == pytest.approx(2.4509 - 1.4096, rel=1e-3)
    assert found["lateral of 13 mm"] == pytest.approx(0.92763 - 2.12855, rel=1e-3)
    assert found["lateral of 20.4 mm"] == pytest.approx(0.92763 - 0.35102, rel=1e-3)
    assert found["tank half full"] == pytest.approx(-0.95 - 0.04, abs=0.03)  # and the float opens a little wider
    assert len(found) == 8


def test_a_change_that_dries_a_pot_says_so() -> None:
    low = replace(BANK, set_level_m=0.012)
    found = {change.what: change for change in level_changes([low], SUPPLY, 0.35)}
    assert found["as it is"].dry_pots == 0
    assert found["far end of the board 1 cm high"].dry_pots > 0


@settings(max_examples=25, deadline=None)
@given(st.lists(st.floats(-0.06, 0.06), min_size=24, max_size=24))
def test_shims_bring_every_pot_within_the_tolerance(board: list[float]) -> None:
    bank = replace(BANK, board_m=tuple(board))
    found = shims([bank], SUPPLY, 0.35, 0.003)
    shimmed = replace(bank, board_m=tuple((bank.profile_m + found.raise_m[0]).tolist()))
    depth = bench_levels([shimmed], SUPPLY, 0.35).banks[0].depth_m
    assert np.abs(depth - 0.05).max() <= 0.003
    assert depth == pytest.approx(found.depth_m[0], abs=1e-12)
    assert found.raise_m[0] / 0.001 == pytest.approx(np.round(found.raise_m[0] / 0.001), abs=1e-9)


def test_a_level_board_needs_no_shims() -> None:
    assert (shims([BANK], SUPPLY, 0.35, 0.004).raise_m[0] == 0).all()


def test_a_low_pot_is_raised_by_what_it_is_low() -> None:
    board = np.zeros(24)
    board[5] = -0.02
    found = shims([replace(BANK, board_m=tuple(board))], SUPPLY, 0.35, 0.004)
    assert found.raise_m[0][5] == pytest.approx(0.018, abs=0.0011)  # the level itself is 2 mm below the set level
    assert np.count_nonzero(found.raise_m[0]) == 1


def test_what_shims_cannot_mend_is_said() -> None:
    with pytest.raises(ValueError, match="tolerance_m"):
        shims([BANK], SUPPLY, 0.35, 0.0004)
