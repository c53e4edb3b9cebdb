"""The nest's drawing: to scale, complete, readable, for any nest that can be built."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from typing import Any

import pytest
from drawn_plans import vessel, with_nest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from svg_reading import filled, outside, overlapping, said, words

from wetfoot.drawing.cutaway import half_m
from wetfoot.drawing.nest import nest_svg, nest_volumes_l
from wetfoot.drawing.svg import MEDIUM, SOAKED, SOLUTION
from wetfoot.plan.checks import refusals
from wetfoot.plan.model import Nest, Plan

A5_WIDTH_PT = 148 / 25.4 * 72  # ISO 216


def nest_of(plan: Plan) -> Nest:
    return next(iter(plan.nests.values()))


def test_every_number_a_builder_needs_is_there_with_its_unit() -> None:
    told = said(nest_svg(with_nest(), "standard", "metric"))
    heights = {"set level 5 cm", "overflow 7 cm", "fill 30 cm", "basin rim 30 cm", "pot rim 32 cm", "dome top 15 cm"}
    across = {"basin 34 cm", "pot 31 cm", "dome 13 cm", "basin 27 cm", "pot 24 cm", "dome 17 cm"}
    assert heights | across | {"microtube 4 mm", "of peat-perlite 3:1", "20 to build"} <= {
        t.split(" · ")[0] for t in told
    }


def test_us_units() -> None:
    # an inch is 25.4 mm exactly
    told = said(nest_svg(with_nest(set_level_m=2 * 0.0254, overflow_height_m=3 * 0.0254), "standard", "US"))
    assert {"set level 2 in", "overflow 3 in", "basin 13.4 in"} <= set(told)
    assert not any(text.endswith((" cm", " mm", " L")) for text in told)


@pytest.mark.parametrize(("dome", "medium"), [(vessel(0.15, 0.19, 0.15), "7.21 L"), (None, "10.6 L")])
def test_volume_of_the_medium(dome: Any, medium: str) -> None:
    # handbook, medium.md, check nest: 7.20747 L with the dome, 10.62788 L without
    plan = with_nest(
        basin=vessel(0.25, 0.31, 0.24), pot=vessel(0.22, 0.28, 0.24), dome=dome, wall_m=0.0, fill_height_m=0.22
    )
    assert medium in said(nest_svg(plan, "standard", "metric"))


def test_what_it_takes_to_overflow_is_water_in_gap_dome_and_pores() -> None:
    # by hand: with straight walls the free part is rings of 2 cm height; the pores take no less than nothing and
    # no more than the whole medium between the levels
    plan = with_nest(
        basin=vessel(0.30, 0.30, 0.3), pot=vessel(0.24, 0.24, 0.3), dome=None, wall_m=0.0, fill_height_m=0.28
    )
    _, free, more = nest_volumes_l(plan, nest_of(plan))
    ring = 3.14159265 / 4 * (3.0**2 - 2.4**2)  # dm2
    assert free == pytest.approx(ring * 0.5, rel=1e-6)
    assert ring * 0.2 < more < ring * 0.2 + 3.14159265 / 4 * 2.4**2 * 0.2


def drawn_shapes(plan: Plan) -> tuple[list[tuple[float, float]], ...]:
    svg = nest_svg(plan, "standard", "metric")
    return filled(svg, SOLUTION)[0], filled(svg, MEDIUM)[0], filled(svg, SOAKED)[0]


def test_drawn_to_scale() -> None:
    plan = with_nest()
    nest = nest_of(plan)
    solution, medium, soaked = drawn_shapes(plan)
    foot = max(y for _, y in solution)
    scale = (foot - min(y for _, y in solution)) / nest.set_level_m
    assert foot - min(y for _, y in medium) == pytest.approx(scale * nest.fill_height_m, abs=0.03)
    assert foot - min(y for _, y in soaked) == pytest.approx(scale * nest.set_level_m, abs=0.03)
    level = half_m(nest.basin.frustum, nest.set_level_m)
    wide = sorted(x for x, _ in solution)
    assert wide[-1] - wide[0] == pytest.approx(2 * scale * level, abs=0.03)
    assert wide[-2] - wide[1] == pytest.approx(scale * nest.basin.bottom_diameter_m, abs=0.03)
    assert max(x for x, _ in medium) - min(x for x, _ in medium) == pytest.approx(
        2 * scale * half_m(nest.pot.frustum, nest.fill_height_m), abs=0.03
    )


def test_overflow_stands_over_the_level_as_in_the_plan() -> None:
    svg = nest_svg(with_nest(), "standard", "metric")
    # the dotted line that carries each height from its label to the nest
    dotted = [node for node in ET.fromstring(svg).iter() if node.get("stroke-dasharray") == "1 2"]
    ys = sorted((float(node.attrib["d"].split("L")[0].split()[1]) for node in dotted), reverse=True)
    bottom, level, overflow, dome = ys[:4]
    assert (overflow - bottom) / (level - bottom) == pytest.approx(7 / 5, abs=0.003)
    assert (dome - bottom) / (level - bottom) == pytest.approx(15 / 5, abs=0.005)


def test_readable_at_a5_width() -> None:
    svg = nest_svg(with_nest(), "standard", "metric")
    width = float(ET.fromstring(svg).attrib["viewBox"].split()[2])
    assert min(word.size for word in words(svg)) * A5_WIDTH_PT / width >= 9.0


def test_no_dome_is_drawn_where_there_is_none() -> None:
    told = said(nest_svg(with_nest(dome=None), "standard", "metric"))
    assert not any("dome" in text for text in told)


def test_a_hostile_name_is_shown_and_not_run() -> None:
    name = '<script>alert(1)</script> & "tall"'
    svg = nest_svg(with_nest(name), name, "metric")
    assert "<script" not in svg
    assert any(text.startswith("Nest <script>alert") for text in said(svg))


def test_an_unknown_nest_is_refused() -> None:
    with pytest.raises(KeyError):
        nest_svg(with_nest(), "no such nest", "metric")


@st.composite
def nests(draw: st.DrawFn) -> dict[str, Any]:
    """Draw the measures of a nest that fits together, from a yoghurt pot to a barrel."""
    wall = draw(st.floats(0, 0.02))
    pot = vessel(draw(st.floats(0.03, 1.2)), draw(st.floats(0.03, 1.2)), draw(st.floats(0.03, 1.9)))
    room = [2 * (wall + draw(st.floats(0.001, 0.2))) for _ in "bt"]
    basin_height = draw(st.floats(0.03, 1.9))
    widest = max(pot.bottom_diameter_m, pot.top_diameter_m)
    basin = vessel(widest + room[0], widest + room[1], basin_height)
    fill = pot.height_m * draw(st.floats(0.4, 1.0))
    overflow = min(fill, basin_height) * draw(st.floats(0.05, 0.95))
    level = overflow * draw(st.floats(0.05, 0.95))
    narrowest = min(pot.bottom_diameter_m, pot.top_diameter_m) - 2 * (wall + 0.006)
    dome = None
    if narrowest > 0.011 and fill > 0.03 and draw(st.booleans()):
        bottom, top = (0.01 + (narrowest - 0.01) * draw(st.floats(0, 1)) for _ in "bt")
        dome = vessel(bottom, top, 0.01 + (0.95 * fill - 0.01) * draw(st.floats(0, 1)))
    return {
        "basin": basin,
        "pot": pot,
        "dome": dome,
        "wall_m": wall,
        "set_level_m": level,
        "overflow_height_m": overflow,
        "fill_height_m": fill,
    }


@settings(max_examples=60, deadline=None)
@given(nests(), st.sampled_from(["metric", "US"]))
def test_any_nest_that_can_be_built_can_be_drawn(measures: dict[str, Any], system: Any) -> None:
    plan = with_nest(**measures)
    assume(not [problem for problem in refusals(plan) if problem.where.startswith("nests")])
    svg = nest_svg(plan, "standard", system)
    assert outside(svg) == []
    assert overlapping(svg) == []
