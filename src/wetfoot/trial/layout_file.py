"""Keep a layout as a table that any spreadsheet opens: every plot, and in one cell the recipe it was drawn from."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Mapping
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

from wetfoot.book.spreadsheet import read_grids, write_rows
from wetfoot.errors import Problem, WetfootError, refuse
from wetfoot.trial.check_character import check_character
from wetfoot.trial.designs import Layout, Plot
from wetfoot.trial.recipe import Factor, Recipe, check_recipe

HEADS = ("plot", "block", "board", "position", "pot code", "check", "treatment")
RECIPE = "recipe (do not edit)"
GUARD = "guard"


def save_layout(layout: Layout, path: Path) -> None:
    """Write a layout as CSV or XLSX; `read_layout` gives it back unchanged.

    Raises:
        WetfootError: if the file cannot be written.
    """
    names = [factor.name for factor in layout.recipe.factors]
    first = [_recipe_text(layout), *[""] * (len(layout.plots) - 1)]
    rows = [[*_cells(plot, len(names)), recipe] for plot, recipe in zip(layout.plots, first, strict=True)]
    write_rows(path, [*HEADS, *names, RECIPE], rows)


def read_layout(path: Path) -> Layout:
    """Return a layout that was saved; its plots count as they stand, edits included.

    `wetfoot.trial.designs.differences` tells where they depart from what the recipe draws.

    Raises:
        WetfootError: if it is not a layout, or its plots do not fit its recipe.
    """
    grid = read_grids(path)[0]
    head = grid.rows[0][1] if grid.rows else []
    if RECIPE not in head or len(grid.rows) < 2:
        raise refuse(path.name, "this is not a layout", f"a table with the column {RECIPE!r}", "draw the layout again")
    lines = [(number, dict(zip(head, cells, strict=False))) for number, cells in grid.rows[1:]]
    try:
        kept = json.loads(lines[0][1].get(RECIPE, ""))
        recipe = _recipe(kept["recipe"])
        algorithm, version = str(kept["algorithm"]), int(kept["version"])
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        raise refuse(path.name, "its recipe cannot be read", "the recipe as it was saved", "restore it") from error
    check_recipe(recipe)
    return Layout(recipe, _plots(path.name, recipe, lines), algorithm, version)


def _cells(plot: Plot, factors: int) -> list[str | int]:
    treatment = plot.treatment or ("",) * factors
    number, code = (GUARD, "") if plot.is_guard else (plot.number, plot.code)
    return [number, plot.block, plot.board, plot.position, plot.pot, check_character(plot.pot), code, *treatment]


def _recipe_text(layout: Layout) -> str:
    kept = {"algorithm": layout.algorithm, "version": layout.version, "recipe": asdict(layout.recipe)}
    return json.dumps(kept, ensure_ascii=False)


def _recipe(kept: Mapping[str, Any]) -> Recipe:
    factors = tuple(Factor(str(f["name"]), tuple(map(str, f["levels"])), f["on"]) for f in kept["factors"])
    return replace(Recipe(**{**kept, "factors": factors}), factors=factors)


def _plots(where: str, recipe: Recipe, lines: list[tuple[int, dict[str, str]]]) -> tuple[Plot, ...]:
    """Return the plots of the lines; refuse those that have no place in the trial."""
    names = [factor.name for factor in recipe.factors]
    digits = len(str(recipe.positions + 2 * recipe.guards))
    plots, problems = [], []
    for number, cells in lines:
        try:
            plot = _plot(cells, names, digits)
        except (ValueError, KeyError) as error:
            problems.append(Problem(f"{where}, row {number}", f"a cell is missing or no number ({error})"))
            continue
        wrong = [f"{n} {level!r}" for n, level, f in zip(names, plot.treatment, recipe.factors, strict=False)
                 if level not in f.levels]  # fmt: skip
        if wrong:
            problems.append(Problem(f"{where}, row {number}", f"{', '.join(wrong)} is not a level", fix="correct it"))
        plots.append(plot)
    codes = [plot.pot for plot in plots] + [str(plot.number) for plot in plots if not plot.is_guard]
    twice = sorted(code for code, count in Counter(codes).items() if count > 1)
    if twice:
        problems.append(Problem(where, f"{', '.join(twice[:10])} stand there twice", "each pot once", "correct them"))
    if problems:
        raise WetfootError(problems)
    return tuple(plots)


def _plot(cells: Mapping[str, str], names: list[str], digits: int) -> Plot:
    block, position = int(cells["block"]), int(cells["position"])
    if cells["plot"] == GUARD:
        return Plot(0, block, cells["board"], position, digits=digits)
    treatment = tuple(cells[name] for name in names)
    return Plot(int(cells["plot"]), block, cells["board"], position, treatment, cells["treatment"], digits)
