"""The chart of elements: all eight in tank and bank, to the season's own numbers, in the bank that is asked for."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from pathlib import Path
from typing import Any

import pvlib
import pytest

from wetfoot.drawing.charts import chart_svg
from wetfoot.drawing.element_charts import SHEET, element_chart
from wetfoot.plan.model import Plan
from wetfoot.season.ensemble import Ensemble, run_ensemble
from wetfoot.season.feed import ELEMENTS
from wetfoot.weather.read import read_weather
from wetfoot.weather.seasons import seasons


@pytest.fixture(scope="module")
def ensemble(example_plan: Plan) -> Ensemble:
    """A few runs through the typical year of Greensboro that pvlib carries (TMY3, station 723170)."""
    weather, crop = read_weather(Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"), example_plan.crop
    site = example_plan.site
    return run_ensemble(
        example_plan, seasons(weather, crop.planting, crop.season_d, site.latitude_deg, site.elevation_m), runs=5
    )


def panels(ensemble: Ensemble, plan: Plan, bank: int) -> list[list[list[dict[str, Any]]]]:
    """Return the rows of each layer of each panel."""
    whole = element_chart(ensemble, plan, bank, "metric").to_dict()
    rows = whole["datasets"]
    return [[rows[layer["data"]["name"]] for layer in panel["layer"]] for panel in whole["concat"]]


def test_every_element_has_a_panel_and_ballast_is_named(example_plan: Plan, ensemble: Ensemble) -> None:
    svg = chart_svg(element_chart(ensemble, example_plan, 0, "metric", SHEET, across=4))
    said = {"".join(node.itertext()) for node in ET.fromstring(svg).iter("{http://www.w3.org/2000/svg}text")}
    assert {"N", "P", "K", "Ca", "Mg", "S", "Na (ballast)", "Cl (ballast)"} <= said
    assert any(example_plan.banks[0].name in words and "mg/L" in words for words in said)


@pytest.mark.parametrize("bank", [0, 1])
def test_band_and_lines_are_the_seasons_numbers(example_plan: Plan, ensemble: Ensemble, bank: int) -> None:
    day, at = 120, ELEMENTS.index("Na")
    band, lines = panels(ensemble, example_plan, bank)[at]
    low, middle, high = ensemble.elements_mg_l.values[:, day, bank, at]
    assert band[day]["v"] == pytest.approx(low, abs=1e-3)
    assert band[day]["high"] == pytest.approx(high, abs=1e-3)
    on_day = [row for row in lines if row["day"] == band[day]["day"]]
    drawn = {row["what"]: row["v"] for row in on_day}
    assert drawn["bank"] == pytest.approx(middle, abs=1e-3)
    assert drawn["tank"] == pytest.approx(ensemble.tank_elements_mg_l.values[1, day, at], abs=1e-3)


def test_the_chart_ends_where_the_tops_are_cut(example_plan: Plan, ensemble: Ensemble) -> None:
    for panel in panels(ensemble, example_plan, 0):
        assert len(panel[0]) == example_plan.crop.tops_cut_d
