"""What a nest wicks up in a day: a worked nest, a second integration by scipy, and what must always hold."""

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp

from wetfoot.water import upward_flow
from wetfoot.water.conductivity_curve import conductivity_m_d
from wetfoot.water.medium import WettingHistory, load_media, water_content
from wetfoot.water.nest import Frustum, NestShape, medium_section_m2
from wetfoot.water.nest_column import nest_column, root_share_above, section_function
from wetfoot.water.upward_flow import Column, height_path, largest_factor
from wetfoot.water.wicking import (
    largest_uptake_l_d,
    suction_at_top_kpa,
    suction_profile,
    suction_span_kpa,
    uptake_span_l_d,
)

NEST = NestShape(Frustum(0.13, 0.16, 0.22), Frustum(0.11, 0.14, 0.24), Frustum(0.095, 0.075, 0.15), 0.0, 0.22)
BARE = NEST._replace(dome=None)
MEDIA = load_media()
M_PER_KPA = 0.101972
WET: WettingHistory = "wetted from above once"
NEVER: WettingHistory = "never wetted"

# The worked nest, 5 cm of solution, 10 kPa, roots in the top 10 cm: L/day, computed apart from this program (numpy,
# fixed steps over the dome's crown, which leaves an error of up to 0.1 %). Last column: never wetted, at 2, 5 and 8 cm.
WORKED = [
    ("peat, fine", 19.6, 32.8, (1.50, 3.19, 6.75)),
    ("peat, coarse", 21.7, 30.9, None),
    ("peat-perlite 3:1", 15.17, 21.47, (0.90, 1.87, 4.44)),
    ("peat-perlite 1:1", 9.50, 13.17, (0.54, 1.13, 2.70)),
    ("peat-perlite-coir 1:1:1", 9.12, 12.58, (0.48, 1.01, 2.47)),
    ("coir", 8.64, 11.81, (0.40, 0.87, 2.18)),
    ("pine bark", 2.74, 3.80, (0.18, 0.35, 0.83)),
    ("perlite", 1.00, 1.36, None),
]


@pytest.mark.parametrize(("name", "dome", "bare", "never"), WORKED)
def test_the_worked_nest_wicks(name: str, dome: float, bare: float, never: tuple[float, ...] | None) -> None:
    rounding = 0.05 if name.startswith("peat, ") else 0.0075  # half the last digit, and the error of those steps
    assert largest_uptake_l_d(NEST, MEDIA[name], 0.05, WET) == pytest.approx(dome, abs=rounding)
    assert largest_uptake_l_d(BARE, MEDIA[name], 0.05, WET) == pytest.approx(bare, abs=rounding)
    if never:
        found = [largest_uptake_l_d(NEST, MEDIA[name], level, NEVER) for level in (0.02, 0.05, 0.08)]
        assert found == pytest.approx(never, abs=0.0055)


def test_what_one_unit_of_conductivity_wicks() -> None:
    """Per cm/day at 1 kPa, mix 1:1 at 2, 5 and 8 cm: computed apart from this program."""
    found = [largest_uptake_l_d(NEST, MEDIA["peat-perlite 1:1"], level, WET) / 30 for level in (0.02, 0.05, 0.08)]
    assert found == pytest.approx([0.159, 0.317, 0.687], abs=6e-4)


@pytest.mark.parametrize(
    ("name", "suctions"),
    [
        ("peat-perlite 3:1", (1.667, 1.705, 1.736, 1.769, 2.131)),
        ("peat-perlite 1:1", (1.667, 1.730, 1.784, 1.846, 3.093)),
        ("pine bark", (1.667, 1.961, 2.422, 4.178, math.inf)),
    ],
)
def test_suction_at_the_top_of_the_worked_nest(name: str, suctions: tuple[float, ...]) -> None:
    """kPa at 0, 1, 1.75, 2.5 and 7.85 L/day: computed apart from this program, as above."""
    found = [suction_at_top_kpa(NEST, MEDIA[name], 0.05, uptake, WET) for uptake in (0.0, 1.0, 1.75, 2.5, 7.85)]
    assert found == pytest.approx(suctions, rel=7e-4)


def test_thirty_kpa_adds_next_to_nothing() -> None:
    """The limit is a cliff: computed apart from this program, under 2 % for every medium."""
    for medium in MEDIA.values():
        ten, thirty = (largest_uptake_l_d(NEST, medium, 0.05, WET, limit_kpa=limit) for limit in (10.0, 30.0))
        assert 1.0 < thirty / ten < 1.02


