"""Clean seed in store over the years, against what the field asks for."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

import altair as alt

from wetfoot.answers.generation_plan import GenerationPlan
from wetfoot.answers.generation_years import in_store
from wetfoot.drawing import chart_parts as part
from wetfoot.drawing.chart_parts import Axes, Size
from wetfoot.drawing.svg import GRAIN, WATER_LINE
from wetfoot.quantities import convert, show, unit_label

WIDE = Size(width=480.0, height=250.0)
LEAST_KG = 0.1  # below the axis, which is logarithmic: every generation multiplies


def generations_chart(found: GenerationPlan, size: Size = WIDE) -> alt.LayerChart:
    """Return the seed in store by date, one line a store season, with the bench's pots and with enough pots."""
    system, plan = found.plan.units, found.plan
    series = {"the bench's pots": in_store(plan, found.bench)}
    if found.unbounded != found.bench:
        series["enough pots for the field"] = in_store(plan, found.unbounded)
    need = demand_left_kg(found)
    values = [kg for points in series.values() for _, kg in points] + [need]
    low, high = (float(convert(max(kg, LEAST_KG), "mass", system)) for kg in (min(values) / 1.5, max(values) * 2.5))
    first, last = found.bench[0].planted, max(year.ready for year in found.bench)
    on = _axes(first, last, f"seed in store, {unit_label('mass', system)}", low, high)
    layers = [
        *_lines(series, on, system),
        *part.rule(float(convert(need, "mass", system)), f"the field asks for {show(need, 'mass', system)}", on, True,
                   size.letters),
    ]  # fmt: skip
    said = ["each line falls from lifting to planting: what storage takes", "what is left is cut and planted"]
    return part.finished(layers, "Clean seed over the years", said, size)


def demand_left_kg(found: GenerationPlan) -> float:
    """Return the uncut seed that must be left in store for the field."""
    return found.need_kg / (1.0 - found.plan.goal.loss_cutting)


def _axes(first: date, last: date, title: str, low: float, high: float) -> Axes:
    ends = [alt.DateTime(year=day.year, month=day.month, date=day.day) for day in (first, last)]
    axis = alt.Axis(title=None, format="%Y", tickCount={"interval": "year", "step": 1}, grid=False)
    x = alt.X("day:T", scale=alt.Scale(domain=ends, nice=False), axis=axis)
    scale = alt.Scale(type="log", domain=[low, high], nice=False)
    return Axes(x, alt.Y("v:Q", scale=scale, axis=alt.Axis(title=title, tickCount=5)))


def _lines(series: dict[str, list[tuple[date, float]]], on: Axes, system: Any) -> list[alt.Chart]:
    data: list[dict[str, Any]] = []
    for name, points in series.items():
        store = 0
        for index, (day, kg) in enumerate(points):
            store += index > 0 and kg > points[index - 1][1]  # a new harvest came in
            data.append({"day": f"{day.isoformat()}T00:00:00", "v": float(convert(max(kg, LEAST_KG), "mass", system)),
                         "what": name, "store": f"{name} {store}"})  # fmt: skip
    names: Sequence[str] = list(series)
    key = alt.Legend(title=None, orient="bottom", symbolSize=300, symbolStrokeWidth=1.8)
    colour = alt.Color("what:N", scale=alt.Scale(domain=names, range=[WATER_LINE, GRAIN][: len(names)]), legend=key)
    dash = alt.StrokeDash("what:N", scale=alt.Scale(domain=names, range=[[1, 0], [5, 3]][: len(names)]), legend=key)
    mark = part.rows(data).mark_line(strokeWidth=1.8, point=False)
    return [mark.encode(x=on.x, y=on.y, color=colour, strokeDash=dash, detail="store:N")]
