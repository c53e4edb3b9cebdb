"""The map of a trial: every board with its pots, in blocks, with plot numbers and the walk past them."""

from __future__ import annotations

from itertools import groupby

from wetfoot.drawing.svg import (
    HAIR,
    INK,
    PAPER,
    QUIET,
    SOAKED,
    WATER_LINE,
    Point,
    box,
    element,
    fit,
    line,
    page,
    path,
    words,
)
from wetfoot.trial.designs import Layout, Plot

POT, GAP, LEFT, TOP = 34.0, 5.0, 96.0, 34.0
ROW = POT + 14.0
BLOCK_GAP = 16.0
SMALL = 8.0
TINTS = (PAPER, SOAKED, HAIR, "#f0e6d2")


def trial_map(layout: Layout, title: str = "Trial", blind: bool | None = None) -> str:
    """Return the map of a layout as SVG.

    Args:
        layout: the drawn trial.
        title: what stands over the map.
        blind: whether pots show their codes only; as the recipe has it if not said.
    """
    hide = layout.recipe.blind if blind is None else blind
    rows = [list(plots) for _, plots in groupby(layout.plots, key=lambda plot: plot.board)]
    tops = _tops(rows)
    width = max(LEFT + len(rows[0]) * (POT + GAP) + 12.0, 330.0)
    key = [] if hide else _key(layout, tops[-1] + ROW + 18.0, width)
    parts = [words(12.0, 20.0, fit(title, width - 24.0, 13.0), 13.0)]
    for at, (plots, top) in enumerate(zip(rows, tops, strict=True)):
        parts += _board(layout, plots, top, at, hide)
    parts += [_turn(rows, tops, at) for at in range(len(rows) - 1)]
    height = tops[-1] + ROW + 14.0 + 12.0 * len(key)
    return page(width, height, title, _told(layout), [*parts, *key])


def _tops(rows: list[list[Plot]]) -> list[float]:
    """Return the upper edge of each board's pots; blocks stand apart."""
    return [TOP + 12.0 + at * ROW + (plots[0].block - 1) * BLOCK_GAP for at, plots in enumerate(rows)]


def _board(layout: Layout, plots: list[Plot], top: float, at: int, hide: bool) -> list[str]:
    """Return the pots of a board, its name and what it carries; the block's name stands over its first board."""
    parts = []
    if at % layout.recipe.boards_in_block == 0:
        parts.append(words(12.0, top - 5.0, f"Block {plots[0].block}", 9.5, weight="bold"))
    parts.append(words(12.0, top + 12.0, plots[0].board, 10.0))
    carried = "" if hide else _carried(layout, plots)
    parts.append(words(12.0, top + 24.0, fit(carried, LEFT - 20.0, SMALL), SMALL, fill=QUIET))
    parts.append(box(LEFT - 3.0, top + POT + 1.0, len(plots) * (POT + GAP) + 1.0, 2.5, fill=HAIR))
    for column, plot in enumerate(plots):
        parts += _pot(layout, plot, LEFT + column * (POT + GAP), top, hide)
    return [*parts, _arrow(len(plots), top, backwards=at % 2 == 1)]


def _pot(layout: Layout, plot: Plot, x: float, y: float, hide: bool) -> list[str]:
    middle = x + POT / 2.0
    if plot.is_guard:
        outline = element("rect", x=x, y=y, width=POT, height=POT, fill=PAPER, stroke=HAIR, stroke_dasharray="3 2")
        return [outline, words(middle, y + 20.0, "guard", SMALL, "middle", QUIET)]
    tint = PAPER if hide else TINTS[_shade(layout, plot) % len(TINTS)]
    outline = element("rect", x=x, y=y, width=POT, height=POT, fill=tint, stroke=INK, stroke_width=0.6)
    number = words(middle, y + 11.0, f"{plot.number}", SMALL, "middle", INK)
    return [outline, number, words(middle, y + 26.0, fit(plot.code, POT - 2.0, 11.0), 11.0, "middle", weight="bold")]


def _shade(layout: Layout, plot: Plot) -> int:
    """Return the place of a pot's level of the first factor on pots, which its tint tells."""
    for factor, level in zip(layout.recipe.factors, plot.treatment, strict=True):
        if factor.on == "pots":
            return factor.levels.index(level)
    return 0


def _carried(layout: Layout, plots: list[Plot]) -> str:
    treatment = next(plot.treatment for plot in plots if not plot.is_guard)
    parts = zip(layout.recipe.factors, treatment, strict=True)
    return ", ".join(f"{factor.name} {level}" for factor, level in parts if factor.on == "boards")


def _arrow(pots: int, top: float, backwards: bool) -> str:
    """Return the way one walks along a board, below it."""
    y, start, end = top + POT + 7.0, LEFT, LEFT + pots * (POT + GAP) - GAP
    if backwards:
        start, end = end, start
    back = -4.0 if end > start else 4.0
    tip = path([(end + back, y - 2.5), (end, y), (end + back, y + 2.5)], stroke=WATER_LINE)
    return line((start, y), (end, y), WATER_LINE) + tip


def _turn(rows: list[list[Plot]], tops: list[float], at: int) -> str:
    """Return the turn of the walk from one board to the next, at the end where the first one was left."""
    right = LEFT + len(rows[at]) * (POT + GAP) - GAP
    x, out = (right, 6.0) if at % 2 == 0 else (LEFT, -6.0)
    above, below = tops[at] + POT + 7.0, tops[at + 1] + POT + 7.0
    points: list[Point] = [(x, above), (x + out, above), (x + out, below), (x, below)]
    return path(points, stroke=WATER_LINE, dash="2 2")


def _key(layout: Layout, y: float, width: float) -> list[str]:
    """Return what each code stands for, a line each."""
    names = [factor.name for factor in layout.recipe.factors]
    meaning = {plot.code: plot.treatment for plot in layout.recorded}
    ordered = sorted(meaning, key=lambda code: int(code[1:]))
    told = (f"{code}: {', '.join(f'{n} {level}' for n, level in zip(names, meaning[code], strict=True))}"
            for code in ordered)  # fmt: skip
    return [words(12.0, y + 12.0 * at, fit(text, width - 24.0, 9.0), 9.0) for at, text in enumerate(told)]


def _told(layout: Layout) -> str:
    recipe = layout.recipe
    guards = f", {recipe.guards} guard pot(s) at each end" if recipe.guards else ""
    return (
        f"{recipe.blocks} blocks of {recipe.boards_in_block} boards with {recipe.positions} recorded pots each"
        f"{guards}. "
        "Plots are walked in the order of their numbers, every second board from its far end."
    )