@pytest.mark.parametrize(("name", "uptake"), [("peat-perlite 1:1", 7.85), ("pine bark", 2.5), ("peat, fine", 15.0)])
@pytest.mark.parametrize("nest", [NEST, BARE], ids=["dome", "bare"])
def test_a_second_integration_agrees(name: str, uptake: float, nest: NestShape) -> None:
    """Reference: ds/dz = 1 + Q / (A K) by scipy's DOP853 over height, part by part, with its own roots."""
    medium, foot, crown, top = MEDIA[name], 0.12, 0.15, 0.22

    def section(z: float) -> float:
        return float(medium_section_m2(nest, min(z, top)))

    def part(low: float, high: float) -> float:
        return float(quad(section, low, high, points=[crown], epsabs=1e-13)[0])

    whole = part(foot, top)

    def slope(z: float, s: np.ndarray) -> float:
        above = 1.0 if z <= foot else part(z, top) / whole
        return 1 + uptake / 1000 * above / (section(z) * float(conductivity_m_d(s[0], medium)))

    suction = np.array([-0.05])
    for low, high in pairwise((0.0, 0.05, foot, crown, top)):
        end = high - 1e-12 if high == crown else high
        suction = solve_ivp(slope, (low, end), suction, method="DOP853", rtol=1e-7, atol=1e-10).y[:, -1]
    found = suction_at_top_kpa(nest, medium, 0.05, uptake, WET)
    assert found == pytest.approx(suction[0] / M_PER_KPA, rel=2e-5)


@pytest.mark.parametrize("height", [0.03, 0.07, 0.11, 0.13, 0.16, 0.20])
def test_what_flows_through_a_height_is_what_the_roots_above_take(height: float) -> None:
    """Conservation: A K (ds/dz - 1), from the suctions around a height, is the uptake times the roots' volume above."""
    medium, uptake = MEDIA["peat-perlite 1:1"], 7.85
    column = nest_column(NEST, medium, uptake, 0.10)
    low, middle, high = (upward_flow.suction_at_height_m(column, -0.05, height + shift) for shift in (-1e-4, 0.0, 1e-4))
    assert low is not None
    assert middle is not None
    assert high is not None
    conductance = float(medium_section_m2(NEST, height)) * float(conductivity_m_d(middle, medium))
    flow = 1000 * conductance * ((high - low) / 2e-4 - 1)
    roots = [quad(lambda z: float(medium_section_m2(NEST, z)), a, 0.22, points=[0.15])[0] for a in (0.12, height)]
    assert flow == pytest.approx(uptake * min(roots[1] / roots[0], 1.0), rel=1e-4)


@given(st.floats(0.0, 0.22), st.booleans())
def test_plain_floats_give_the_section_of_the_nest(height: float, dome: bool) -> None:
    nest = NEST._replace(wall_m=0.002) if dome else BARE
    assert section_function(nest)(height) == pytest.approx(float(medium_section_m2(nest, height)), rel=1e-12)


def test_roots_are_shared_out_from_one_to_none() -> None:
    share = root_share_above(NEST, 0.10)
    assert [share(z) for z in (-1.0, 0.12, 0.22, 0.3)] == pytest.approx([1.0, 1.0, 0.0, 0.0])
    assert root_share_above(NEST, 5.0)(0.05) == pytest.approx((7.20747 - 0.69021) / 7.20747, abs=1e-5)


shapes = st.builds(
    lambda radius, flare, fill, dome: NestShape(
        Frustum(radius * 1.2, radius * flare * 1.2, 0.25), Frustum(radius, radius * flare, 0.25),
        Frustum(radius * 0.8, radius * 0.6, 0.25 * fill * 0.6) if dome else None, 0.002, 0.25 * fill,
    ),
    st.floats(0.06, 0.2), st.floats(1.0, 1.4), st.floats(0.6, 0.95), st.booleans(),
)  # fmt: skip
names, histories = st.sampled_from(sorted(MEDIA)), st.sampled_from([WET, NEVER])


@settings(max_examples=15, deadline=None)
@given(shapes, names, histories, st.floats(0.0, 0.1))
def test_at_the_largest_uptake_the_top_stands_at_the_limit(
    nest: NestShape, name: str, history: WettingHistory, level: float
) -> None:
    uptake = largest_uptake_l_d(nest, MEDIA[name], level, history)
    assert suction_at_top_kpa(nest, MEDIA[name], level, 0.999 * uptake, history) < 10.0
    assert suction_at_top_kpa(nest, MEDIA[name], level, 1.001 * uptake, history) > 10.0


