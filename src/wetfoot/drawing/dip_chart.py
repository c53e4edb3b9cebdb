"""The core of a seed piece in the hot bath against the minutes."""

from __future__ import annotations

from typing import Any

import altair as alt
import numpy as np

from wetfoot.answers.dipping import Dipping
from wetfoot.drawing import chart_parts as part
from wetfoot.drawing.chart_parts import Size
from wetfoot.drawing.svg import GRAIN, INK, QUIET, SOLUTION, WATER_LINE
from wetfoot.quantities import System, convert, show, unit_label
from wetfoot.stock.dip import REFERENCE_C

WIDE = Size(width=480.0, height=240.0)


def dip_chart(found: Dipping, system: System, size: Size = WIDE) -> alt.LayerChart:
    """Return the core's temperature by minutes: the bath held, with its range, and the bath left to cool."""
    wish = found.wish
    held, left = (np.round(convert(each, "temperature", system), 2) for each in (found.held_c, found.left_c))
    reference, bath = (float(convert(c, "temperature", system)) for c in (REFERENCE_C, wish.bath_c))
    low, high = float(held.min()), max(float(held.max()), bath, reference)
    x = alt.X("min:Q", scale=alt.Scale(domain=[0.0, float(found.minutes[-1])], nice=False),
              axis=alt.Axis(title="minutes in the bath", grid=False, tickCount=8))  # fmt: skip
    y = alt.Y("v:Q", scale=alt.Scale(domain=[low, high + 0.1 * (high - low)], nice=False, zero=False),
              axis=alt.Axis(title=f"core, {unit_label('temperature', system)}", tickCount=6))  # fmt: skip
    names = ("bath held at its temperature", "bath left as the pieces cool it")
    data: list[dict[str, Any]] = [
        {"min": float(m), "v": float(v), "what": name}
        for name, course in zip(names, (held[1], left), strict=True)
        for m, v in zip(found.minutes, course, strict=True)
    ]
    key = alt.Legend(title=None, orient="bottom", symbolSize=300, symbolStrokeWidth=1.6, labelLimit=400)
    colour = alt.Color("what:N", scale=alt.Scale(domain=list(names), range=[WATER_LINE, GRAIN]), legend=key)
    dash = alt.StrokeDash("what:N", scale=alt.Scale(domain=list(names), range=[[1, 0], [5, 3]]), legend=key)
    band = [{"min": float(m), "v": float(a), "high": float(b)} for m, a, b in zip(found.minutes, held[0], held[2],
            strict=True)]  # fmt: skip
    layers = [
        part.rows(band).mark_area(color=SOLUTION, opacity=0.9).encode(x=x, y=y, y2="high:Q"),
        part.rows(data).mark_line(strokeWidth=1.4).encode(x=x, y=y, color=colour, strokeDash=dash),
        *part.rule(reference, f"{show(REFERENCE_C, 'temperature', system)}: the published dose is "
                   "8.3 minutes here", part.Axes(x, y), True, size.letters),
        *_upright(wish.minutes, "asked", x, size.letters),
    ]  # fmt: skip
    if found.needed_min[1] <= found.minutes[-1]:
        layers += _upright(found.needed_min[1], "needed", x, size.letters)
    title = f"Core of a piece {show(wish.diameter_m, 'depth', system)} thick"
    return part.finished(layers, title, ["band: thickest to thinnest piece, slow to fast tissue"], size)


def _upright(minutes: float, text: str, x: alt.X, letters: float) -> list[alt.Chart]:
    data = part.rows([{"min": minutes, "text": text}])
    label = data.mark_text(align="left", baseline="bottom", dx=3, dy=-3, fontSize=letters, color=INK)
    return [
        data.mark_rule(color=QUIET, strokeWidth=1).encode(x=x),
        label.encode(x=x, y=alt.value("height"), text="text:N"),
    ]
