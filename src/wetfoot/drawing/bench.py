"""The bench from the side, from tank to last pot, with the numbers that a person needs to build it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from wetfoot.drawing.bench_list import KEY, ROW, WEAK, count, key_ring, more, notes, rows, table
from wetfoot.drawing.elevation import bay_parts, supply_parts, tank_parts
from wetfoot.drawing.labels import spread, untangled
from wetfoot.drawing.stage import (
    PIPE_ABOVE_GROUND,
    RISER,
    Bay,
    Stage,
    bay,
    lateral_y,
    nest_height_m,
    outlet_m,
    shut_off_y,
    spill_at,
    tank_side_m,
    tank_top_m,
    top_y,
)
from wetfoot.drawing.svg import INK, QUIET, WATER_LINE, dot, fit, line, page, path, words
from wetfoot.plan.model import Bank, Plan
from wetfoot.quantities import System, show
from wetfoot.season.bench import tank_head_m
from wetfoot.water.network import BankLevels

WIDTH = 540.0
EDGE = 12.0
AXIS = 84.0
TANK_LEFT, TANK_NARROWEST, TANK_WIDEST = 98.0, 24.0, 70.0
BAYS_LEFT, BAYS_RIGHT = 194.0, 534.0
HEAD = 46.0
TALLEST = (185.0, 185.0, 165.0, 145.0)  # by number of banks drawn: lower where they stand close
LARGEST_SCALE = 100.0
DRAWN_BANKS = 4
STEEPER = (1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0)
LEAST_RISE, MOST_RISE = 4.0, 16.0


def bench_svg(plan: Plan, system: System, levels: Sequence[BankLevels] = ()) -> str:
    """Return the bench from the side as a standalone SVG: heights to scale, lengths as far as they fit.

    Args:
        plan: the plan.
        system: units in which the numbers are written.
        levels: of each bank at the thirstiest hour, to mark the pot that stands lowest.
    """
    banks = plan.banks[:DRAWN_BANKS]
    nests = [plan.nests[bank.nest] for bank in banks]
    tallest = max(bank.board_height_m + nest_height_m(nest) for bank, nest in zip(banks, nests, strict=True))
    scale = min(LARGEST_SCALE, TALLEST[len(banks) - 1] / max(tank_top_m(plan.tank), tallest))
    steeper = _steeper(banks, scale)
    bays = _bays(plan, scale, steeper)
    about_scale = _scale_words(plan, bays, scale, steeper)
    head = HEAD + 13.5 * (len(about_scale) - 1)
    over_banks = scale * max(tallest, plan.tank.base_height_m) + max(0.0, *(each.rise for each in bays)) + 50.0
    stage = Stage(head + max(scale * tank_top_m(plan.tank) + 30.0, over_banks), scale)
    listed, columns = rows(plan, system, levels), [(each.bank, each.nest, each.left, each.width) for each in bays]
    heading = stage.ground + 28.0 + 4.0 * ROW + 4.0
    last = heading + ROW * len(listed)
    pieces = [
        *_title(plan, about_scale),
        *_drawing(plan, stage, bays, system),
        *_weak_point(stage, bays, levels),
        *notes(plan, system, EDGE, stage.ground + 26.0, WIDTH - 2.0 * EDGE),
        *table(listed, columns, EDGE, heading),
        *more(plan, DRAWN_BANKS, EDGE, last + 18.0),
    ]
    height = last + (26.0 if len(plan.banks) > DRAWN_BANKS else 8.0)
    return page(WIDTH, height, f"{plan.title}: the bench from the side", _told(plan, system), pieces)


def _bays(plan: Plan, scale: float, steeper: float) -> tuple[Bay, ...]:
    """Return the first banks, side by side in equal strips."""
    banks = plan.banks[:DRAWN_BANKS]
    width = (BAYS_RIGHT - BAYS_LEFT) / len(banks)
    rises = [scale * steeper * bank.board_slope * bank.lateral_length_m for bank in banks]
    return tuple(
        bay(bank, plan.nests[bank.nest], BAYS_LEFT + index * width, width, scale, rise)
        for index, (bank, rise) in enumerate(zip(banks, rises, strict=True))
    )


def _steeper(banks: Sequence[Bank], scale: float) -> float:
    """Return by how much slopes are drawn steeper to be seen; below 1 where they would leave the paper."""
    most = scale * max(abs(bank.board_slope * bank.lateral_length_m) for bank in banks)
    falling = (bank for bank in banks if bank.board_slope * bank.lateral_length_m < 0)
    room = min(MOST_RISE, *(scale * bank.board_height_m for bank in falling), MOST_RISE)
    if most == 0:
        return 1.0
    if most > room:
        return room / most
    fitting = [factor for factor in STEEPER if factor * most <= room]
    return next((factor for factor in fitting if factor * most >= LEAST_RISE), fitting[-1])


def _scale_words(plan: Plan, bays: Sequence[Bay], scale: float, steeper: float) -> list[str]:
    """Return what is to scale in the drawing, and what is not, by line."""
    true_tank = TANK_NARROWEST <= scale * tank_side_m(plan.tank) <= TANK_WIDEST
    true = true_tank and all(each.true_widths for each in bays)
    shown = (
        "Heights, pots and their spacing are to scale" if true else "Heights are to scale; widths and lengths are not"
    )
    said = [f"The bench from the side. {shown}."]
    if steeper > 1:
        said.append(f"Slopes are drawn {steeper:g} times as steep.")
    elif steeper < 1:
        said.append("Slopes are drawn less steep than they are.")
    return said


def _title(plan: Plan, about_scale: Sequence[str]) -> Iterator[str]:
    yield words(EDGE, 20.0, fit(plan.title, 350.0, 15.0), size=15.0, weight="bold")
    for index, text in enumerate(about_scale):
        yield words(EDGE, 34.0 + 13.5 * index, text, fill=QUIET)
    banks = f"{count(plan.pots, 'pot')} in {count(len(plan.banks), 'bank')}"
    yield words(WIDTH - EDGE, 20.0, banks + (" · invented" if plan.invented else ""), anchor="end")


def _drawing(plan: Plan, stage: Stage, bays: tuple[Bay, ...], system: System) -> Iterator[str]:
    tank, width = plan.tank, min(max(stage.scale * tank_side_m(plan.tank), TANK_NARROWEST), TANK_WIDEST)
    right = TANK_LEFT + width
    outlet = (right, stage.y(outlet_m(tank)) - 1.5)
    yield line((AXIS, stage.ground), (WIDTH - 6.0, stage.ground), QUIET, 1.1)
    yield line(
        (right, stage.y(tank.base_height_m)),
        (WIDTH - 6.0, stage.y(tank.base_height_m)),
        QUIET,
        0.6,
        dash="1 2",
    )
    yield from supply_parts(stage, outlet, bays, WIDTH - 6.0 if len(plan.banks) > len(bays) else None)
    for each in bays:
        yield from bay_parts(each, stage)
        yield from _head(plan, stage, each, system)
    yield from tank_parts(tank, stage, TANK_LEFT, width)
    yield from _axis(plan, stage, system)
    yield key_ring(1, (TANK_LEFT + 0.25 * width + 14.0, stage.y(tank_top_m(tank)) - 15.0))
    yield key_ring(2, (TANK_LEFT + 0.5 * width, stage.y(tank.base_height_m + 0.5 * tank.water_depth_m)))
    yield key_ring(3, ((right + BAYS_LEFT + 15.0) / 2.0, stage.ground - PIPE_ABOVE_GROUND))
    yield from _keys(bays[0], stage, min(stage.y(tank.base_height_m), top_y(bays[0], stage)) - 34.0)


def _weak_point(stage: Stage, bays: Sequence[Bay], levels: Sequence[BankLevels]) -> Iterator[str]:
    """Yield the mark over the pot that stands lowest of those drawn: the first pot, or the last of its bank."""
    if not levels:
        return
    lacking = [(float(found.depth_m.min()) / each.nest.set_level_m) for each, found in zip(bays, levels, strict=False)]
    weakest = lacking.index(min(lacking))
    each, depth_m = bays[weakest], levels[weakest].depth_m
    x = each.places[0] if depth_m.argmin() < len(depth_m) / 2 else each.places[-1]
    yield key_ring(WEAK, (x, top_y(each, stage) - KEY - 3.0 - each.lift(x)))


def _head(plan: Plan, stage: Stage, each: Bay, system: System) -> Iterator[str]:
    """Yield a bank's lowest head, from the tank's floor to the sump's level, written clear of the pots."""
    floor, level = stage.y(plan.tank.base_height_m), stage.y(each.bank.board_height_m + each.nest.set_level_m)
    x, top = each.left + each.width - 6.0, min(floor, top_y(each, stage))
    yield line((each.start, level), (x + 3.0, level), WATER_LINE, 0.5, dash="1 2")
    yield line((x, top), (x, level), INK, 0.8)
    for y in (floor, level):
        yield line((x - 2.2, y + 2.2), (x + 2.2, y - 2.2), INK, 0.9)
    yield words(x + 3.0, top - 4.5, show(tank_head_m(plan, each.bank, 0.0), "distance", system), anchor="end")
    if each.left == BAYS_LEFT and level - floor > 2.0 * KEY + 6.0:
        yield key_ring(9, (x, (floor + level) / 2.0))


