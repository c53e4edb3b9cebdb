"""The map of many sites: distances in proportion, no bad verdict hidden, told without colour. Sites are invented."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from math import cos, radians
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wetfoot.drawing.charts import chart_svg
from wetfoot.drawing.sites_chart import MARKS, MOST_POINTS, gathered, sites_chart, spans


def site(longitude_deg: float, latitude_deg: float, verdict: str = "yes") -> dict[str, Any]:
    return {"longitude_deg": longitude_deg, "latitude_deg": latitude_deg, "verdict": verdict}


degrees = st.tuples(st.floats(-180, 180), st.floats(-66, 66))


@settings(deadline=None)
@given(st.lists(degrees, min_size=1, max_size=20), st.floats(0.5, 3.0))
def test_all_sites_lie_in_the_field_and_degrees_are_in_proportion(places: list[Any], aspect: float) -> None:
    (west, east), (south, north) = spans([site(*place) for place in places], aspect)
    for longitude, latitude in places:
        assert west < longitude < east
        assert south < latitude < north
    # a parallel is shorter than a meridian by the cosine of its latitude (geometry of the sphere)
    middle = (min(p[1] for p in places) + max(p[1] for p in places)) / 2
    assert (east - west) * cos(radians(middle)) / (north - south) == pytest.approx(aspect)


def test_the_worst_are_drawn_last() -> None:
    rows = [site(0, 0, "no"), site(0, 0, "yes"), site(0, 0, "watch")]
    assert [row["verdict"] for row in gathered(rows)] == ["yes", "watch", "no"]


def test_of_too_many_sites_the_worst_of_each_cell_stays() -> None:
    rows = [site(n % 200 / 20, n // 200 / 20) for n in range(2 * MOST_POINTS)]
    rows[1234]["verdict"] = "no"
    kept = gathered(rows)
    assert len(kept) < MOST_POINTS
    assert [row for row in kept if row["verdict"] == "no"] == [rows[1234]]
    said = sites_chart(rows, "Sites").to_dict()["title"]["subtitle"]
    assert said[1] == f"{len(kept)} points for {len(rows)} sites: each the worst within its cell"


def test_the_svg_shows_each_verdict_by_shape_and_fetches_nothing() -> None:
    rows = [site(-80, 36, "yes"), site(-79, 35, "watch"), site(-78, 36, "no"), {"verdict": "refused"}]
    svg = chart_svg(sites_chart(rows, "Sites"))
    texts = {text.text for text in ET.fromstring(svg).iter("{http://www.w3.org/2000/svg}text")}
    assert set(MARKS) <= texts
    assert "worst verdict of each site: 1 yes, 1 watch, 1 no; 1 refused, not drawn" in texts
    assert len({MARKS[name][0] for name in MARKS}) == len(MARKS)
    assert "<image" not in svg
    assert "href" not in svg.replace("xmlns:xlink", "")


def test_no_site_with_a_place() -> None:
    with pytest.raises(ValueError, match="rows"):
        sites_chart([{"verdict": "refused"}], "Sites")
