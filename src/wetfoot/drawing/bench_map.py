"""The bench as a map of the pages: each part of it leads to the questions about it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from wetfoot.answers.trace import Answer
from wetfoot.drawing.svg import (
    HAIR,
    INK,
    MEDIUM,
    PAPER,
    QUIET,
    SOLUTION,
    WALL,
    WATER_LINE,
    WOOD,
    box,
    dot,
    element,
    fit,
    line,
    page,
    path,
    words,
)
from wetfoot.plan.model import Plan

WIDTH, HEIGHT = 720.0, 318.0
GROUND = 262.0
TANK_LEFT, TANK_RIGHT, TANK_TOP, TANK_FLOOR = 40.0, 130.0, 92.0, 168.0
BANKS_LEFT, BANKS_RIGHT, BOARD = 176.0, 566.0, 214.0
LEAF = "#5d7f55"
DRAWN_BANKS = 8
SIZE = 12.5
STATE_WORDS = {"yes": "holds", "watch": "watch", "no": "does not hold"}


def bench_map_svg(plan: Plan, banks: Sequence[Answer] = ()) -> str:
    """Return the bench as an SVG whose parts are links.

    Args:
        plan: the plan.
        banks: the verdict on each bank's water, if it was computed.
    """
    parts = [
        *_sky(),
        line((16, GROUND), (WIDTH - 16, GROUND), QUIET, 1.1),
        *_tank(plan),
        *_banks(plan, banks),
        *_table(),
        *_legend(plan),
    ]
    told = "Each part leads to its page: sky, tank, banks, plants, label, notebook, sheet, ground."
    return page(WIDTH, HEIGHT, f"{plan.title}: the bench", told, parts)


def _link(address: str, label: str, parts: Sequence[str]) -> str:
    return element("a", "".join(parts), href=address, aria_label=label)


def _sky() -> Iterator[str]:
    cloud = "M250 46a16 16 0 0 1 30 -8a13 13 0 0 1 22 8a10 10 0 0 1 -2 20h-50a10 10 0 0 1 0 -20z"
    rain = [line((262 + 14 * n, 74), (258 + 14 * n, 88), WATER_LINE, 1.2) for n in range(3)]
    sun = [dot((212, 46), 13, "#f0d58a"), *(_ray(212, 46, n) for n in range(8))]
    name = words(318, 56, "Weather and odds", SIZE, fill=WATER_LINE)
    yield _link("/odds", "Weather and odds", [element("path", d=cloud, fill=PAPER, stroke=QUIET), *rain, *sun, name])


def _ray(x: float, y: float, turn: int) -> str:
    across, up = ((1, 0), (0.7, 0.7), (0, 1), (-0.7, 0.7), (-1, 0), (-0.7, -0.7), (0, -1), (0.7, -0.7))[turn]
    return line((x + 17 * across, y + 17 * up), (x + 22 * across, y + 22 * up), "#b98f2e", 1.2)


def _tank(plan: Plan) -> Iterator[str]:
    middle = (TANK_LEFT + TANK_RIGHT) / 2.0
    parts = [
        box(TANK_LEFT, TANK_TOP, TANK_RIGHT - TANK_LEFT, TANK_FLOOR - TANK_TOP, PAPER, WALL),
        box(TANK_LEFT + 1, TANK_TOP + 16, TANK_RIGHT - TANK_LEFT - 2, TANK_FLOOR - TANK_TOP - 17, SOLUTION),
        box(TANK_LEFT - 6, TANK_FLOOR, TANK_RIGHT - TANK_LEFT + 12, 7, WOOD, WALL),
        *(box(x, TANK_FLOOR + 7, 9, GROUND - TANK_FLOOR - 7, WOOD, WALL) for x in (TANK_LEFT, TANK_RIGHT - 9)),
        words(middle, TANK_TOP + 46, "A + B", SIZE, "middle", WATER_LINE, "bold"),
        words(middle, TANK_TOP - 10, "Solution", SIZE, "middle", WATER_LINE),
    ]
    yield path([(TANK_RIGHT, TANK_FLOOR - 5), (TANK_RIGHT + 22, TANK_FLOOR - 5), (TANK_RIGHT + 22, 238),
                (BANKS_RIGHT - 24, 238)], stroke=WATER_LINE, width=2.0)  # fmt: skip
    yield _link("/solution", "Solution: stocks, EC and what to pour", parts)


def _banks(plan: Plan, answers: Sequence[Answer]) -> Iterator[str]:
    shown = plan.banks[:DRAWN_BANKS]
    step = (BANKS_RIGHT - BANKS_LEFT) / len(shown)
    for index, bank in enumerate(shown):
        left, right = BANKS_LEFT + index * step, BANKS_LEFT + (index + 1) * step - 12
        state = answers[index].state if index < len(answers) else None
        pots = max(1, min(3, int((right - left) / 30)))
        gap = (right - left) / pots
        leaves = [each for n in range(pots) for each in _plant(left + gap * (n + 0.5))]
        yield _link("/stock", f"Stock of {bank.name}: lots, tests, supply", leaves)
        legs = [line((x, BOARD + 6), (x, GROUND), WALL, 2) for x in (left + 8, right - 8)]
        riser = line((left + 12, 238), (left + 12, BOARD), WATER_LINE, 1.6)
        parts = [box(left, BOARD, right - left, 6, WOOD, WALL), *legs, riser]
        for n in range(pots):
            parts += _nest(left + gap * (n + 0.5))
        parts += _state(state, (left + right) / 2.0, GROUND + 30)
        parts.append(
            words((left + right) / 2.0, GROUND + 16, fit(bank.name, step - 6, SIZE), SIZE, "middle", WATER_LINE)
        )
        told = f", {STATE_WORDS[state]}" if state else ""
        yield _link(f"/water#bank-{index + 1}", f"Water of {bank.name}{told}", parts)
    if len(plan.banks) > DRAWN_BANKS:
        more = f"and {len(plan.banks) - DRAWN_BANKS} more banks"
        yield _link("/water", more, [words(BANKS_RIGHT, GROUND + 46, more, SIZE, "end", WATER_LINE)])


def _plant(x: float) -> Iterator[str]:
    for across, tall in ((-9, 34), (0, 46), (9, 36)):
        top = BOARD - 30 - tall
        curve = f"M{x} {BOARD - 28}Q{x + across * 0.3} {BOARD - 34} {x + across} {top}"
        yield element("path", d=curve, fill="none", stroke=LEAF, stroke_width=1.8)
        for up, side in ((0.35, -1), (0.6, 1), (0.85, -1)):
            y, mid = BOARD - 30 - tall * up, x + across * up
            leaf = f"M{mid} {y}q{side * 8} -9 {side * 15} -4q{-side * 7} 6 {-side * 15} 4z"
            yield element("path", d=leaf, fill=LEAF)


def _nest(x: float) -> list[str]:
    basin = [(x - 13, BOARD - 22), (x + 13, BOARD - 22), (x + 10, BOARD), (x - 10, BOARD)]
    pot = [(x - 11, BOARD - 30), (x + 11, BOARD - 30), (x + 8, BOARD - 2), (x - 8, BOARD - 2)]
    water = [(x - 10.9, BOARD - 6), (x + 10.9, BOARD - 6), (x + 10, BOARD), (x - 10, BOARD)]
    return [
        path(pot, closed=True, fill=MEDIUM, stroke=WALL),
        path(water, closed=True, fill=SOLUTION),
        path(basin, closed=True, stroke=WALL, width=1.2),
        line((x - 10.9, BOARD - 6), (x + 10.9, BOARD - 6), WATER_LINE, 1.2),
    ]


def _state(state: str | None, x: float, y: float) -> list[str]:
    """Return the verdict as a shape and a word; nothing where it was not computed."""
    if state is None:
        return []
    left = x - {"yes": 24, "watch": 24, "no": 44}[state]
    if state == "yes":
        sign = [path([(left - 8, y - 4), (left - 4, y), (left + 2, y - 9)], stroke=INK, width=1.8)]
    elif state == "watch":
        sign = [path([(left - 9, y), (left + 1, y), (left - 4, y - 9)], closed=True, fill=INK)]
    else:
        sign = [line((left - 8, y - 8), (left, y), INK, 1.8), line((left, y - 8), (left - 8, y), INK, 1.8)]
    return [*sign, words(left + 6, y, STATE_WORDS[state], 11, fill=INK)]


def _table() -> Iterator[str]:
    """Return the table with notebook and sheet, and the label that stands for the trial."""
    yield box(606, 206, 92, 6, WOOD, WALL)
    yield from (line((x, 212), (x, GROUND), WALL, 2) for x in (616, 688))
    book = [path([(616, 206), (616, 186), (646, 182), (646, 202)], closed=True, fill=PAPER, stroke=INK),
            *(line((621, 190 + 4 * n), (641, 187.5 + 4 * n), HAIR) for n in range(3)),
            words(632, 174, "Records", SIZE, "middle", WATER_LINE)]  # fmt: skip
    yield _link("/records", "Records: everything that was written down", book)
    sheet = [box(660, 176, 26, 30, PAPER, INK), *(line((664, 183 + 6 * n), (682, 183 + 6 * n), HAIR) for n in range(4)),
             words(674, 170, "Sheets", SIZE, "middle", WATER_LINE)]  # fmt: skip
    yield _link("/sheets", "Sheets to print for the yard", sheet)
    label = [line((586, GROUND), (586, 226), INK, 1.6), box(574, 206, 24, 20, PAPER, INK),
             *(box(578 + 6 * n, 210 + 6 * (n % 2), 4, 4, INK) for n in range(3)),
             words(586, 200, "Trial", SIZE, "middle", WATER_LINE)]  # fmt: skip
    yield _link("/trial", "Trial: layout, power, analysis, recommendation", label)


def _legend(plan: Plan) -> Iterator[str]:
    name = words(40, GROUND + 16, "Plan of the bench", SIZE, fill=WATER_LINE)
    ruler = [line((40, GROUND + 24), (140, GROUND + 24), INK, 1.0),
             *(line((40 + 20 * n, GROUND + 20), (40 + 20 * n, GROUND + 28), INK, 0.8) for n in range(6))]  # fmt: skip
    yield _link("/plan", "Plan of bench and season", [name, *ruler])
    yield words(BANKS_LEFT, 128, "Stock", SIZE, fill=WATER_LINE)
