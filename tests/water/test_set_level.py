"""Which level suits a nest, and what would help where none does."""

import math
from itertools import pairwise

import pytest

from wetfoot.water.medium import WettingHistory, load_media
from wetfoot.water.nest import Frustum, NestShape
from wetfoot.water.set_level import LevelChoice, Remedy, Wishes, level_choices, recommended_window, what_would_help
from wetfoot.water.wicking import Span

NEST = NestShape(Frustum(0.13, 0.16, 0.22), Frustum(0.11, 0.14, 0.24), Frustum(0.095, 0.075, 0.15), 0.0, 0.22)
MEDIA = load_media()
MIX = MEDIA["peat-perlite 1:1"]
WET: WettingHistory = "wetted from above once"
NEVER: WettingHistory = "never wetted"


def test_a_level_has_its_air_store_wicking_and_room() -> None:
    """Worked nest at 5 cm, mix 1:1, computed apart from this program: air, water in the medium, wicking limit."""
    (row, full) = level_choices(NEST, MIX, 0.08, WET, levels_m=[0.05, 0.08])
    assert 100 * row.mean_air == pytest.approx(29.73, abs=0.006)
    assert row.uptake_l_d.middle == pytest.approx(9.50, abs=0.0075)
    # free solution: gap between basin and pot, and the dome's inside; frustums 5 cm high, radii in cm
    ends = ((13, 13 + 15 / 22), (11, 11.625), (9.5, 9.5 - 2 / 3))
    basin, pot, dome = (math.pi * 5 / 3 * (a * a + a * b + b * b) for a, b in ends)
    free_l = (basin - pot + dome) / 1000
    assert row.store_l == pytest.approx(3.97268 + free_l, rel=1e-4)
    assert full.store_l - row.store_l == pytest.approx(row.room_l)
    assert full.room_l == 0.0


def test_each_centimetre_up_to_the_overflow_by_default() -> None:
    levels = [row.level_m for row in level_choices(NEST, MIX, 0.06, WET)]
    assert levels == pytest.approx([0.01, 0.02, 0.03, 0.04, 0.05, 0.06])


def test_more_level_wicks_more_and_breathes_less() -> None:
    rows = level_choices(NEST, MIX, 0.12, NEVER, levels_m=[0.02, 0.05, 0.08, 0.11])
    for low, high in pairwise(rows):
        assert high.uptake_l_d.middle > low.uptake_l_d.middle
        assert high.mean_air < low.mean_air
        assert high.store_l > low.store_l


def choice(level_cm: float, uptake: float, air: float) -> LevelChoice:
    return LevelChoice(level_cm / 100, air, 5.0, Span(uptake / 3, uptake, uptake * 3), 1.0)


def test_the_window_is_the_longest_run_that_wicks_and_breathes() -> None:
    rows = [
        choice(1, 2, 0.3), choice(2, 9, 0.3), choice(3, 2, 0.3), choice(4, 9, 0.25),
        choice(5, 9, 0.2), choice(6, 9, 0.1), choice(7, 9, 0.09),
    ]  # fmt: skip
    assert recommended_window(rows, Wishes(2.5)) == (0.04, 0.06)
    assert recommended_window(rows[::-1], Wishes(2.5)) == (0.04, 0.06)
    assert recommended_window(rows, Wishes(2.5, least_air=0.28)) == (0.02, 0.02)
    assert recommended_window(rows, Wishes(2.5, safety=4.0)) is None
    assert recommended_window([], Wishes(2.5)) is None


def by_name(remedies: tuple[Remedy, ...]) -> dict[str, Remedy]:
    return {remedy.what: remedy for remedy in remedies}


def test_a_top_watering_helps_a_mix_that_never_had_one() -> None:
    """Computed apart from this program: 1.13 L/day at 5 cm becomes 9.50 by a top watering, 2.70 by 3 cm more level."""
    found = by_name(what_would_help(NEST, MIX, 0.05, NEVER, Wishes(2.5)))
    assert found["one thorough watering from above"].uptake_l_d.middle == pytest.approx(9.50, abs=0.0075)
    assert found["one thorough watering from above"].enough
    assert found["level 3 cm higher"].uptake_l_d.middle == pytest.approx(2.70, abs=0.0055)
    assert not found["level 3 cm higher"].enough
    assert 1.13 < found["a dome two thirds the size"].uptake_l_d.middle <= found["no dome"].uptake_l_d.middle


def test_the_mildest_mix_that_is_enough_is_named() -> None:
    """Never wetted at 8 cm, 3 x 1.4 L/day: 3:1 carries 4.44 (worked nest), the 1:1 2.70; fine peat is not needed."""
    found = by_name(what_would_help(NEST, MIX, 0.08, NEVER, Wishes(1.4)))
    assert found["medium: peat-perlite 3:1"].enough
    only = by_name(what_would_help(NEST, MIX, 0.08, NEVER, Wishes(1.4), finer=[MEDIA["perlite"]]))
    assert not any(what.startswith("medium") for what in only)


def test_only_what_applies_is_offered() -> None:
    bare = NEST._replace(dome=None)
    offered = by_name(what_would_help(bare, MIX, 0.20, WET, Wishes(2.5), finer=[]))
    assert offered == {}


@pytest.mark.parametrize(("overflow", "levels", "named"), [
    (0.0, None, "overflow_m"), (0.3, None, "overflow_m"), (0.1, [0.05, 0.11], "levels_m"), (0.1, [-0.01], "levels_m"),
    (0.22, [0.22], "level_m"),
])  # fmt: skip
def test_levels_outside_the_nest_are_refused(overflow: float, levels: list[float] | None, named: str) -> None:
    with pytest.raises(ValueError, match=named):
        level_choices(NEST, MIX, overflow, WET, levels)
