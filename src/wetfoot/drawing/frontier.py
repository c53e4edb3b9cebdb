"""The frontier of visits and tank: the chance of a dry season for each pair, as a table one can look at."""

from __future__ import annotations

from wetfoot.answers.visits import Frontier, Pair
from wetfoot.drawing.svg import INK, QUIET, box, page, words
from wetfoot.plan.model import Plan
from wetfoot.quantities import show

LEFT, TOP, CELL_W, CELL_H = 96.0, 78.0, 58.0, 30.0
SHADES = ((0.0, "#ffffff"), (0.02, "#e4eef3"), (0.05, "#c6dde8"), (0.2, "#f3dfb4"), (0.5, "#e6b98a"), (1.01, "#d49182"))


def frontier_svg(frontier: Frontier, plan: Plan) -> str:
    """Return the chances by visit interval and tank, with what is accepted framed, the plan's own and the best marked.

    Args:
        frontier: the pairs that were tried.
        plan: whose units are used.
    """
    intervals = sorted({pair.every_d for pair in frontier.pairs})
    tanks = sorted({pair.tank_l for pair in frontier.pairs}, reverse=True)
    at = {(pair.every_d, pair.tank_l): pair for pair in frontier.pairs}
    width, height = LEFT + CELL_W * len(intervals) + 20, TOP + CELL_H * len(tanks) + 74
    parts = [
        words(12, 20, "Chance that tank or pots run dry once in a season", 15, weight="bold"),
        words(12, 36, f"Framed: within the {100 * frontier.accepted:g} % that you accept. Cost: labour and tank.",
              10.5, fill=QUIET),
        words(LEFT, TOP - 22, "a visit every … days", 10.5, fill=QUIET),
        words(12, TOP - 8, "tank", 10.5, fill=QUIET),
    ]  # fmt: skip
    for column, every_d in enumerate(intervals):
        parts.append(words(LEFT + CELL_W * (column + 0.5), TOP - 7, f"{every_d}", 11.5, "middle"))
    for row, tank_l in enumerate(tanks):
        y = TOP + CELL_H * row
        parts.append(words(LEFT - 8, y + 19, show(tank_l, "volume", plan.units), 11.5, "end"))
        for column, every_d in enumerate(intervals):
            parts += _cell(at[every_d, tank_l], frontier, LEFT + CELL_W * column, y)
    parts += _key(frontier, plan, TOP + CELL_H * len(tanks) + 22)
    told = frontier.answer.words
    return page(width, height, "Visits and tank", told, parts)


def _cell(pair: Pair, frontier: Frontier, x: float, y: float) -> list[str]:
    accepted = pair.chance <= frontier.accepted
    shade = next(colour for most, colour in SHADES if pair.chance <= most)
    parts = [box(x + 1, y + 1, CELL_W - 2, CELL_H - 2, shade, INK if accepted else "none")]
    mark = "● " if pair == frontier.best else "○ " if pair == frontier.own else ""
    weight = "bold" if mark else None
    return [*parts, words(x + CELL_W / 2, y + 19, f"{mark}{100 * pair.chance:.0f} %", 11.5, "middle", weight=weight)]


def _key(frontier: Frontier, plan: Plan, y: float) -> list[str]:
    own = f"○ as planned{_cost(frontier.own, plan)}"
    parts = [words(12, y, own, 11)]
    if frontier.best is not None and frontier.best != frontier.own:
        parts.append(words(12, y + 16, f"● cheapest within what is accepted{_cost(frontier.best, plan)}", 11))
    elif frontier.best is not None:
        parts.append(words(12, y + 16, "● that is the cheapest within what is accepted", 11))
    else:
        parts.append(words(12, y + 16, "no pair is within what is accepted", 11))
    return parts


def _cost(pair: Pair, plan: Plan) -> str:
    return "" if pair.cost is None else f": {pair.cost:,.0f} {plan.costs.currency} a season"
