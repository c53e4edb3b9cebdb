"""The words and measures around the cut nest: heights at the left, parts at the right, inside diameters."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from wetfoot.drawing.cutaway import BOARD, TUBE_REACH, View, half_m, outer_half_m, tube_height_m
from wetfoot.drawing.labels import spread, untangled
from wetfoot.drawing.svg import HAIR, INK, QUIET, dot, fit, line, path, text_width, words
from wetfoot.plan.model import Nest
from wetfoot.quantities import System, show

LINE = 13.5
ROW = 15.0


class Height(NamedTuple):
    """A height written at the left: what to say, how high, and the radius of what it belongs to."""

    text: str
    height_m: float
    radius_m: float
    weight: str | None = None


class Part(NamedTuple):
    """A part named at the right: its name, and the radius and height of the point its leader goes to."""

    name: str
    radius_m: float
    height_m: float


class Width(NamedTuple):
    """An inside diameter: whose, how wide, and at which height."""

    name: str
    diameter_m: float
    height_m: float


def heights(nest: Nest, system: System) -> list[Height]:
    """Return everything measured upwards from the basin's inside bottom, lowest first."""
    basin, pot, wall = nest.basin.frustum, nest.pot.frustum, nest.wall_m
    level, overflow = nest.set_level_m, nest.overflow_height_m

    def height(name: str, height_m: float, radius_m: float, weight: str | None = None) -> Height:
        return Height(f"{name} {show(height_m, 'depth', system)}", height_m, radius_m, weight)

    found = [
        height("set level", level, half_m(basin, level), "bold"),
        height("overflow", overflow, half_m(basin, overflow) + wall, "bold"),
        height("fill", nest.fill_height_m, half_m(pot, nest.fill_height_m)),
        height("basin rim", basin.height_m, basin.top_radius_m + wall),
        height("pot rim", pot.height_m, pot.top_radius_m + wall),
    ]
    if nest.dome:
        found.append(height("dome top", nest.dome.height_m, nest.dome.bottom_diameter_m / 2.0 + wall))
    bottom = Height("inside bottom 0", 0.0, basin.bottom_radius_m + wall)
    return [bottom, *sorted(found, key=lambda mark: mark.height_m)]


def height_labels(marks: Sequence[Height], nest: Nest, view: View, top: float, bottom: float) -> Iterator[str]:
    """Yield the scale of heights on the left: one upright line, a tick and a label for each.

    Args:
        marks: the heights, lowest first.
        nest: the nest.
        view: where it lands.
        top: the upper end of the zone for labels.
        bottom: its lower end.
    """
    axis = view.x(-outer_half_m(nest)) - 16.0
    tallest = max(nest.basin.height_m, nest.pot.height_m)
    yield line((axis, view.y(0.0)), (axis, view.y(tallest)), QUIET, 0.7)
    places = spread([-view.y(mark.height_m) for mark in marks], LINE, -bottom, -top)
    for (text, height_m, radius_m, weight), place in zip(marks, places, strict=True):
        y, x = view.y(height_m), axis - 11.0
        yield line((axis + 3.0, y), (view.x(-radius_m) - 0.5, y), QUIET, 0.5, dash="1 2")
        yield path([(axis + 2.5, y), (axis - 2.5, y), (x + 2.0, -place)], stroke=QUIET)
        yield words(x, -place + 3.4, fit(text, x - 3.0), anchor="end", weight=weight)


def parts(nest: Nest, microtube: str) -> list[Part]:
    """Return the parts to be named, each with a point well inside it on the right half of the cut."""
    basin, pot, wall, level = nest.basin.frustum, nest.pot.frustum, nest.wall_m, nest.set_level_m
    rim = min(basin.height_m, pot.height_m)
    middle_of_air, near_rim, high = (level + rim) / 2.0, pot.height_m - 0.04 * rim, 0.7 * basin.height_m

    def gap_middle(height_m: float) -> float:
        return (half_m(basin, height_m) + half_m(pot, height_m) + wall) / 2.0

    covered = nest.dome.height_m if nest.dome else level
    in_medium = (covered + nest.fill_height_m) / 2.0
    return [
        Part("pot with holes", half_m(pot, near_rim) + wall / 2.0, near_rim),
        Part("basin, no holes", half_m(basin, high) + wall / 2.0, high),
        Part("air gap", gap_middle(middle_of_air), middle_of_air),
        Part("medium", 0.6 * half_m(pot, in_medium), in_medium),
        Part("soaked medium", *_soaked(nest)),
        Part("solution", gap_middle(0.75 * level), 0.75 * level),
        Part(f"microtube {microtube}", *_tube_end(nest)),
        *_dome_parts(nest),
    ]