def _axis(plan: Plan, stage: Stage, system: System) -> Iterator[str]:
    """Yield the heights of ground, tank floor and full tank at the left."""
    base, full = plan.tank.base_height_m, plan.tank.base_height_m + plan.tank.water_depth_m
    marks = [("ground 0", 0.0), (f"floor {show(base, 'distance', system)}", base)]
    marks.append((f"full {show(full, 'distance', system)}", full))
    yield line((AXIS, stage.ground), (AXIS, stage.y(full)), QUIET, 0.7)
    places = spread([-stage.y(z) for _, z in marks], 13.5, -stage.ground, 0.0)
    for (text, z), place in zip(marks, places, strict=True):
        y, x = stage.y(z), AXIS - 10.0
        yield line((AXIS + 2.5, y), (TANK_LEFT - 5.0, y), QUIET, 0.5, dash="1 2")
        yield path([(AXIS + 2.5, y), (AXIS - 2.5, y), (x + 2.0, -place)], stroke=QUIET)
        yield words(x, -place + 3.4, fit(text, x - 3.0), anchor="end")


def _keys(each: Bay, stage: Stage, y: float) -> Iterator[str]:
    """Yield the numbers 4 to 8 above the first bank, each with a leader to its part."""
    board, between, pot = stage.y(each.bank.board_height_m), each.start + each.sump + 4.0, each.places[0]
    anchors = {
        4: (each.left + RISER, shut_off_y(each, stage)),
        5: (each.start + 0.62 * each.sump, stage.y(each.bank.board_height_m + each.nest.set_level_m)),
        6: (between, lateral_y(each, stage, between)),
        7: (pot, board + 1.5 - each.lift(pot)),
        8: spill_at(each, stage),
    }
    order = sorted(anchors, key=lambda key: anchors[key])
    spots = spread([anchors[key][0] for key in order], 2.0 * KEY + 1.5, BAYS_LEFT - 10.0, BAYS_RIGHT)
    ports = [(x, y + KEY) for x in spots]
    for key, port in zip(order, untangled([anchors[key] for key in order], ports), strict=True):
        yield line(ports[port], anchors[key], QUIET, 0.5) + dot(anchors[key], 1.1)
        yield key_ring(key, (spots[port], y))


def _told(plan: Plan, system: System) -> str:
    """Return the drawing in a sentence or two."""

    def told(bank: Bank) -> str:
        head = show(tank_head_m(plan, bank, 0.0), "distance", system)
        return f"{bank.name}: {count(bank.pots, 'pot')}, lowest head {head}"

    banks = "; ".join(told(bank) for bank in plan.banks[:DRAWN_BANKS])
    return f"A tank of {show(plan.tank.volume_l, 'volume', system)} feeds {count(plan.pots, 'pot')}. {banks}."
