"""The map of the bench leads to every page, whatever the plan."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest

from wetfoot.answers.trace import Answer
from wetfoot.drawing.bench_map import bench_map_svg
from wetfoot.plan.example import example_text
from wetfoot.plan.file import changed_text, plan_from_text
from wetfoot.plan.model import Plan


def test_each_part_is_a_link_with_a_name(example_plan: Plan) -> None:
    svg = bench_map_svg(example_plan)
    root = ElementTree.fromstring(svg)
    links = [each for each in root.iter() if each.tag.endswith("}a")]
    led_to = {each.attrib["href"].split("#")[0] for each in links}
    assert {"/plan", "/water", "/solution", "/odds", "/trial", "/stock", "/records", "/sheets"} <= led_to
    assert all(each.attrib["aria-label"] for each in links)


def test_a_verdict_is_a_shape_and_a_word(example_plan: Plan) -> None:
    answers = [Answer("?", state, "", ()) for state in ("yes", "watch", "no", "yes")]
    svg = bench_map_svg(example_plan, answers)
    for word in ("holds", "watch", "does not hold"):
        assert f">{word}<" in svg


@pytest.mark.parametrize("name", ["<script>", "a very long name of a bank that goes on and on", "東の列"])
def test_any_name_stays_a_name(name: str) -> None:
    plan = plan_from_text(changed_text(example_text(), {"banks.0.name": name}))
    svg = bench_map_svg(plan)
    ElementTree.fromstring(svg)
    assert not re.search("<script", svg)
