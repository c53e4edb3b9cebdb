"""What is dissolved by date: a small chart of each element, in the tank and in a bank's free solution."""

from __future__ import annotations

import altair as alt
import numpy as np

from wetfoot.drawing import chart_parts as part
from wetfoot.drawing.chart_parts import Array, Size
from wetfoot.drawing.svg import PAPER
from wetfoot.plan.model import Plan
from wetfoot.quantities import System, unit_label
from wetfoot.season.ensemble import Ensemble
from wetfoot.season.feed import ELEMENTS

ACROSS = 2
BALLAST = ("Na", "Cl")  # what the crop hardly takes up, so that it gathers
PAGE = Size(width=240.0, height=440.0, letters=8.5)
SHEET = Size(width=480.0, height=310.0, letters=8.5)


def element_chart(
    ensemble: Ensemble, plan: Plan, bank_index: int, system: System, size: Size | None = None, across: int = ACROSS
) -> alt.ConcatChart:
    """Return the elements in the tank and in a bank's free solution at the end of each day, until the tops are cut.

    Each element has a scale of its own that begins at nothing; the band holds 8 of 10 runs of the bank.

    Args:
        ensemble: the season's runs.
        plan: the plan they were computed from.
        bank_index: which bank.
        system: units of the axis.
        size: of the whole chart.
        across: charts in a row.
    """
    size = size or PAGE
    supplied = slice(0, plan.crop.tops_cut_d)
    tank, bank = ensemble.tank_elements_mg_l.values, ensemble.elements_mg_l.values[:, :, bank_index]
    down = -(-len(ELEMENTS) // across)
    each = Size(size.width / across - 34.0, size.height / down - 38.0, size.letters)
    panels = [
        _panel(element, bank[:, supplied, at], tank[1, supplied, at], ensemble, system, each)
        for at, element in enumerate(ELEMENTS)
    ]
    title = alt.TitleParams(
        f"Elements in {plan.banks[bank_index].name} and in the tank, {unit_label('concentration', system)}",
        subtitle=[
            "line and band (8 of 10 runs): free solution of the bank;",
            "dashed: tank, middle. Na and Cl are ballast",
        ],
    )
    whole = alt.concat(*panels, columns=across, title=title).properties(padding=2, background=PAPER)
    configured: alt.ConcatChart = whole.configure(**part.config(size.letters)).configure_concat(spacing=8)
    return configured


def _panel(element: str, bank: Array, tank: Array, ensemble: Ensemble, system: System, size: Size) -> alt.LayerChart:
    """Return the chart of one element."""
    dates = ensemble.dates[: len(tank)]
    course = part.shown(bank, "concentration", system)
    in_tank = part.shown(tank, "concentration", system)
    high = float(np.nanmax(np.r_[course.ravel(), in_tank, 1e-3]))
    on = part.axes(dates[0], dates[-1], "", 0.0, 1.08 * high)
    layers = [part.band(course, dates, on), part.lines({"bank": course[1], "tank": in_tank}, dates, on, legend=False)]
    name = f"{element} (ballast)" if element in BALLAST else element
    title = alt.TitleParams(name, offset=2)
    return alt.LayerChart(layer=layers, width=size.width, height=size.height, title=title)