def _soaked(nest: Nest) -> tuple[float, float]:
    height_m = 0.55 * nest.set_level_m
    outer = half_m(nest.pot.frustum, height_m)
    if nest.dome is None or height_m > nest.dome.height_m:
        return 0.8 * outer, height_m
    return (outer + half_m(nest.dome.upside_down, height_m) + nest.wall_m) / 2.0, height_m


def _tube_end(nest: Nest) -> tuple[float, float]:
    height_m = tube_height_m(nest)
    return half_m(nest.basin.frustum, height_m) + nest.wall_m, height_m


def _dome_parts(nest: Nest) -> list[Part]:
    if nest.dome is None:
        return []
    dome, level = nest.dome.upside_down, nest.set_level_m
    side, middle = 0.88 * dome.height_m, (level + dome.height_m) / 2.0
    named = [Part("dome, inverted", half_m(dome, side) + nest.wall_m / 2.0, side)]
    if level < dome.height_m:
        named.append(Part("air in the dome", 0.5 * half_m(dome, middle), middle))
    return named


def part_labels(
    named: Sequence[Part], nest: Nest, view: View, top: float, bottom: float, right: float
) -> Iterator[str]:
    """Yield the names of the parts in a column on the right, each with a leader that crosses no other.

    Args:
        named: the parts.
        nest: the nest.
        view: where it lands.
        top: the upper end of the zone for labels.
        bottom: its lower end.
        right: the right end of the paper.
    """
    edge = view.x(outer_half_m(nest))
    marks = [((view.x(part.radius_m), view.y(part.height_m)), part.name) for part in named]
    marks = [((x + TUBE_REACH - 3.0, y) if name.startswith("microtube") else (x, y), name) for (x, y), name in marks]
    marks.append(((edge + 8.0, view.y(-nest.wall_m) + BOARD / 2.0), "board"))
    marks.sort(key=lambda mark: mark[0][1])
    anchors, x = [at for at, _ in marks], edge + TUBE_REACH + 8.0
    ports = [(x, y) for y in spread([y for _, y in anchors], LINE, top, bottom)]
    for (at, name), port in zip(marks, untangled(anchors, ports), strict=True):
        yield line(at, ports[port], INK, 0.5) + dot(at)
        yield words(x + 3.0, ports[port][1] + 3.4, fit(name, right - x - 5.0))


def widths(nest: Nest, at_top: bool) -> list[Width]:
    """Return the inside diameters at the top or the bottom, narrowest first; the dome stands upside down."""
    vessels = [("basin", nest.basin), ("pot", nest.pot)]
    if at_top:
        found = [Width(name, vessel.top_diameter_m, vessel.height_m) for name, vessel in vessels]
    else:
        found = [Width(name, vessel.bottom_diameter_m, 0.0) for name, vessel in vessels]
    if nest.dome and at_top:
        found.append(Width("dome", nest.dome.bottom_diameter_m, nest.dome.height_m))
    elif nest.dome:
        found.append(Width("dome", nest.dome.top_diameter_m, 0.0))
    return sorted(found, key=lambda width: width.diameter_m)


def width_lines(
    found: Sequence[Width], nest: Nest, view: View, start: float, step: float, system: System
) -> Iterator[str]:
    """Yield inside diameters as a stack of dimension lines, the narrowest next to the nest.

    A number that does not fit between its ends stands at the right, clear of the nest.

    Args:
        found: the diameters, narrowest first.
        nest: the nest.
        view: where it lands.
        start: the edge of the stack next to the nest.
        step: from one line to the next, negative upwards.
        system: units.
    """
    outside = view.x(outer_half_m(nest)) + 8.0
    for index, (name, diameter_m, height_m) in enumerate(found):
        y = start + step * (index + 0.5)
        left, right = view.x(-diameter_m / 2.0), view.x(diameter_m / 2.0)
        text = f"{name} {show(diameter_m, 'depth', system)}"
        half = text_width(text) / 2.0 + 3.0
        for x in (left, right):
            yield line((x, view.y(height_m)), (x, y + (2.5 if step > 0 else -2.5)), HAIR, 0.5)
            yield line((x - 2.2, y + 2.2), (x + 2.2, y - 2.2), INK, 0.9)
        if right - left > 2.0 * half + 12.0:
            yield line((left, y), (view.axis - half, y), INK) + line((view.axis + half, y), (right, y), INK)
            yield words(view.axis, y + 3.4, text, anchor="middle")
        else:
            yield line((left, y), (outside, y), INK)
            yield words(outside + 3.0, y + 3.4, text)