@settings(max_examples=15, deadline=None)
@given(shapes, names, histories, st.floats(0.0, 0.07))
def test_more_level_a_wetting_and_no_dome_never_wick_less(
    nest: NestShape, name: str, history: WettingHistory, level: float
) -> None:
    medium = MEDIA[name]
    now = largest_uptake_l_d(nest, medium, level, history)
    assert largest_uptake_l_d(nest, medium, level + 0.03, history) > now
    assert largest_uptake_l_d(nest, medium, level, WET) >= now
    assert largest_uptake_l_d(nest._replace(dome=None), medium, level, history) >= now * (1 - 1e-6)


def test_the_range_is_that_of_the_conductivity() -> None:
    """Reference: the limit computed anew with a third and three times the conductivity."""
    medium = MEDIA["coir"]
    span = uptake_span_l_d(NEST, medium, 0.05, NEVER)
    for found, factor in zip(span, (1 / 3, 1, 3), strict=True):
        other = replace(medium, k1_cm_d=30 * factor)
        assert found == pytest.approx(largest_uptake_l_d(NEST, other, 0.05, NEVER), rel=1e-6)
    low, middle, high = suction_span_kpa(NEST, medium, 0.05, 2.0, WET)
    assert 1.667 < low < middle < high
    assert high == pytest.approx(suction_at_top_kpa(NEST, medium, 0.05, 6.0, WET))


def test_the_profile_starts_at_the_floor_and_ends_at_the_top() -> None:
    profile = suction_profile(NEST, MEDIA["pine bark"], 0.05, 2.5, WET)
    assert (profile.height_m[0], profile.height_m[-1]) == pytest.approx((0.0, 0.22), abs=1e-6)
    assert profile.suction_kpa[0] * M_PER_KPA == pytest.approx(-0.05)
    assert profile.suction_kpa[-1] == pytest.approx(4.178, abs=1e-3)
    assert np.all(np.diff(profile.suction_kpa) > 0)
    dry = suction_profile(NEST, MEDIA["pine bark"], 0.05, 7.85, WET)
    assert dry.suction_kpa[-1] == pytest.approx(100.0)
    assert dry.height_m[-1] < 0.22


def test_without_uptake_the_medium_is_at_rest() -> None:
    for medium in MEDIA.values():
        suction = suction_at_top_kpa(NEST, medium, 0.05, 0.0, WET)
        assert suction * M_PER_KPA == pytest.approx(0.17, rel=1e-8)
        assert float(water_content(suction * M_PER_KPA, medium)) > medium.residual


def test_a_limit_below_rest_allows_nothing() -> None:
    assert largest_uptake_l_d(NEST, MEDIA["coir"], 0.05, WET, limit_kpa=1.6) == 0.0


@pytest.mark.parametrize(
    ("changes", "named"),
    [
        ({"level_m": -0.01}, "level_m"), ({"level_m": 0.22}, "level_m"), ({"limit_kpa": 0.0}, "limit_kpa"),
        ({"limit_kpa": math.nan}, "limit_kpa"), ({"root_depth_m": 0.0}, "root_depth_m"),
        ({"history": "damp"}, "history"),
        ({"nest": NEST._replace(dome=Frustum(0.12, 0.07, 0.15))}, "no medium beside it"),
        ({"nest": NEST._replace(dome=Frustum(0.09, 0.07, 0.22))}, "dome is 0.22 m high"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_by_name(changes: dict[str, object], named: str) -> None:
    given: dict[str, object] = {"nest": NEST, "medium": MEDIA["coir"], "level_m": 0.05, "history": WET}
    with pytest.raises(ValueError, match=named):
        largest_uptake_l_d(**(given | changes))  # type: ignore[arg-type]


def test_a_negative_uptake_is_refused() -> None:
    with pytest.raises(ValueError, match="uptake_l_d"):
        suction_at_top_kpa(NEST, MEDIA["coir"], 0.05, -1.0, WET)


def test_a_solver_that_cannot_finish_says_where_it_stood(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(upward_flow, "MOST_STEPS", 3)
    with pytest.raises(RuntimeError, match=r"no convergence in 3 steps.*reached .* m at height"):
        suction_at_top_kpa(NEST, MEDIA["coir"], 0.05, 1.0, WET)


def test_a_path_wants_finite_suctions_and_a_limit_above_rest() -> None:
    column = Column(lambda s: 1.0, lambda z: 1.0, lambda z: 0.0)
    with pytest.raises(ValueError, match="finite"):
        height_path(column, 0.0, math.inf)
    with pytest.raises(ValueError, match="passed at rest"):
        largest_factor(column, 0.0, 0.2, 0.1)
