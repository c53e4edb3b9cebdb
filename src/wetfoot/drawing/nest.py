"""The nest cut through its middle, to scale, with what a person needs to build it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from wetfoot.drawing.cutaway import BOARD, View, cutaway, outer_half_m
from wetfoot.drawing.nest_labels import (
    LINE,
    ROW,
    height_labels,
    heights,
    part_labels,
    parts,
    width_lines,
    widths,
)
from wetfoot.drawing.svg import INK, QUIET, fit, page, path, words
from wetfoot.plan.media import nest_medium
from wetfoot.plan.model import Nest, Plan
from wetfoot.quantities import System, convert, number_text, show, unit_label
from wetfoot.water.nest import free_solution_l, medium_volume_l, medium_water_l

WIDTH = 420.0
EDGE = 12.0
LEFT, RIGHT = 120.0, 294.0  # between them the nest stands
TALLEST = 240.0
HEAD = 42.0
LONGEST_BAR = 80.0
BARS_M: dict[System, tuple[float, ...]] = {
    "metric": (0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0),
    "US": tuple(0.0254 * inches for inches in (0.25, 0.5, 1, 2, 5, 10, 20, 40)),
}


def nest_svg(plan: Plan, nest_name: str, system: System) -> str:
    """Return a nest of the plan, cut through its middle and drawn to scale, as a standalone SVG.

    Made to be read at the width of a page of A5: its smallest letters are then 10.5 points.

    Args:
        plan: the plan.
        nest_name: which of its nests.
        system: units in which the numbers are written.

    Raises:
        KeyError: if the plan has no such nest.
    """
    nest = plan.nests[nest_name]
    bore_m = _microtube_m(plan, nest_name)
    tops, feet = widths(nest, at_top=True), widths(nest, at_top=False)
    measured, named = heights(nest, system), parts(nest, show(bore_m, "bore", system))
    top = HEAD + ROW * len(tops) + 6.0
    tallest = max(nest.basin.height_m, nest.pot.height_m)
    scale = min((RIGHT - LEFT) / (2.0 * outer_half_m(nest)), TALLEST / tallest)
    zone = max(scale * tallest, LINE * max(len(measured), len(named) + 1))
    view = View((LEFT + RIGHT) / 2.0, top + (zone + scale * tallest) / 2.0, scale)
    below = max(top + zone, view.y(-nest.wall_m) + BOARD) + 6.0
    foot = below + ROW * len(feet)
    held = [litres(volume, system) for volume in nest_volumes_l(plan, nest)]
    pieces = [
        *_title(plan, nest_name),
        *width_lines(tops, nest, view, top - 6.0, -ROW, system),
        *_widths_heading("at the top", top - 6.0 - ROW * len(tops) / 2.0),
        *width_lines(feet, nest, view, below, ROW, system),
        *_widths_heading("at the bottom", below + ROW * len(feet) / 2.0),
        *cutaway(nest, view, bore_m),
        *height_labels(measured, nest, view, top, top + zone),
        *part_labels(named, nest, view, top, top + zone, WIDTH),
        *_scale_bar(scale, system, foot + 8.0),
        *_volumes(nest, held, foot + 40.0),
    ]
    measures = ", ".join(height.text for height in measured[1:])
    told = f"{measures}. {held[0]} of {nest.medium}, {held[1]} of solution, {held[2]} more until it overflows."
    title = f"Nest {nest_name}, cut through the middle, to scale"
    return page(WIDTH, foot + 66.0, title, told, pieces)


def _title(plan: Plan, nest_name: str) -> Iterator[str]:
    pots = sum(bank.pots for bank in plan.banks if bank.nest == nest_name)
    about = "Cut through the middle, to scale; heights above the basin’s inside bottom."
    count = f"{number_text(pots, 6)} to build" + (" · invented" if plan.invented else "")
    yield words(EDGE, 20.0, fit(f"Nest {nest_name}", 260.0, 15.0), size=15.0, weight="bold")
    yield words(EDGE, 34.0, about, fill=QUIET)
    yield words(WIDTH - EDGE, 20.0, count, anchor="end")


def _widths_heading(where: str, middle: float) -> Iterator[str]:
    yield words(EDGE, middle - 3.0, "inside diameters", fill=QUIET)
    yield words(EDGE, middle + 9.5, where, fill=QUIET)


def _microtube_m(plan: Plan, nest_name: str) -> float:
    """Return the widest microtube of the banks that use the nest; 4 mm where none does."""
    return max((bank.microtube_bore_m for bank in plan.banks if bank.nest == nest_name), default=0.004)


def nest_volumes_l(plan: Plan, nest: Nest) -> tuple[float, float, float]:
    """Return litres of medium, of free solution at the set level, and of what more it takes to overflow."""
    shape, medium = nest.shape, nest_medium(plan, nest)
    free, free_at_overflow = free_solution_l(shape, [nest.set_level_m, nest.overflow_height_m])
    in_medium = [medium_water_l(shape, medium, z) for z in (nest.set_level_m, nest.overflow_height_m)]
    return medium_volume_l(shape), float(free), float(free_at_overflow - free) + in_medium[1] - in_medium[0]


def litres(volume_l: float, system: System) -> str:
    """Return a volume as a person reads it, in the small unit where it is less than one of the large.

    >>> litres(1.59, "metric"), litres(0.25, "metric")
    ('1.59 L', '250 mL')
    """
    small = float(convert(volume_l, "volume", system)) < 0.9995
    return show(volume_l, "small_volume" if small else "volume", system)


def _volumes(nest: Nest, held: Sequence[str], y: float) -> Iterator[str]:
    said = (f"of {nest.medium}", "solution at the set level", "more until it overflows")
    for index, (volume, text) in enumerate(zip(held, said, strict=True)):
        x = EDGE + index * (WIDTH - 2.0 * EDGE + 6.0) / 3.0
        yield words(x, y, volume, size=14.0, weight="bold")
        yield words(x, y + 14.0, fit(text, 130.0), fill=QUIET)


def _scale_bar(scale: float, system: System, y: float) -> Iterator[str]:
    length = max((size for size in BARS_M[system] if size * scale <= LONGEST_BAR), default=BARS_M[system][0])
    left, right = EDGE, EDGE + scale * length
    ends = [(left, y - 3), (left, y + 3), (left, y), (right, y), (right, y - 3), (right, y + 3)]
    yield path(ends, stroke=INK, width=1.0)
    text = f"{number_text(float(convert(length, 'depth', system)))} {unit_label('depth', system)}"
    yield words(right + 5.0, y + 3.4, text)
