"""The cut through a nest, to scale: vessels, solution, medium, hole and tube, without any words."""

from __future__ import annotations

from collections.abc import Iterator
from random import Random
from typing import NamedTuple

from wetfoot.drawing.svg import (
    GRAIN,
    HAIR,
    INK,
    MEDIUM,
    PAPER,
    SOAKED,
    SOLUTION,
    WALL,
    WATER_LINE,
    WOOD,
    Point,
    box,
    element,
    line,
    number,
    path,
    water_mark,
)
from wetfoot.plan.model import Nest
from wetfoot.water.nest import Frustum, radius_m

BOARD = 7.0
TUBE_REACH = 16.0
HOLE_M = 0.012
GRAIN_PITCH = 5.6
GRAIN_MARGIN = 2.2
BOARD_EDGE = "#a58a60"


class View(NamedTuple):
    """Where metres land on the paper: the nest's axis, the basin's inside bottom, and units per metre."""

    axis: float
    foot: float
    scale: float

    def x(self, radius_m: float) -> float:
        """Return the place of a radius, negative to the left of the axis."""
        return self.axis + self.scale * radius_m

    def y(self, height_m: float) -> float:
        """Return the place of a height above the basin's inside bottom."""
        return self.foot - self.scale * height_m


def half_m(vessel: Frustum, height_m: float) -> float:
    """Return the inside radius of a vessel at a height."""
    return float(radius_m(vessel, height_m))


def outer_half_m(nest: Nest) -> float:
    """Return the largest outside radius of basin and pot."""
    diameters = (v.bottom_diameter_m for v in (nest.basin, nest.pot))
    tops = (v.top_diameter_m for v in (nest.basin, nest.pot))
    return max(*diameters, *tops) / 2.0 + nest.wall_m


def hole_height_m(nest: Nest) -> float:
    """Return the height of the overflow hole as drawn: 12 mm, less where the basin's rim is near."""
    return min(HOLE_M, 0.7 * (nest.basin.height_m - nest.overflow_height_m))


def tube_height_m(nest: Nest) -> float:
    """Return the height of the microtube's axis as drawn: low in the solution, where it never draws air."""
    return 0.3 * nest.set_level_m


def cutaway(nest: Nest, view: View, microtube_bore_m: float) -> Iterator[str]:
    """Yield the cut from back to front.

    Args:
        nest: what is cut.
        view: where it lands.
        microtube_bore_m: inside diameter of the tube that comes through the basin's wall.
    """
    basin, pot, level = nest.basin.frustum, nest.pot.frustum, nest.set_level_m
    yield _board(nest, view)
    yield _filled(basin, 0.0, min(level, basin.height_m), view, SOLUTION)
    yield _filled(pot, 0.0, pot.height_m, view, PAPER, nest.wall_m)
    yield _filled(pot, 0.0, nest.fill_height_m, view, MEDIUM)
    yield _filled(pot, 0.0, level, view, SOAKED)
    yield _grains(nest, view)
    yield from _dome(nest, view)
    yield _skin(basin, nest.wall_m, view, floor=True)
    yield _skin(pot, nest.wall_m, view)
    yield from _pot_floor(pot, nest.wall_m, view)
    yield line(
        (view.x(-half_m(pot, nest.fill_height_m)), view.y(nest.fill_height_m)),
        (view.x(half_m(pot, nest.fill_height_m)), view.y(nest.fill_height_m)),
        GRAIN,
        0.9,
    )
    yield from _water_lines(nest, view)
    yield from _overflow(nest, view)
    yield from _microtube(nest, view, microtube_bore_m)


def _board(nest: Nest, view: View) -> str:
    half = view.scale * outer_half_m(nest) + 12.0
    return box(view.axis - half, view.y(-nest.wall_m), 2.0 * half, BOARD, WOOD, BOARD_EDGE)


def _profile(vessel: Frustum, low_m: float, high_m: float, view: View, wall_m: float = 0.0) -> list[Point]:
    """Return the right edge from low to high and the left edge back down."""
    right = [(half_m(vessel, z) + wall_m, z) for z in (low_m, high_m)]
    return [(view.x(r), view.y(z)) for r, z in right] + [(view.x(-r), view.y(z)) for r, z in reversed(right)]


def _filled(vessel: Frustum, low_m: float, high_m: float, view: View, fill: str, wall_m: float = 0.0) -> str:
    return path(_profile(vessel, low_m, high_m, view, wall_m), closed=True, fill=fill)


def _skin(vessel: Frustum, wall_m: float, view: View, floor: bool = False) -> str:
    """Return the cut wall of a vessel, a hairline at least; with ``floor`` also its bottom."""
    inside, outside = (
        _profile(vessel, 0.0, vessel.height_m, view),
        _profile(vessel, 0.0, vessel.height_m, view, wall_m),
    )
    if floor:
        depth = view.y(-wall_m)
        outline = [outside[1], (outside[0][0], depth), (outside[3][0], depth), outside[2]]
        return path(
            [*outline, inside[2], inside[3], inside[0], inside[1]],
            closed=True,
            fill=WALL,
            stroke=WALL,
            width=0.5,
        )
    sides = ([inside[a], inside[b], outside[b], outside[a]] for a, b in ((0, 1), (3, 2)))
    return "".join(path(side, closed=True, fill=WALL, stroke=WALL, width=0.5) for side in sides)


def _pot_floor(pot: Frustum, wall_m: float, view: View) -> Iterator[str]:
    """Yield the pot's bottom as the pieces that four holes leave."""
    half, top = pot.bottom_radius_m, view.y(wall_m)
    for start, end in ((-1.0, -0.84), (-0.72, -0.36), (-0.24, 0.24), (0.36, 0.72), (0.84, 1.0)):
        left, right = view.x(start * half), view.x(end * half)
        yield box(left, top, right - left, view.foot - top, WALL, WALL)


