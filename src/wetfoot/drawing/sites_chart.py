"""Many sites where they lie: a point each by longitude and latitude, its shape and colour telling the verdict."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import cos, radians
from typing import Any

import altair as alt

from wetfoot.drawing import chart_parts as part
from wetfoot.drawing.chart_parts import Size
from wetfoot.drawing.svg import INK, WATER_LINE

PAGE = Size(width=480.0, height=360.0, letters=10.5)
# Told apart by shape as well as by colour, so that it can be read in grey and by the colour-blind.
MARKS = {"yes": ("circle", WATER_LINE), "watch": ("square", "#c98a1b"), "no": ("triangle-up", "#a33b1f")}
MOST_POINTS = 3000
CELLS = 60  # a side, into which more points than that are gathered
LEAST_SPAN_DEG = 0.2
PAD = 0.06
LEGEND_HEIGHT = 62.0

Row = Mapping[str, Any]


def sites_chart(rows: Sequence[Row], title: str, size: Size = PAGE) -> alt.LayerChart:
    """Return the sites as points by longitude and latitude, east and north as long as they are on the ground.

    Above `MOST_POINTS` points, those in one cell of a grid become one with the worst of their verdicts.

    Args:
        rows: of the table of results; those without a place (refused) are only counted.
        title: of the chart.
        size: of the whole chart.

    Raises:
        ValueError: if no row has a place.
    """
    placed = [row for row in rows if row.get("latitude_deg") is not None and row["verdict"] in MARKS]
    if not placed:
        raise ValueError("rows must hold a site with a place, not none")
    points = gathered(placed)
    x_span, y_span = spans(placed, size.width / (size.height - LEGEND_HEIGHT))
    x = _axis(alt.X, "longitude_deg:Q", "longitude, degrees east", x_span)
    y = _axis(alt.Y, "latitude_deg:Q", "latitude, degrees north", y_span)
    names = list(MARKS)
    key = alt.Legend(title=None, orient="bottom", symbolSize=70)
    shape = alt.Shape("said:N", scale=alt.Scale(domain=names, range=[MARKS[n][0] for n in names]), legend=key)
    colour = alt.Color("said:N", scale=alt.Scale(domain=names, range=[MARKS[n][1] for n in names]), legend=key)
    data = [
        {"longitude_deg": row["longitude_deg"], "latitude_deg": row["latitude_deg"], "said": row["verdict"]}
        for row in points
    ]
    marks = part.rows(data).mark_point(filled=True, size=44, opacity=0.85, stroke=INK, strokeWidth=0.4)
    layer = marks.encode(x=x, y=y, shape=shape, color=colour)
    return part.finished([layer], title, _about(rows, placed, points), size)


def worst_first(row: Row) -> int:
    """Return the rank of a row's verdict, the worst lowest."""
    return -list(MARKS).index(row["verdict"])


def gathered(rows: Sequence[Row]) -> list[Row]:
    """Return the rows to draw, the worst last so that none is hidden; of too many one a cell, the worst in it."""
    ordered = sorted(rows, key=worst_first, reverse=True)
    if len(ordered) <= MOST_POINTS:
        return ordered
    west, east = _ends(rows, "longitude_deg")
    south, north = _ends(rows, "latitude_deg")
    cells: dict[tuple[int, int], Row] = {}
    for row in ordered:
        column = int(CELLS * (row["longitude_deg"] - west) / max(east - west, LEAST_SPAN_DEG))
        line = int(CELLS * (row["latitude_deg"] - south) / max(north - south, LEAST_SPAN_DEG))
        cells[column, line] = row
    return sorted(cells.values(), key=worst_first, reverse=True)


def spans(rows: Sequence[Row], aspect: float) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return the spans of longitude and latitude that hold all rows, a degree of either in proportion to its length.

    Args:
        rows: with their places.
        aspect: width over height of the field.
    """
    (west, east), (south, north) = _ends(rows, "longitude_deg"), _ends(rows, "latitude_deg")
    shrink = max(cos(radians((south + north) / 2.0)), 0.1)  # a degree of longitude over one of latitude
    tall = max((north - south) * (1.0 + 2.0 * PAD), LEAST_SPAN_DEG, (east - west) * (1.0 + 2.0 * PAD) * shrink / aspect)
    wide = tall * aspect / shrink
    middle_x, middle_y = (west + east) / 2.0, (south + north) / 2.0
    return (middle_x - wide / 2.0, middle_x + wide / 2.0), (middle_y - tall / 2.0, middle_y + tall / 2.0)


def _ends(rows: Sequence[Row], name: str) -> tuple[float, float]:
    values = [row[name] for row in rows]
    return min(values), max(values)


def _axis(channel: Any, column: str, title: str, span: tuple[float, float]) -> Any:
    scale = alt.Scale(domain=list(span), nice=False, zero=False)
    return channel(column, scale=scale, axis=alt.Axis(title=title, tickCount=5))


def _about(rows: Sequence[Row], placed: Sequence[Row], points: Sequence[Row]) -> list[str]:
    counts = ", ".join(f"{sum(row['verdict'] == name for row in placed)} {name}" for name in MARKS)
    said = [f"worst verdict of each site: {counts}; {len(rows) - len(placed)} refused, not drawn"]
    if len(points) < len(placed):
        said.append(f"{len(points)} points for {len(placed)} sites: each the worst within its cell")
    return said
