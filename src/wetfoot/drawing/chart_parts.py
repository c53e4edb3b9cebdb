"""What the charts share: a course with its band, labelled rules, readings, and the frame around them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, NamedTuple

import altair as alt
import numpy as np
from numpy.typing import NDArray

from wetfoot.answers.readings import Point
from wetfoot.drawing.svg import FONT, GRAIN, HAIR, INK, PAPER, QUIET, SOLUTION, WATER_LINE, fit
from wetfoot.plan.model import Plan
from wetfoot.quantities import System, convert
from wetfoot.season.ensemble import Ensemble

Array = NDArray[np.float64]

FIELD = "#ece8df"
READING = "#a33b1f"


@dataclass(frozen=True)
class Size:
    """Width and height of a whole chart and the size of its letters, in points (or pixels on a screen)."""

    width: float = 240.0
    height: float = 165.0
    letters: float = 9.5


Points = Sequence[Point]


class Axes(NamedTuple):
    """The axes that all layers of a course share: days along the field ``day``, values up the field ``v``."""

    x: alt.X
    y: alt.Y


def shown(values: Array, kind: str, system: System) -> Array:
    """Return values in the unit of the axis, so rounded that the specification stays small; NaN stays NaN."""
    converted = np.asarray(convert(values, kind, system), dtype=float)
    return np.round(converted, 4)


def shown_points(readings: Iterable[Point], dates: Sequence[date], kind: str, system: System) -> Points:
    """Return the readings that have a value and fall on the dates, in the unit of the axis."""
    return [
        Point(reading.on, float(convert(reading.value, kind, system)), reading.doubtful)
        for reading in readings
        if np.isfinite(reading.value) and dates[0] <= reading.on <= dates[-1]
    ]


def span(course: Array, points: Points, always: Iterable[float]) -> tuple[float, float]:
    """Return the least and greatest of a course, readings and values always seen; NaN is passed over."""
    seen = np.concatenate([course.ravel(), [point.value for point in points], list(always)])
    return float(np.nanmin(seen)), float(np.nanmax(seen))


def axes(first: date, last: date, title: str, low: float, high: float) -> Axes:
    """Return the axes from the first to the last day, by months, and from low to high."""
    ends = [alt.DateTime(year=day.year, month=day.month, date=day.day) for day in (first, last)]
    years = str(first.year) if first.year == last.year else f"{first.year} to {last.year}"
    months = alt.Axis(
        title=years, format="%b", tickCount={"interval": "month", "step": 1}, labelFlush=False, grid=False
    )
    x = alt.X("day:T", scale=alt.Scale(domain=ends, nice=False), axis=months)
    scale = alt.Scale(domain=[low, high], nice=False, zero=False)
    return Axes(x, alt.Y("v:Q", scale=scale, axis=alt.Axis(title=title, tickCount=5)))


def rows(values: list[dict[str, Any]]) -> alt.Chart:
    """Return a chart of rows that are kept in the specification itself."""
    return alt.Chart(alt.InlineData(values=values))


def _day(day: date) -> str:
    # without a time of day a browser takes midnight in Greenwich, which is the day before in the Americas
    return f"{day.isoformat()}T00:00:00"


def _value(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None


def band(course: Array, dates: Sequence[date], on: Axes) -> alt.Chart:
    """Return the field between the first and the last row of a course of shape (3, days)."""
    data = [
        {"day": _day(day), "v": _value(low), "high": _value(high)}
        for day, low, high in zip(dates, course[0], course[2], strict=True)
    ]
    drawn: alt.Chart = rows(data).mark_area(color=SOLUTION, opacity=0.9).encode(x=on.x, y=on.y, y2="high:Q")
    return drawn


def lines(named: dict[str, Array], dates: Sequence[date], on: Axes, legend: bool) -> alt.Chart:
    """Return one line for each name: the first drawn through, the second dashed, told apart by a legend."""
    data = [
        {"day": _day(day), "v": _value(value), "what": name}
        for name, values in named.items()
        for day, value in zip(dates, values, strict=True)
    ]
    names = list(named)
    key = alt.Legend(title=None, orient="bottom", symbolSize=300, symbolStrokeWidth=1.6) if legend else None
    color = alt.Color("what:N", scale=alt.Scale(domain=names, range=[WATER_LINE, GRAIN][: len(names)]), legend=key)
    dashes = alt.Scale(domain=names, range=[[1, 0], [5, 3]][: len(names)])
    dash = alt.StrokeDash("what:N", scale=dashes, legend=key)
    mark = rows(data).mark_line(strokeWidth=1.2)
    drawn: alt.Chart = mark.encode(x=on.x, y=on.y, color=color, strokeDash=dash)
    return drawn


def course(values: Array, dates: Sequence[date], on: Axes) -> list[alt.Chart]:
    """Return a band with its middle line."""
    return [band(values, dates, on), lines({"middle": values[1]}, dates, on, legend=False)]


def rule(value: float, text: str, on: Axes, above: bool, letters: float) -> list[alt.Chart]:
    """Return a level rule with its label at the left, above or below it."""
    data = rows([{"v": value, "text": text}])
    label = data.mark_text(align="left", baseline="bottom" if above else "top", dy=-2 if above else 3, fontSize=letters)
    return [
        data.mark_rule(color=INK, strokeWidth=0.8, strokeDash=[4, 2]).encode(y=on.y),
        label.encode(x=alt.value(4), y=on.y, text="text:N"),
    ]


def field(low: float, high: float, text: str, on: Axes, letters: float) -> list[alt.Chart]:
    """Return a band across the whole chart with its edges and its label."""
    data = rows([{"v": low, "high": high, "text": text}])
    edges = rows([{"v": low}, {"v": high}]).mark_rule(color=HAIR, strokeWidth=0.8)
    name = rows([{"v": high, "text": text}]).mark_text(align="left", baseline="bottom", dy=-2, fontSize=letters)
    return [
        data.mark_rect(color=FIELD).encode(y=on.y, y2="high:Q", x=alt.value(0), x2=alt.value("width")),
        edges.encode(y=on.y),
        name.encode(x=alt.value(4), y=on.y, text="text:N"),
    ]


def tops_cut(plan: Plan, on: Axes, letters: float) -> list[alt.Chart]:
    """Return the upright rule on the day the tops are cut, with its label."""
    data = rows([{"day": _day(plan.crop.planting + timedelta(days=plan.crop.tops_cut_d)), "text": "tops cut"}])
    label = data.mark_text(align="right", baseline="top", dx=-3, dy=2, fontSize=letters)
    return [
        data.mark_rule(color=QUIET, strokeWidth=1).encode(x=on.x),
        label.encode(x=on.x, y=alt.value(0), text="text:N"),
    ]


def dots(points: Points, on: Axes) -> list[alt.Chart]:
    """Return readings as points: filled where they are sure, hollow where they are in doubt."""
    layers = []
    for doubtful, fill in ((False, READING), (True, PAPER)):
        data = [{"day": _day(p.on), "v": p.value} for p in points if p.doubtful == doubtful]
        mark = rows(data).mark_point(shape="circle", fill=fill, stroke=READING, strokeWidth=1.2, size=26, opacity=1)
        layers += [mark.encode(x=on.x, y=on.y)] if data else []
    return layers


def about(ensemble: Ensemble, points: Points) -> list[str]:
    """Return the lines that say what is drawn."""
    said = [f"{ensemble.runs} runs: the band holds 8 of 10, the line is the middle"]
    if points:
        hollow = "; hollow: in doubt" if any(point.doubtful for point in points) else ""
        said.append(f"dots: readings{hollow}")
    return said


def finished(layers: Sequence[alt.Chart], title: str, subtitle: Sequence[str], size: Size) -> alt.LayerChart:
    """Return the layers as one chart with its title, our type and colours."""
    heading = alt.TitleParams(fit(title, size.width - 4.0, size.letters * 1.2), subtitle=list(subtitle))
    chart = alt.layer(*layers).properties(
        title=heading,
        width=size.width,
        height=size.height,
        autosize=alt.AutoSizeParams(type="fit", contains="padding"),
        padding=2,
        background=PAPER,
    )
    configured: alt.LayerChart = chart.configure(**config(size.letters))
    return configured


def config(letters: float) -> dict[str, Any]:
    """Return our type and colours for a whole chart."""
    return {
        "font": FONT,
        "view": {"stroke": None},
        "text": {"font": FONT, "fontSize": letters, "fill": INK},
        "title": {
            "anchor": "start",
            "frame": "bounds",
            "fontSize": letters * 1.2,
            "color": INK,
            "subtitleFontSize": letters,
            "subtitleColor": QUIET,
            "subtitlePadding": 2,
            "offset": 6,
        },
        "axis": {
            "labelFontSize": letters,
            "titleFontSize": letters,
            "titleFontWeight": "normal",
            "labelColor": INK,
            "titleColor": QUIET,
            "gridColor": "#e8e5df",
            "domainColor": HAIR,
            "tickColor": HAIR,
            "tickSize": 3,
            "titlePadding": 4,
        },
        "legend": {"labelFontSize": letters, "labelColor": INK, "padding": 0, "offset": 4},
    }
