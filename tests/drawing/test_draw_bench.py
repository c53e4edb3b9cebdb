"""The bench's drawing: heights to scale, numbers complete, readable, for any bench that can be built."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from typing import Any

import pytest
from drawn_plans import with_banks, with_nest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from svg_reading import filled, outside, overlapping, said, words

from wetfoot.drawing.bench import bench_svg
from wetfoot.drawing.svg import SOLUTION
from wetfoot.plan.checks import refusals


def test_every_number_a_builder_needs_is_there_with_its_unit() -> None:
    told = said(bench_svg(with_banks(2, microtube_length_m=0.3), "metric"))
    assert "20 pots in 2 banks" in " ".join(told)
    assert "tank: 1,000 L, 1 m deep when full, 20 L below the outlet; floor 1.1 m above ground" in told
    assert {"floor 1.1 m", "full 2.1 m", "ground 0"} <= set(told)
    for text in ("3.2 mm", "16 mm", "6 m", "4 mm", "0.3 m", "7 cm", "5 cm", "0.5 m", "level", "10 × standard", "33 %"):
        assert told.count(text) == 2, text
    assert told.count("0.55 m") == 4  # 1.1 m - 0.5 m - 5 cm: on the drawing and in the table, for both banks


def test_us_units() -> None:
    told = " ".join(said(bench_svg(with_banks(1), "US")))
    # 1000 L = 264.17 US gal; 0.55 m = 1.804 ft (NIST SP 811, appendix B)
    assert "264 gal" in told
    assert "1.8 ft" in told
    assert "at least 1 in" in told


def test_air_gap_of_the_hose() -> None:
    # ASME A112.1.2: twice the bore of the outlet, and not less than 1 inch (25 mm)
    told = said(bench_svg(with_banks(1), "metric"))
    assert any("two hose bores above the rim, at least 25 mm" in text for text in told)


def test_heights_are_to_scale() -> None:
    svg = bench_svg(with_banks(2), "metric")
    shapes = filled(svg, SOLUTION)
    tank = max(shapes, key=lambda shape: max(y for _, y in shape) - min(y for _, y in shape))
    full, floor = min(y for _, y in tank), max(y for _, y in tank)
    scale = floor - full  # the water is 1 m deep
    ground = floor + 1.1 * scale
    marks = [word for word in words(svg) if word.text == "ground 0"]
    assert marks[0].bottom - 0.22 * marks[0].size - 3.4 == pytest.approx(ground, abs=0.1)
    sumps = [shape for shape in shapes if shape is not tank]
    assert max(max(y for _, y in shape) for shape in sumps) == pytest.approx(ground - 0.5 * scale, abs=0.1)
    assert min(min(y for _, y in shape) for shape in sumps) == pytest.approx(ground - 0.55 * scale, abs=0.1)


def test_few_pots_on_a_short_board_are_drawn_in_their_true_places() -> None:
    plan = with_banks(1, pots=3, lateral_length_m=1.5)
    svg = bench_svg(plan.model_copy(update={"tank": plan.tank.model_copy(update={"volume_l": 200.0})}), "metric")
    assert any("Heights, pots and their spacing are to scale" in text for text in said(svg))
    assert not any(text.startswith("+") for text in said(svg))


def test_pots_left_out_are_counted() -> None:
    told = said(bench_svg(with_banks(1, pots=96), "metric"))
    left_out = next(int(text) for text in told if text.startswith("+"))
    assert 90 < left_out < 96
    assert any("widths and lengths are not" in text for text in told)


def test_many_banks_are_named_in_words() -> None:
    told = said(bench_svg(with_banks(100), "metric"))
    assert "Row 4" in told
    assert "Row 5" not in told
    assert "And 96 more banks, not drawn: 960 pots." in told


@pytest.mark.parametrize(
    ("slope", "far_end", "note"),
    [(0.002, "1.2 cm higher", "Slopes are drawn 5 times as steep."), (-0.1, "60 cm lower", "less steep")],
)
def test_a_slope_is_stated_and_its_exaggeration_too(slope: float, far_end: str, note: str) -> None:
    told = said(bench_svg(with_banks(1, board_slope=slope), "metric"))
    assert far_end in told
    assert any(note in text for text in told)


def test_a_level_board_needs_no_note() -> None:
    assert not any("Slopes" in text for text in said(bench_svg(with_banks(1), "metric")))


def test_hostile_names_are_shown_and_not_run() -> None:
    plan = with_banks(1).model_copy(update={"title": "<script>&"})
    bank = plan.banks[0].model_copy(update={"name": "<img src=x> & ]]>"})
    svg = bench_svg(plan.model_copy(update={"banks": (bank,)}), "metric")
    ET.fromstring(svg)
    assert "<script" not in svg
    assert "<img" not in svg
    assert "<img src=x> & ]]>" in said(svg)


def test_readable_at_the_text_width_of_a4() -> None:
    svg = bench_svg(with_banks(4), "metric")
    width = float(ET.fromstring(svg).attrib["viewBox"].split()[2])
    a4_less_margins_pt = (210 - 2 * 20) / 25.4 * 72
    assert min(word.size for word in words(svg)) * a4_less_margins_pt / width >= 9.0


BANK = st.fixed_dictionaries(
    {
        "pots": st.integers(1, 100_000),
        "board_height_m": st.floats(0, 19),
        "board_slope": st.one_of(st.just(0.0), st.floats(-0.1, 0.1)),
        "lateral_length_m": st.one_of(st.just(0.0), st.floats(0, 1000)),
        "gutter_fraction": st.floats(0, 1),
    }
)
TANK = st.fixed_dictionaries(
    {"volume_l": st.floats(1, 100_000), "water_depth_m": st.floats(0.01, 2), "base_height_m": st.floats(0, 20)}
)


@settings(max_examples=60, deadline=None)
@given(st.lists(BANK, min_size=1, max_size=6), TANK, st.floats(0, 0.9), st.sampled_from(["metric", "US"]))
def test_any_bench_that_can_be_built_can_be_drawn(
    banks: list[dict[str, Any]], tank: dict[str, float], unusable: float, system: Any
) -> None:
    base = with_nest()
    highest = max(bank["board_height_m"] for bank in banks)
    tank["base_height_m"] = min(20.0, highest + 0.06 + tank["base_height_m"] / 20)
    tank["unusable_l"] = unusable * tank["volume_l"]
    drawn = tuple(base.banks[0].model_copy(update={"name": f"B{i}", **bank}) for i, bank in enumerate(banks))
    plan = base.model_copy(update={"banks": drawn, "tank": base.tank.model_copy(update=tank)})
    assume(not [problem for problem in refusals(plan) if problem.where.startswith(("banks", "tank"))])
    svg = bench_svg(plan, system)
    assert outside(svg) == []
    assert overlapping(svg) == []