def _dome(nest: Nest, view: View) -> Iterator[str]:
    if nest.dome is None:
        return
    dome, level = nest.dome.upside_down, nest.set_level_m
    yield _filled(dome, 0.0, dome.height_m, view, PAPER)
    yield _filled(dome, 0.0, min(level, dome.height_m), view, SOLUTION)
    yield _skin(dome, nest.wall_m, view)
    crown = dome.top_radius_m + nest.wall_m
    top, thick = view.y(dome.height_m), max(view.scale * nest.wall_m, 0.5)
    yield box(view.x(-crown), top, 2.0 * view.scale * crown, thick, WALL, WALL)


def _grains(nest: Nest, view: View) -> str:
    """Return the medium's stipple: one path of round dots on a loose lattice."""
    margin_m = GRAIN_MARGIN / view.scale
    spots = [
        f"M{number(view.x(across))} {number(view.y(up))}h.01"
        for across, up in _lattice_m(nest, view.scale)
        if _in_medium(nest, abs(across), up, margin_m)
    ]
    return element("path", d="".join(spots), stroke=GRAIN, stroke_width=1.15, stroke_linecap="round") if spots else ""


def _lattice_m(nest: Nest, scale: float) -> Iterator[Point]:
    """Yield (across, up) in metres over the box around the medium, each spot a little off its place."""
    random, pitch = Random(7), GRAIN_PITCH / scale
    widest = max(nest.pot.bottom_diameter_m, nest.pot.top_diameter_m) / 2.0
    for row in range(int(nest.fill_height_m / (0.8 * pitch)) + 1):
        for column in range(int(2.0 * widest / pitch) + 1):
            across = column + 0.5 * (row % 2) + random.uniform(-0.3, 0.3)
            yield pitch * across - widest, pitch * (0.8 * row + 0.4 + random.uniform(-0.25, 0.25))


def _in_medium(nest: Nest, radius_m: float, height_m: float, margin_m: float) -> bool:
    """Return whether a spot lies in the medium, clear of every wall by a margin."""
    in_fill = margin_m <= height_m <= nest.fill_height_m - margin_m
    if not in_fill or radius_m > half_m(nest.pot.frustum, height_m) - margin_m:
        return False
    if nest.dome is None or height_m > nest.dome.height_m + margin_m:
        return True
    dome = nest.dome.upside_down
    return radius_m > half_m(dome, min(height_m, dome.height_m)) + nest.wall_m + margin_m


def _water_lines(nest: Nest, view: View) -> Iterator[str]:
    """Yield the surface of the solution in the gap and in the dome, with the mark of a level."""
    basin, pot, level, wall = nest.basin.frustum, nest.pot.frustum, nest.set_level_m, nest.wall_m
    y = view.y(level)
    inner, outer = half_m(pot, min(level, pot.height_m)) + wall, half_m(basin, min(level, basin.height_m))
    for side in (-1.0, 1.0):
        yield line((view.x(side * inner), y), (view.x(side * outer), y), WATER_LINE, 1.1)
    if nest.dome and level < nest.dome.height_m:
        half = half_m(nest.dome.upside_down, level)
        yield line((view.x(-half), y), (view.x(half), y), WATER_LINE, 1.1)
        if view.scale * half > 8.0 and view.scale * (nest.dome.height_m - level) > 9.0:
            yield water_mark((view.x(-0.45 * half), y))


def _overflow(nest: Nest, view: View) -> Iterator[str]:
    """Yield the hole in the basin's left wall and the water that would leave through it."""
    low, high = nest.overflow_height_m, nest.overflow_height_m + hole_height_m(nest)
    basin = nest.basin.frustum
    inside, outside = view.x(-half_m(basin, low)), view.x(-half_m(basin, low) - nest.wall_m)
    top_inside, top_outside = view.x(-half_m(basin, high)), view.x(-half_m(basin, high) - nest.wall_m)
    hole = [(inside + 0.6, view.y(low)), (outside - 0.6, view.y(low)), (top_outside - 0.6, view.y(high))]
    yield path([*hole, (top_inside + 0.6, view.y(high))], closed=True, fill=PAPER)
    for corner in (low, high):
        a, b = view.x(-half_m(basin, corner)), view.x(-half_m(basin, corner) - nest.wall_m)
        yield line((a + 0.4, view.y(corner)), (b - 0.4, view.y(corner)), INK, 0.6)
    start, y = outside - 1.5, view.y(low) - 1.0
    spill = f"M{number(start)} {number(y)}q-5 0 -6 9"
    yield element("path", d=spill, stroke=WATER_LINE, stroke_width=1, stroke_dasharray="2 1.4", fill="none")


def _microtube(nest: Nest, view: View, bore_m: float) -> Iterator[str]:
    """Yield the tube through the basin's right wall, drawn no thinner than can be seen."""
    z, basin, pot = tube_height_m(nest), nest.basin.frustum, nest.pot.frustum
    y, thick = view.y(z), max(view.scale * bore_m, 1.4)
    gap = half_m(basin, z) - half_m(pot, min(z, pot.height_m)) - nest.wall_m
    inner, outer = view.x(half_m(basin, z) - 0.5 * gap), view.x(half_m(basin, z) + nest.wall_m) + TUBE_REACH
    yield line((inner, y), (outer, y), WALL, thick + 1.6)
    yield line((inner, y), (outer, y), SOLUTION, thick)
    yield line((outer, y - thick - 2), (outer, y + thick + 2), HAIR, 0.8)
