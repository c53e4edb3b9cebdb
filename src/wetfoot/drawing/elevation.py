"""The bench from the side, heights to scale: tank, supply line, sumps, boards and pots, without words."""

from __future__ import annotations

from collections.abc import Iterator

from wetfoot.drawing.stage import (
    BOARD,
    BREAK,
    PIPE_ABOVE_GROUND,
    RISER,
    Bay,
    Stage,
    break_width,
    inlet_y,
    lateral_y,
    nest_half_m,
    outlet_m,
    pot_depth_m,
    shut_off_y,
    spill_at,
    sump_height,
    tank_top_m,
)
from wetfoot.drawing.svg import (
    HAIR,
    INK,
    MEDIUM,
    PAPER,
    QUIET,
    SOAKED,
    SOLUTION,
    WALL,
    WATER_LINE,
    WOOD,
    Point,
    box,
    dot,
    element,
    line,
    number,
    path,
    words,
)
from wetfoot.plan.model import Tank
from wetfoot.water.nest import Frustum, radius_m

PIPE = 2.2
COURSE_M = 0.2
BOARD_LEG = "#b79a70"


def tank_parts(tank: Tank, stage: Stage, left: float, width: float) -> Iterator[str]:
    """Yield the tank on its blocks with its water, what stays in it, and the hose above."""
    floor, top = stage.y(tank.base_height_m), stage.y(tank_top_m(tank))
    full, outlet = stage.y(tank.base_height_m + tank.water_depth_m), stage.y(outlet_m(tank))
    yield from _blocks(tank, stage, left - 4.0, width + 8.0)
    yield box(left, full, width, floor - full, SOLUTION)
    yield box(left, outlet, width, floor - outlet, SOAKED)
    yield line((left, full), (left + width, full), WATER_LINE, 1.1)
    yield path([(left, top), (left, floor), (left + width, floor), (left + width, top)], stroke=WALL, width=1.6)
    yield from _hose(left + 0.25 * width, top)


def _blocks(tank: Tank, stage: Stage, left: float, width: float) -> Iterator[str]:
    """Yield courses of blocks from the ground to the tank's floor, the joints staggered."""
    if tank.base_height_m <= 0:
        return
    height = stage.scale * tank.base_height_m
    courses = max(1, round(height / max(stage.scale * COURSE_M, 7.0)))
    each = height / courses
    yield box(left, stage.ground - height, width, height, "#ece8e1", HAIR)
    for course in range(courses):
        y = stage.ground - each * course
        yield line((left, y), (left + width, y), HAIR)
        for part in (1, 3) if course % 2 else (2,):
            yield line((left + width * part / 4.0, y), (left + width * part / 4.0, y - each), HAIR)


def _hose(x: float, rim: float) -> Iterator[str]:
    end = rim - 7.0
    bend = f"M{number(x - 14)} {number(end - 15)}h6q8 0 8 8v7"
    for stroke, width in ((WALL, 5.0), (PAPER, 3.2)):
        yield element("path", d=bend, stroke=stroke, stroke_width=width, fill="none")
    yield line((x, end + 1.0), (x, rim + 3.0), WATER_LINE, 1.2, dash="2 1.6")


def supply_parts(stage: Stage, outlet: Point, bays: tuple[Bay, ...], more_to: float | None) -> Iterator[str]:
    """Yield the supply line: from the outlet down, along the ground, up to each sump through its shut-off.

    Args:
        stage: where heights land.
        outlet: the tank's outlet on the paper.
        bays: the banks drawn.
        more_to: how far the line goes on to banks that are not drawn, None if there are none.
    """
    low, end = stage.ground - PIPE_ABOVE_GROUND, bays[-1].left + RISER
    yield path(
        [outlet, (outlet[0] + 9.0, outlet[1]), (outlet[0] + 9.0, low), (end, low)],
        stroke=WATER_LINE,
        width=PIPE,
    )
    if more_to is not None:
        yield line((end, low), (more_to, low), WATER_LINE, PIPE, dash="5 3")
    for each in bays:
        x, top = each.left + RISER, inlet_y(each, stage)
        corner = each.start + 0.35 * each.sump
        yield path([(x, low), (x, top), (corner, top), (corner, top + 4.0)], stroke=WATER_LINE, width=PIPE)
        yield _shut_off((x, shut_off_y(each, stage)))


def _shut_off(at: Point) -> str:
    """Return the sign of a valve, two triangles tip to tip."""
    x, y = at
    return path([(x - 3, y - 4.5), (x + 3, y - 4.5), (x - 3, y + 4.5), (x + 3, y + 4.5)], True, PAPER, INK, 0.9)


