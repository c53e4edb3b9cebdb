"""Charts of the season and of the supply of clean seed, as Altair specifications and as SVG."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta
from typing import Literal

import altair as alt
import numpy as np
import vl_convert

from wetfoot.answers.readings import Point
from wetfoot.drawing import chart_parts as part
from wetfoot.drawing.chart_parts import Size
from wetfoot.drawing.svg import INK, SOLUTION, WATER_LINE
from wetfoot.plan.model import Plan
from wetfoot.quantities import System, convert, number_text, show, unit_label
from wetfoot.season.ensemble import Ensemble

HALF_PAGE = Size()
STRIP = Size(height=106.0)


def level_chart(
    ensemble: Ensemble,
    plan: Plan,
    bank_index: int,
    system: System,
    readings: Iterable[Point] = (),
    size: Size = HALF_PAGE,
) -> alt.LayerChart:
    """Return the lowest level of each day in a bank, until the tops are cut.

    Args:
        ensemble: the season's runs.
        plan: the plan they were computed from.
        bank_index: which bank.
        system: units of the axis.
        readings: levels that were read, in metres.
        size: of the whole chart.
    """
    bank, supplied = plan.banks[bank_index], slice(0, plan.crop.tops_cut_d)
    nest, dates = plan.nests[bank.nest], ensemble.dates[supplied]
    values = part.shown(ensemble.level_m.values[:, supplied, bank_index], "depth", system)
    points = part.shown_points(readings, dates, "depth", system)
    level, overflow = (float(convert(z, "depth", system)) for z in (nest.set_level_m, nest.overflow_height_m))
    low, high = part.span(values, points, (0.0, overflow))
    pad = 0.15 * (high - low)
    on = part.axes(*_until_cut(plan), unit_label("depth", system), low - 1.4 * pad, high + 1.6 * pad)
    layers = [
        *part.course(values, dates, on),
        *part.rule(overflow, f"overflow {show(nest.overflow_height_m, 'depth', system)}", on, True, size.letters),
        *part.rule(level, f"set level {show(nest.set_level_m, 'depth', system)}", on, False, size.letters),
        *part.rule(0.0, "0: below, the wick fails", on, False, size.letters),
        *part.tops_cut(plan, on, size.letters),
        *part.dots(points, on),
    ]
    title = f"Lowest level of the day, {bank.name}"
    return part.finished(layers, title, part.about(ensemble, points), size)


def tank_chart(
    ensemble: Ensemble,
    plan: Plan,
    system: System,
    readings: Iterable[Point] = (),
    size: Size = HALF_PAGE,
) -> alt.LayerChart:
    """Return the least that stands in the tank each day, with full and outlet marked.

    Args:
        ensemble: the season's runs.
        plan: the plan they were computed from.
        system: units of the axis.
        readings: what was read on the tank, in litres.
        size: of the whole chart.
    """
    dates = ensemble.dates
    values = part.shown(ensemble.tank_l.values, "volume", system)
    points = part.shown_points(readings, dates, "volume", system)
    full, outlet = (float(convert(v, "volume", system)) for v in (plan.tank.volume_l, plan.tank.unusable_l))
    low, high = part.span(values, points, (0.0, full))
    on = part.axes(dates[0], dates[-1], unit_label("volume", system), low, high + 0.25 * (high - low))
    layers = [
        *part.course(values, dates, on),
        *part.rule(full, f"full {show(plan.tank.volume_l, 'volume', system)}", on, True, size.letters),
        *part.rule(outlet, f"outlet {show(plan.tank.unusable_l, 'volume', system)}", on, True, size.letters),
        *part.tops_cut(plan, on, size.letters),
        *part.dots(points, on),
    ]
    return part.finished(layers, "Least in the tank each day", part.about(ensemble, points), size)


def ec_chart(
    ensemble: Ensemble,
    plan: Plan,
    bank_index: int,
    system: System,
    readings: Iterable[Point] = (),
    size: Size = HALF_PAGE,
) -> alt.LayerChart:
    """Return the EC of a bank's free solution and of the water in its medium, until the tops are cut.

    Args:
        ensemble: the season's runs.
        plan: the plan they were computed from.
        bank_index: which bank.
        system: units of the axis.
        readings: EC of the free solution that was measured, in mS/cm.
        size: of the whole chart.
    """
    supplied = slice(0, plan.crop.tops_cut_d)
    dates, solution = ensemble.dates[supplied], plan.solution
    free = part.shown(ensemble.ec_free_ms_cm.values[:, supplied, bank_index], "conductivity", system)
    medium = part.shown(ensemble.ec_medium_ms_cm.values[1, supplied, bank_index], "conductivity", system)
    points = part.shown_points(readings, dates, "conductivity", system)
    keep = [float(convert(ec, "conductivity", system)) for ec in (solution.ec_low_ms_cm, solution.ec_high_ms_cm)]
    low, high = part.span(np.vstack([free, medium]), points, (0.0, *keep))
    on = part.axes(*_until_cut(plan), unit_label("conductivity", system), low, high + 0.2 * (high - low))
    named = {"free solution": free[1], "water in the medium": medium}
    text = f"to keep: {number_text(keep[0])} to {number_text(keep[1])}"
    layers = [
        *part.field(keep[0], keep[1], text, on, size.letters),
        part.band(free, dates, on),
        part.lines(named, dates, on, legend=True),
        *part.tops_cut(plan, on, size.letters),
        *part.dots(points, on),
    ]
    title = f"EC of the solution, {plan.banks[bank_index].name}"
    return part.finished(layers, title, part.about(ensemble, points), size)


def water_use_chart(ensemble: Ensemble, plan: Plan, system: System, size: Size = HALF_PAGE) -> alt.LayerChart:
    """Return what the whole bench draws from the tank each day."""
    dates = ensemble.dates
    values = part.shown(ensemble.draw_l.values, "volume", system)
    low, high = part.span(values, (), (0.0, 1e-3))
    on = part.axes(dates[0], dates[-1], f"{unit_label('volume', system)} a day", low, high * 1.15)
    layers = [*part.course(values, dates, on), *part.tops_cut(plan, on, size.letters)]
    title = f"Drawn from the tank by {number_text(plan.pots, 6)} pots"
    return part.finished(layers, title, part.about(ensemble, ()), size)


def supply_chart(low: float, expected: float, high: float, pots_on_bench: int, size: Size = STRIP) -> alt.LayerChart:
    """Return the pots that the field needs, a range about the expected number, against the pots there are."""
    need, there = "needed", "on the bench"
    y = alt.Y("row:N", sort=[need, there], axis=alt.Axis(title=None, ticks=False, domain=False, offset=2))
    most = max(high, expected, float(pots_on_bench), 1.0)
    scale = alt.Scale(domain=[0.0, most], padding=26, nice=False)
    x = alt.X("pots:Q", scale=scale, axis=alt.Axis(title="pots", tickCount=5, tickMinStep=1))
    bar = part.rows([{"row": need, "pots": low, "high": high}]).mark_bar(color=SOLUTION, height=14)
    tick = part.rows([{"row": need, "pots": expected}]).mark_tick(color=WATER_LINE, thickness=2.5, height=20, opacity=1)
    here = part.rows([{"row": there, "pots": pots_on_bench}]).mark_point(
        shape="diamond", filled=True, size=90, color=part.READING, opacity=1
    )
    layers = [bar.encode(y=y, x=x, x2="high:Q"), tick.encode(y=y, x=x), here.encode(y=y, x=x)]
    numbers: tuple[tuple[str, float, Literal["left", "right"], float], ...] = (
        (need, low, "right", -4.0),
        (need, high, "left", 4.0),
        (there, pots_on_bench, "left", 8.0),
    )
    for row, pots, align, dx in numbers:
        text = part.rows([{"row": row, "pots": pots, "text": number_text(round(pots), 6)}])
        layers.append(text.mark_text(align=align, dx=dx, color=INK).encode(y=y, x=x, text="text:N"))
    title = f"Pots needed: about {number_text(round(expected), 6)}"
    said = ["bar: 8 of 10 outcomes; line: the expected one"]
    return part.finished(layers, title, said, size)


def _until_cut(plan: Plan) -> tuple[date, date]:
    return plan.crop.planting, plan.crop.planting + timedelta(days=plan.crop.tops_cut_d + 1)


def chart_svg(chart: alt.LayerChart | alt.ConcatChart) -> str:
    """Return a chart as a standalone SVG; nothing is fetched."""
    return vl_convert.vegalite_to_svg(chart.to_dict(), allowed_base_urls=[])
