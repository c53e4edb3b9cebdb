"""What stands in words under the bench: a numbered list of parts, and a table with a column for each bank."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Literal, NamedTuple

from wetfoot.drawing.svg import HAIR, INK, PAPER, QUIET, Point, element, fit, line, words
from wetfoot.plan.model import Bank, Nest, Plan
from wetfoot.quantities import System, number_text, show
from wetfoot.season.bench import tank_head_m
from wetfoot.water.network import BankLevels

ROW = 15.0
KEY = 6.5
WEAK = 10  # the number of the weak point in the drawing
INDENT = 2.0 * KEY + 6.0


class Row(NamedTuple):
    """A row of the table: its number in the drawing, if any, its heading, and what it says of a bank."""

    key: int | None
    heading: str
    cell: Callable[[Bank, Nest], str]


def key_ring(key: int, at: Point) -> str:
    """Return a number in a ring, the same in the drawing and in the list."""
    ring = element("circle", cx=at[0], cy=at[1], r=KEY, fill=PAPER, stroke=INK, stroke_width=0.7)
    return ring + words(at[0], at[1] + 3.5, str(key), anchor="middle")


def count(number: int, thing: str) -> str:
    """Return a number with its thing, in the plural where it must be.

    >>> count(1, "pot"), count(1200, "pot")
    ('1 pot', '1,200 pots')
    """
    return f"{number_text(number, 6)} {thing}" + ("" if number == 1 else "s")


def notes(plan: Plan, system: System, left: float, y: float, width: float) -> Iterator[str]:
    """Yield the list of what all banks share, a line each from y downwards."""
    tank, supply = plan.tank, plan.supply_line
    deep, floor = (show(z, "distance", system) for z in (tank.water_depth_m, tank.base_height_m))
    bore, length = show(supply.bore_m, "bore", system), show(supply.length_m, "distance", system)
    volume = show(tank.volume_l, "volume", system)
    gap = "1 in" if system == "US" else "25 mm"
    unusable = f", {show(tank.unusable_l, 'volume', system)} below the outlet" if tank.unusable_l else ""
    said = (
        # ASME A112.1.2: an air gap of two bores of the outlet, and not less than 1 inch (25 mm)
        f"hose outlet: two hose bores above the rim, at least {gap}, so that nothing is drawn back",
        f"tank: {volume}, {deep} deep when full{unusable}; floor {floor} above ground",
        f"supply line: {bore} bore, {length} long; no high points, where air would gather",
        "shut-off: one for each bank, before its float valve",
    )
    for index, text in enumerate(said):
        yield key_ring(1 + index, (left + KEY, y + ROW * index - 3.5))
        yield words(left + INDENT, y + ROW * index, fit(text, width - INDENT))


def rows(plan: Plan, system: System, levels: Sequence[BankLevels] = ()) -> list[Row]:
    """Return the rows of the table; with the banks' levels at the thirstiest hour, also where the weak point is."""
    found = {bank.name: each for bank, each in zip(plan.banks, levels, strict=False)}

    def showing(kind: str, value: Callable[[Bank, Nest], float]) -> Callable[[Bank, Nest], str]:
        return lambda bank, nest: show(value(bank, nest), kind, system)

    weak = [
        Row(WEAK, "least depth, thirstiest hour", lambda bank, _: _extreme(found[bank.name], "argmin", system)),
        Row(None, "greatest depth then", lambda bank, _: _extreme(found[bank.name], "argmax", system)),
    ]
    return [
        Row(None, "pots", lambda bank, _: f"{number_text(bank.pots, 6)} × {bank.nest}"),
        Row(5, "float valve in the sump, seat", showing("bore", lambda bank, _: bank.valve_seat_m)),
        Row(6, "lateral, bore", showing("bore", lambda bank, _: bank.lateral_bore_m)),
        Row(None, "lateral, length", showing("distance", lambda bank, _: bank.lateral_length_m)),
        Row(7, "microtubes, bore", showing("bore", lambda bank, _: bank.microtube_bore_m)),
        Row(None, "microtubes, length", showing("distance", lambda bank, _: bank.microtube_length_m)),
        Row(8, "overflow, above the bottom", showing("depth", lambda _, nest: nest.overflow_height_m)),
        Row(None, "set level, above the bottom", showing("depth", lambda _, nest: nest.set_level_m)),
        Row(
            9,
            "lowest head, floor to level",
            showing("distance", lambda bank, _: tank_head_m(plan, bank, 0.0)),
        ),
        Row(None, "board, above the ground", showing("distance", lambda bank, _: bank.board_height_m)),
        Row(None, "slope of the board", showing("fraction", lambda bank, _: bank.board_slope)),
        Row(None, "its far end", lambda bank, _: far_end(bank, system)),
        Row(None, "rain that gutters take", showing("fraction", lambda bank, _: bank.gutter_fraction)),
        *(weak if found else []),
    ]


def _extreme(levels: BankLevels, which: Literal["argmin", "argmax"], system: System) -> str:
    """Return the least or the greatest depth in a bank, and the pot that has it."""
    pot = int(getattr(levels.depth_m, which)())
    return f"{show(float(levels.depth_m[pot]), 'depth', system)}, pot {pot + 1}"


def far_end(bank: Bank, system: System) -> str:
    """Return how far a board's far end stands above or below its near end."""
    rise = bank.board_slope * bank.lateral_length_m
    if rise == 0:
        return "level"
    text = show(abs(rise), "distance" if abs(rise) >= 1 else "depth", system)
    return f"{text} {'higher' if rise > 0 else 'lower'}"


def table(
    listed: Sequence[Row], columns: Sequence[tuple[Bank, Nest, float, float]], left: float, y: float
) -> Iterator[str]:
    """Yield the table with its heading on y.

    Args:
        listed: the rows.
        columns: (bank, its nest, left edge, width) of each column.
        left: left edge of the row headings.
        y: baseline of the line of bank names.
    """
    right = columns[-1][2] + columns[-1][3]
    for bank, _, start, width in columns:
        yield words(start + 2.0, y, fit(bank.name, width - 6.0), weight="bold")
    for index, (key, heading, cell) in enumerate(listed):
        base = y + ROW * (index + 1)
        yield line((left, base - 11.0), (right, base - 11.0), HAIR, 0.5)
        if key:
            yield key_ring(key, (left + KEY, base - 3.5))
        yield words(left + INDENT, base, heading)
        for bank, nest, start, width in columns:
            yield words(start + 2.0, base, fit(cell(bank, nest), width - 6.0))


def more(plan: Plan, drawn: int, left: float, y: float) -> Iterator[str]:
    """Yield the line on the banks that are not drawn, if there are any."""
    rest = plan.banks[drawn:]
    if rest:
        pots = count(sum(bank.pots for bank in rest), "pot")
        yield words(left, y, f"And {count(len(rest), 'more bank')}, not drawn: {pots}.", fill=QUIET)
