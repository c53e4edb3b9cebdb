"""Charts of a trial: means with their intervals and the curve through them, pots that split, what is left over."""

from __future__ import annotations

from typing import Any

import altair as alt
import numpy as np

from wetfoot.answers.trial_analysis import Findings
from wetfoot.answers.trial_choices import Choices
from wetfoot.answers.trial_pieces import Pieces
from wetfoot.answers.trial_splits import Splits
from wetfoot.drawing import chart_parts as part
from wetfoot.drawing.chart_parts import Size
from wetfoot.drawing.svg import INK, QUIET, SOLUTION, WATER_LINE
from wetfoot.quantities import System, convert, unit_label

HALF_PAGE = Size(width=248.0, height=190.0)
# Years are told apart by shape, so that they can be read in grey too.
SHAPES = ("circle", "square", "triangle-up", "diamond", "cross", "triangle-down")
STEPS = 60
MOST_POINTS = 1500


def response_chart(found: Findings, system: System, size: Size = HALF_PAGE) -> alt.LayerChart:
    """Return the harvest of a pot over the number of pieces: means with intervals, the curve, and each year's means.

    Args:
        found: findings with a curve.
        system: units of the axis.
        size: of the whole chart.
    """
    main, years = found.pieces[0], [p for p in found.pieces[1:] if p.where.startswith(f"{found.table.roles.year} ")]
    unit = unit_label("mass", system)
    means = [
        {"x": float(x), "v": _kg(y, system), "low": _kg(low, system), "high": _kg(high, system)}
        for x, y, low, high in zip(main.pieces, main.mean, main.low, main.high, strict=True)
    ]
    highest = max([m["high"] for m in means] + [_kg(float(p.mean.max()), system) for p in years])
    x = _x(main)
    y = alt.Y("v:Q", scale=alt.Scale(domain=[0, highest * 1.06], nice=False), axis=alt.Axis(title=f"{unit} a pot"))
    layers = [*_curve(main, x, y, system), *_years(years, x, y, system)]
    data = part.rows(means)
    layers += [
        data.mark_rule(color=INK, strokeWidth=1.4).encode(x=x, y=alt.Y("low:Q"), y2="high:Q"),
        data.mark_point(shape="circle", filled=True, color=INK, size=46, opacity=1).encode(x=x, y=y),
    ]
    said = [f"dots: means with {found.confidence} intervals" + ("; line: the curve" if main.curve else "")]
    if years:
        said.append(
            "small: " + ", ".join(f"{p.where.rsplit(' ', 1)[-1]} {s}" for p, s in zip(years, SHAPES, strict=False))
        )
    return part.finished(layers, "Harvest by number of pieces", said, size)


def _curve(pieces: Pieces, x: alt.X, y: alt.Y, system: System) -> list[alt.Chart]:
    if pieces.curve is None:
        return []
    along = np.linspace(float(pieces.pieces.min()), float(pieces.pieces.max()), STEPS)
    data = [{"x": float(p), "v": _kg(g, system)} for p, g in zip(along, pieces.expected(along), strict=True)]
    return [part.rows(data).mark_line(color=WATER_LINE, strokeWidth=1.6).encode(x=x, y=y)]


def _years(years: list[Pieces], x: alt.X, y: alt.Y, system: System) -> list[alt.Chart]:
    layers = []
    for each, shape in zip(years, SHAPES, strict=False):
        data = [{"x": float(p), "v": _kg(g, system)} for p, g in zip(each.pieces, each.mean, strict=True)]
        mark = part.rows(data).mark_point(shape=shape, color=QUIET, size=22, strokeWidth=1, opacity=1)
        layers.append(mark.encode(x=x, y=y))
    return layers


def _x(pieces: Pieces) -> alt.X:
    """Return the axis of the numbers of pieces, ticks where something was tested."""
    values = [float(p) for p in pieces.pieces]
    pad = 0.06 * (values[-1] - values[0])
    scale = alt.Scale(domain=[values[0] - pad, values[-1] + pad], nice=False, zero=False)
    return alt.X(
        "x:Q", scale=scale, axis=alt.Axis(title=f"{pieces.factor} in a pot", values=values, grid=False, format="d")
    )


