"""Nests against formulas from outside: solids of revolution, quadrature, and a worked nest."""

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from wetfoot.water.medium import load_media, water_content
from wetfoot.water.nest import (
    Frustum,
    NestShape,
    free_solution_l,
    frustum_volume_l,
    held_between_l,
    level_table,
    medium_section_m2,
    medium_volume_l,
    medium_water_l,
    solution_per_mm_l,
)

POT = Frustum(0.11, 0.14, 0.24)
DOME = Frustum(0.095, 0.075, 0.15)
BASIN = Frustum(0.13, 0.16, 0.22)
NEST = NestShape(BASIN, POT, DOME, 0.0, 0.22)
BARE = NEST._replace(dome=None)
MIX = load_media()["peat-perlite 3:1"]


def test_a_frustum_is_a_cone_less_its_tip() -> None:
    """Any table of solids: a cone holds pi r^2 h / 3, a frustum is the whole cone less the tip cut off."""
    whole = math.pi * 0.14**2 * (0.24 * 0.14 / 0.03) / 3
    tip = math.pi * 0.11**2 * (0.24 * 0.11 / 0.03) / 3
    assert frustum_volume_l(0.11, 0.14, 0.24) == pytest.approx(1000 * (whole - tip), rel=1e-12)
    assert frustum_volume_l(0.1, 0.1, 0.2) == pytest.approx(1000 * math.pi * 0.1**2 * 0.2)


def test_the_worked_nest_has_its_sections_and_volumes() -> None:
    """Computed apart from this program (numpy, to the digits given): sections in cm2, volumes in L."""
    sections = medium_section_m2(NEST, [0.0, 0.05, 0.15 - 1e-9, 0.15, 0.22]) * 1e4
    assert sections == pytest.approx([96.604, 179.425, 344.054, 520.768, 593.957], abs=2e-3)
    assert medium_volume_l(NEST) == pytest.approx(7.20747, abs=5e-6)
    assert medium_volume_l(BARE) == pytest.approx(10.62788, abs=5e-6)


@pytest.mark.parametrize(
    ("medium", "dome", "at_2_5_8_cm"),
    [
        ("peat, fine", True, (5.36577, 5.68795, 5.98197)),
        ("peat-perlite 3:1", True, (4.16075, 4.50811, 4.88519)),
        ("peat-perlite 1:1", True, (3.63754, 3.97268, 4.34577)),
        ("peat-perlite-coir 1:1:1", True, (3.77920, 4.13185, 4.52368)),
        ("peat-perlite 3:1", False, (6.61952, 7.17205, 7.70875)),
    ],
)
def test_water_at_rest_in_the_worked_nest(medium: str, dome: bool, at_2_5_8_cm: tuple[float, ...]) -> None:
    """Computed apart from this program with unrounded parameters; the library's have four digits."""
    nest = NEST if dome else BARE
    held = [medium_water_l(nest, load_media()[medium], level) for level in (0.02, 0.05, 0.08)]
    assert held == pytest.approx(at_2_5_8_cm, rel=1e-4)


@given(level=st.floats(-3.0, 0.25), medium=st.sampled_from(sorted(load_media())))
def test_the_closed_form_agrees_with_quadrature(level: float, medium: str) -> None:
    """Reference: adaptive quadrature of A(z) theta(z - level) by scipy."""

    def density(z: float) -> float:
        return float(medium_section_m2(NEST, z)) * float(water_content(z - level, load_media()[medium]))

    edges = sorted({0.0, min(max(level, 0.0), 0.22), 0.15 - 1e-12, 0.15, 0.22})
    pieces = [quad(density, a, b, epsabs=1e-13, limit=200)[0] for a, b in pairwise(edges)]
    assert medium_water_l(NEST, load_media()[medium], level) == pytest.approx(1000 * sum(pieces), rel=1e-7)


def test_retention_points_behind_each_curve_come_back() -> None:
    """The points that each curve was fitted to stand beside it in the library, with their source."""
    import tomllib
    from importlib.resources import files

    raw = tomllib.loads(files("wetfoot.water").joinpath("media.toml").read_text("utf-8"))
    for name, row in raw.items():
        suction_m = np.array(row["points_kpa"]) * 0.101972
        assert water_content(suction_m, load_media()[name]) == pytest.approx(row["points"], abs=0.025), name


def test_free_solution_is_gap_plus_dome() -> None:
    gap = frustum_volume_l(0.13, 0.13 + 0.03 * 0.05 / 0.22, 0.05) - frustum_volume_l(
        0.11, 0.11 + 0.03 * 0.05 / 0.24, 0.05
    )
    inside_dome = frustum_volume_l(0.095, 0.095 - 0.02 * 0.05 / 0.15, 0.05)
    assert float(free_solution_l(NEST, 0.05)) == pytest.approx(gap + inside_dome, rel=1e-12)
    assert float(free_solution_l(NEST, -0.3)) == 0.0


def test_a_wall_takes_room_from_the_gap() -> None:
    thick = NEST._replace(wall_m=0.003)
    assert float(free_solution_l(thick, 0.05)) < float(free_solution_l(NEST, 0.05))
    assert medium_volume_l(thick) < medium_volume_l(NEST)


@given(
    st.floats(0.05, 0.3), st.floats(1.0, 1.4), st.floats(0.08, 0.5), st.floats(0.6, 0.95),
    st.sampled_from(sorted(load_media())), st.booleans(),
)  # fmt: skip
def test_more_level_always_holds_more(
    radius: float, flare: float, height: float, fill: float, medium: str, with_dome: bool
) -> None:
    pot = Frustum(radius, radius * flare, height)
    dome = Frustum(radius * 0.7, radius * 0.5, height * fill * 0.5) if with_dome else None
    basin = Frustum(radius * 1.1, radius * flare * 1.1, height)
    table = level_table(NestShape(basin, pot, dome, 0.002, height * fill), load_media()[medium])
    assert np.all(np.diff(table.level_m) > 0)
    assert np.all(np.diff(table.total_l) > 0)
    assert np.all(table.medium_l > 0)


def test_a_millimetre_and_a_stretch_of_level_agree() -> None:
    table = level_table(NEST, MIX)
    whole = held_between_l(table, 0.04, 0.06)
    assert whole == pytest.approx(sum(solution_per_mm_l(table, 0.0405 + mm / 1000) for mm in range(20)), rel=1e-3)
    assert solution_per_mm_l(table, 0.05) * 20 == pytest.approx(whole, rel=0.02)
