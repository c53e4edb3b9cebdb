"""The charts: what they say, that they are to scale, and that holes in the numbers do not break them."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import altair as alt
import numpy as np
import pvlib
import pytest
import typst
from drawn_plans import with_nest
from svg_reading import SVG

from wetfoot.answers.readings import Point
from wetfoot.drawing.charts import (
    chart_svg,
    ec_chart,
    level_chart,
    supply_chart,
    tank_chart,
    water_use_chart,
)
from wetfoot.plan.model import Plan
from wetfoot.season.ensemble import Band, Ensemble, run_ensemble
from wetfoot.weather.read import read_weather
from wetfoot.weather.seasons import seasons

RUNS = 5


@pytest.fixture(scope="module")
def plan() -> Plan:
    base = with_nest()
    crop = {"planting": date(2027, 3, 15), "harvest": date(2027, 11, 30), "dry_down_d": 21}
    tank = {"volume_l": 1000.0, "unusable_l": 20.0}
    return base.model_copy(
        update={"crop": base.crop.model_copy(update=crop), "tank": base.tank.model_copy(update=tank)}
    )


@pytest.fixture(scope="module")
def ensemble(plan: Plan) -> Ensemble:
    """A few runs through the typical year of Greensboro that pvlib carries (TMY3, station 723170)."""
    weather = read_weather(Path(pvlib.__file__).parent / "data" / "723170TYA.CSV")
    years = seasons(weather, plan.crop.planting, plan.crop.season_d, plan.site.latitude_deg, plan.site.elevation_m)
    return run_ensemble(plan, years, runs=RUNS)


def said(chart: alt.LayerChart) -> str:
    return " | ".join("".join(node.itertext()) for node in ET.fromstring(chart_svg(chart)).iter(f"{SVG}text"))


def rows(chart: alt.LayerChart) -> list[dict[str, Any]]:
    specification = chart.to_dict()
    tables = specification.get("datasets", {})
    layers = [tables.get(layer["data"].get("name")) or layer["data"]["values"] for layer in specification["layer"]]
    return [row for layer in layers for row in layer]


def marks(chart: alt.LayerChart, kind: str) -> list[dict[str, Any]]:
    return [layer for layer in chart.to_dict()["layer"] if layer["mark"]["type"] == kind]


def test_level_chart_names_what_it_shows(ensemble: Ensemble, plan: Plan) -> None:
    told = said(level_chart(ensemble, plan, 0, "metric"))
    for text in ("set level 5 cm", "overflow 7 cm", "0: below, the wick fails", "tops cut", "5 runs", "8 of 10"):
        assert text in told
    assert plan.banks[0].name in told
    assert "| cm" in told
    assert all(month in told for month in ("Apr", "Jul", "Nov"))
    assert "2027" in told


def test_rules_stand_where_the_plan_puts_them(ensemble: Ensemble, plan: Plan) -> None:
    svg = chart_svg(level_chart(ensemble, plan, 0, "metric"))
    dashed = [node for node in ET.fromstring(svg).iter(f"{SVG}line") if node.get("stroke-dasharray") == "4,2"]
    heights = sorted(float(re.findall(r"[-\d.]+", node.attrib["transform"])[1]) for node in dashed)
    overflow, level, bottom = heights
    assert (bottom - overflow) / (bottom - level) == pytest.approx(7 / 5, abs=0.02)


def test_level_and_ec_end_when_the_tops_are_cut(ensemble: Ensemble, plan: Plan) -> None:
    # 260 days from 15 March to 30 November, less 21 of dry-down: 239 days, the last one 8 November
    for chart in (level_chart(ensemble, plan, 0, "metric"), ec_chart(ensemble, plan, 0, "metric")):
        days = [row["day"] for row in rows(chart) if "high" in row and "day" in row]
        assert len(days) == 239
        assert days[-1] == "2027-11-08T00:00:00"
        assert any(row.get("text") == "tops cut" and row["day"] == "2027-11-09T00:00:00" for row in rows(chart))


def test_us_units(ensemble: Ensemble, plan: Plan) -> None:
    # 5 cm = 1.97 in; 1000 L = 264 US gal (NIST SP 811, appendix B)
    chart = level_chart(ensemble, plan, 0, "US")
    assert "set level 1.97 in" in said(chart)
    middles = [row["v"] for row in rows(chart) if row.get("what") == "middle"]
    inches = ensemble.level_m.middle[: len(middles), 0] / 0.0254
    np.testing.assert_allclose(middles, inches, atol=1e-4)
    assert "full 264 gal" in said(tank_chart(ensemble, plan, "US"))


def test_tank_ec_and_water_use_name_what_they_show(ensemble: Ensemble, plan: Plan) -> None:
    tank = said(tank_chart(ensemble, plan, "metric"))
    assert "full 1,000 L" in tank
    assert "outlet 20 L" in tank
    ec = said(ec_chart(ensemble, plan, 1, "metric"))
    keep = f"to keep: {plan.solution.ec_low_ms_cm:g} to {plan.solution.ec_high_ms_cm:g}"
    for text in ("free solution", "water in the medium", "mS/cm", keep):
        assert text in ec
    use = said(water_use_chart(ensemble, plan, "metric"))
    assert "20 pots" in use
    assert "L a day" in use


def test_medium_is_dashed_and_free_solution_is_not(ensemble: Ensemble, plan: Plan) -> None:
    # a second sign beside colour
    (line,) = marks(ec_chart(ensemble, plan, 0, "metric"), "line")
    scale = line["encoding"]["strokeDash"]["scale"]
    assert scale["domain"] == ["free solution", "water in the medium"]
    assert scale["range"][0] != scale["range"][1]


def test_readings_are_filled_and_doubtful_ones_hollow(ensemble: Ensemble, plan: Plan) -> None:
    start = plan.crop.planting
    readings = [
        Point(start + timedelta(days=7), 0.05),
        Point(start + timedelta(days=14), 0.06),
        Point(start + timedelta(days=21), 0.20, doubtful=True),
        Point(start + timedelta(days=28), float("nan")),
        Point(start - timedelta(days=1), 0.05),
        Point(start + timedelta(days=300), 0.05),
    ]
    chart = level_chart(ensemble, plan, 0, "metric", readings)
    sure, doubtful = marks(chart, "point")
    assert sure["mark"]["fill"] == sure["mark"]["stroke"]
    assert doubtful["mark"]["fill"] == "#ffffff"
    points = [row for row in rows(chart) if set(row) == {"day", "v"}]
    assert [row["v"] for row in points] == pytest.approx([5.0, 6.0, 20.0])
    assert chart.to_dict()["layer"][0]["encoding"]["y"]["scale"]["domain"][1] > 20.0
    assert "hollow: in doubt" in said(chart)
    assert "readings" not in said(level_chart(ensemble, plan, 0, "metric"))


def blank(band: Band, days: slice) -> Band:
    values = band.values.copy()
    values[:, days] = np.nan
    return Band(values)


@pytest.mark.parametrize("days", [slice(40, 60), slice(0, 1), slice(None)])
def test_holes_in_the_numbers_break_nothing(ensemble: Ensemble, plan: Plan, days: slice) -> None:
    holed = replace(
        ensemble,
        level_m=blank(ensemble.level_m, days),
        ec_free_ms_cm=blank(ensemble.ec_free_ms_cm, days),
        ec_medium_ms_cm=blank(ensemble.ec_medium_ms_cm, days),
        tank_l=blank(ensemble.tank_l, days),
        draw_l=blank(ensemble.draw_l, days),
    )
    charts = (
        level_chart(holed, plan, 0, "metric"),
        ec_chart(holed, plan, 0, "metric"),
        tank_chart(holed, plan, "metric"),
        water_use_chart(holed, plan, "metric"),
    )
    for chart in charts:
        svg = chart_svg(chart)
        ET.fromstring(svg)
        assert "NaN" not in svg
        assert "tops cut" in svg


def test_a_hostile_bank_name_is_shown_and_not_run(ensemble: Ensemble, plan: Plan) -> None:
    bank = plan.banks[0].model_copy(update={"name": "<script>alert(1)</script> & \x00"})
    svg = chart_svg(level_chart(ensemble, plan.model_copy(update={"banks": (bank,)}), 0, "metric"))
    ET.fromstring(svg)
    assert "<script" not in svg
    assert "&lt;script" in svg


def test_supply_chart_sets_the_range_against_the_pots_there_are() -> None:
    chart = supply_chart(48.2, 61.6, 80.0, 20)
    told = said(chart)
    assert "Pots needed: about 62" in told
    assert {"48", "80", "20", "needed", "on the bench"} <= set(told.split(" | "))
    ET.fromstring(chart_svg(supply_chart(0.0, 0.0, 0.0, 0)))


def test_every_chart_compiles_into_a_page(ensemble: Ensemble, plan: Plan, tmp_path: Path) -> None:
    charts = [level_chart(ensemble, plan, 0, "metric"), supply_chart(48, 62, 80, 20)]
    for index, chart in enumerate(charts):
        (tmp_path / f"{index}.svg").write_text(chart_svg(chart), "utf-8")
    (tmp_path / "page.typ").write_text("".join(f'#image("{index}.svg")\n' for index in range(len(charts))), "utf-8")
    pdf = typst.compile(str(tmp_path / "page.typ"))
    assert pdf.startswith(b"%PDF")