def net_chart(choices: Choices, system: System, size: Size = HALF_PAGE) -> alt.LayerChart:
    """Return net clean seed over the number of pieces, of a pot and of each piece planted."""
    unit = unit_label("mass", system)
    rows: list[dict[str, Any]] = []
    for c in choices.choices:
        for what, by in (("a pot", 1), ("a piece planted", c.pieces)):
            half = choices.t * c.net_se_kg
            value, low, high = (_mass(kg / by, system) for kg in (c.net_kg, c.net_kg - half, c.net_kg + half))
            rows.append({"x": c.pieces, "what": what, "v": value, "low": low, "high": high})
    bottom, top = min(0.0, *(r["low"] for r in rows)), max(r["high"] for r in rows)
    numbers = [c.pieces for c in choices.choices]
    x = alt.X("x:O", axis=alt.Axis(title="pieces in a pot", labelAngle=0), scale=alt.Scale(domain=numbers))
    y = alt.Y("v:Q", scale=alt.Scale(domain=[bottom, top * 1.06], nice=False), axis=alt.Axis(title=unit))
    names = ["a pot", "a piece planted"]
    key = alt.Legend(title=None, orient="bottom")
    color = alt.Color("what:N", scale=alt.Scale(domain=names, range=[INK, part.READING]), legend=key)
    shape = alt.Shape("what:N", scale=alt.Scale(domain=names, range=["circle", "square"]), legend=key)
    data = part.rows(rows)
    layers = [
        data.mark_line(strokeWidth=1, strokeDash=[3, 3]).encode(x=x, y=y, color=color),
        data.mark_rule(strokeWidth=1.4).encode(x=x, y=alt.Y("low:Q"), y2="high:Q", color=color),
        data.mark_point(filled=True, size=46, opacity=1).encode(x=x, y=y, color=color, shape=shape),
    ]
    return part.finished(layers, "Net clean seed", ["after culling, storage and the seed planted"], size)


def split_chart(splits: Splits, confidence: str, size: Size = HALF_PAGE) -> alt.LayerChart:
    """Return the share of pots that split at each level, with its interval."""
    shares, lows, highs = ((100.0 * each).tolist() for each in (splits.split / splits.pots, splits.low, splits.high))
    data = [
        {"x": level, "v": share, "low": low, "high": high, "text": f"{int(k)} of {int(n)}"}
        for level, share, low, high, k, n in zip(
            splits.levels, shares, lows, highs, splits.split, splits.pots, strict=True
        )
    ]
    x = alt.X("x:O", sort=list(splits.levels), axis=alt.Axis(title=splits.factor, labelAngle=0))
    top = min(100.0, max(highs) * 1.15)
    y = alt.Y("v:Q", scale=alt.Scale(domain=[0, top], nice=False), axis=alt.Axis(title="% of pots"))
    chart = part.rows(data)
    layers = [
        chart.mark_bar(color=SOLUTION, size=26).encode(x=x, y=y),
        chart.mark_rule(color=INK, strokeWidth=1.2).encode(x=x, y=alt.Y("low:Q"), y2="high:Q"),
        chart.mark_text(baseline="bottom", dy=-2, dx=4, align="left", color=INK).encode(x=x, y="high:Q", text="text:N"),
    ]
    return part.finished(layers, "Pots that split", [f"bars: share; lines: {confidence} intervals"], size)


def residual_chart(found: Findings, size: Size = HALF_PAGE) -> alt.LayerChart:
    """Return what is left of each pot against what was fitted: a funnel or a bend would show here."""
    left = found.left
    return _scatter(left.fitted, left.residual, "fitted", found, "Left over against fitted", size)


def position_chart(found: Findings, size: Size = HALF_PAGE) -> alt.LayerChart | None:
    """Return what is left of each pot against its place on the board; None if places are not known."""
    places = found.left.position
    if places is None or not np.isfinite(places).all():
        return None
    return _scatter(places, found.left.residual, "position on the board", found, "Left over along boards", size)


def _scatter(
    across: np.ndarray[Any, np.dtype[np.float64]],
    left: np.ndarray[Any, np.dtype[np.float64]],
    title: str,
    found: Findings,
    heading: str,
    size: Size,
) -> alt.LayerChart:
    step = max(1, len(left) // MOST_POINTS)
    data = [{"x": float(a), "v": float(b)} for a, b in zip(across[::step], left[::step], strict=True)]
    reach = 1.1 * max(float(np.abs(left).max()), 1e-9)
    low, high = float(across.min()), float(across.max())
    pad = 0.05 * max(high - low, 1e-9)
    x = alt.X("x:Q", scale=alt.Scale(domain=[low - pad, high + pad], nice=False, zero=False),
              axis=alt.Axis(title=title, grid=False, tickCount=6))  # fmt: skip
    y = alt.Y(
        "v:Q", scale=alt.Scale(domain=[-reach, reach], nice=False), axis=alt.Axis(title=found.table.response_words)
    )
    layers = [
        part.rows([{"v": 0.0}]).mark_rule(color=QUIET, strokeWidth=0.8).encode(y=y),
        part.rows(data)
        .mark_point(shape="circle", color=WATER_LINE, size=14, strokeWidth=1, opacity=1)
        .encode(x=x, y=y),
    ]
    return part.finished(layers, heading, ["each weighed pot, treatments and boards taken off"], size)


def _kg(grams: float, system: System) -> float:
    return _mass(grams / 1000.0, system)


def _mass(kg: float, system: System) -> float:
    return round(float(convert(kg, "mass", system)), 4)