def bay_parts(each: Bay, stage: Stage) -> Iterator[str]:
    """Yield a bank: legs, board, lateral, sump with its float, and the pots."""
    board = stage.y(each.bank.board_height_m)
    for x in (each.start + 4.0, each.end - 4.0):
        yield line((x, board - each.lift(x)), (x, stage.ground), BOARD_LEG, 2.0)
    yield from _plank(each, board)
    out, end = each.start + 0.5 * each.sump, each.places[-1]
    lateral = [(out, board), (out, lateral_y(each, stage, out)), (end, lateral_y(each, stage, end))]
    yield path(lateral, stroke=WATER_LINE, width=1.6)
    yield from _sump(each, stage, board)
    for place in each.places:
        yield from _pot(each, stage, place)
    yield _spill(each, stage)
    if each.broken:
        yield from _break((each.places[-2] + each.places[-1]) / 2.0, each, stage)


def _plank(each: Bay, board: float) -> Iterator[str]:
    ends = (each.start - 2.0, each.end + 3.0)
    upper = [(x, board - each.lift(x)) for x in ends]
    yield path([*upper, *((x, y + BOARD) for x, y in reversed(upper))], closed=True, fill=WOOD, stroke=BOARD_LEG)


def _sump(each: Bay, stage: Stage, board: float) -> Iterator[str]:
    left, right = each.start, each.start + each.sump
    top, level = board - sump_height(each, stage), board - stage.scale * each.nest.set_level_m
    yield box(left, min(level, board), each.sump, board - level, SOLUTION)
    yield line((left, level), (right, level), WATER_LINE)
    yield path([(left, top), (left, board), (right, board), (right, top)], stroke=WALL, width=1.1)
    radius = min(max(stage.scale * each.bank.float_diameter_m / 2.0, 1.6), 0.26 * each.sump)
    middle = (left + 0.62 * each.sump, level)
    yield line((left + 0.35 * each.sump, inlet_y(each, stage) + 4.0), middle, INK, 0.7)
    yield element("circle", cx=middle[0], cy=middle[1], r=radius, fill=PAPER, stroke=INK, stroke_width=0.8)


def _pot(each: Bay, stage: Stage, place: float) -> Iterator[str]:
    """Yield a nest from outside: the basin with its depth showing, the pot behind it, the medium above."""
    nest = each.nest
    foot, across = stage.y(each.bank.board_height_m) - each.lift(place), each.pot_half / nest_half_m(nest)

    def outline(vessel: Frustum, low_m: float, high_m: float) -> list[Point]:
        pairs = [(across * (float(radius_m(vessel, z)) + nest.wall_m), foot - stage.scale * z) for z in (low_m, high_m)]
        return [(place + r, y) for r, y in pairs] + [(place - r, y) for r, y in reversed(pairs)]

    depth = pot_depth_m(each, place)
    yield path(outline(nest.pot.frustum, 0.0, nest.pot.height_m), True, PAPER, WALL, 0.9)
    yield path(outline(nest.pot.frustum, 0.0, nest.fill_height_m), True, MEDIUM)
    yield path(outline(nest.basin.frustum, 0.0, nest.basin.height_m), True, "none", WALL, 0.9)
    yield path(outline(nest.basin.frustum, 0.0, depth), True, SOLUTION)
    yield path(outline(nest.basin.frustum, 0.0, nest.basin.height_m), True, "none", WALL, 0.9)
    yield line(
        (place, lateral_y(each, stage, place)),
        (place, foot - 0.5 * stage.scale * nest.set_level_m),
        WATER_LINE,
        0.9,
    )


def _spill(each: Bay, stage: Stage) -> str:
    """Return the water that would leave through the overflow of a bank's first pot."""
    x, y = spill_at(each, stage)
    drop = f"M{number(x)} {number(y)}q-4 0 -4.5 7"
    return element("path", d=drop, stroke=WATER_LINE, stroke_width=0.9, stroke_dasharray="2 1.4", fill="none")


def _break(x: float, each: Bay, stage: Stage) -> Iterator[str]:
    """Yield the gap in board and lateral that stands for the pots left out, and their number."""
    y = stage.y(each.bank.board_height_m) - each.lift(x)
    yield path([(x - 3, y - 2), (x + 3, y - 2), (x + 1, y + 9), (x - 5, y + 9)], closed=True, fill=PAPER)
    for shift in (-2.0, 4.0):
        yield line((x + shift - 3.0, y + 10.0), (x + shift, y - 3.0), QUIET, 0.7)
    if break_width(each.bank, each.nest, stage.scale) > BREAK:
        yield words(x, y - 14.0, f"+{each.bank.pots - len(each.places)}", anchor="middle", fill=QUIET)
    else:
        yield from (dot((x + shift, y - 14.0), 0.9, QUIET) for shift in (-3.5, 0.0, 3.5))
