"""What is left of a lot by date: the expected course, its range, and the weighings."""

from __future__ import annotations

import altair as alt

from wetfoot.answers.store_view import LotInStore
from wetfoot.drawing import chart_parts as part
from wetfoot.drawing.chart_parts import Size
from wetfoot.drawing.svg import SOLUTION, WATER_LINE
from wetfoot.quantities import System, convert, unit_label

WIDE = Size(width=420.0, height=190.0)


def store_chart(lot: LotInStore, system: System, size: Size = WIDE) -> alt.LayerChart:
    """Return a lot's course in store with its weighings as dots."""
    days = [f"{point.on.isoformat()}T00:00:00" for point in lot.course]
    left, low, high = (
        [round(float(convert(getattr(point, name), "mass", system)), 3) for point in lot.course]
        for name in ("kg", "low_kg", "high_kg")
    )
    title = f"left, {unit_label('mass', system)}"
    on = part.axes(lot.course[0].on, lot.course[-1].on, title, 0.0, 1.12 * (max(high) or 1.0))
    band = [{"day": day, "v": a, "high": b} for day, a, b in zip(days, low, high, strict=True)]
    line = [{"day": day, "v": kg, "at": at} for at, (day, kg) in enumerate(zip(days, left, strict=True))]
    weighed = [
        {"day": f"{row.on.isoformat()}T00:00:00", "v": float(convert(row.kg, "mass", system))}
        for row in lot.rows
        if row.what == "weighed"
    ]
    course = part.rows(line).mark_line(strokeWidth=1.4, color=WATER_LINE)
    layers = [
        part.rows(band).mark_area(color=SOLUTION, opacity=0.9).encode(x=on.x, y=on.y, y2="high:Q"),
        course.encode(x=on.x, y=on.y, order="at:Q"),
    ]
    if weighed:
        dot = part.rows(weighed).mark_point(shape="circle", filled=True, color=part.READING, size=40, opacity=1)
        layers.append(dot.encode(x=on.x, y=on.y))
    said = ["line: expected from the last weighing; band: likely losses", "dots: weighings"]
    return part.finished(layers, f"Lot {lot.lot}", said, size)
