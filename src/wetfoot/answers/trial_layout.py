"""A trial drawn by lot from what a person typed, with the analysis it implies."""

from __future__ import annotations

import re
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

from wetfoot import __version__
from wetfoot.answers.trace import Answer, Number
from wetfoot.answers.trial_cells import ReportTable
from wetfoot.errors import refuse
from wetfoot.trial.designs import ALGORITHM, Layout, draw
from wetfoot.trial.recipe import Arrangement, Factor, Recipe, check_recipe
from wetfoot.trial.skeleton import Line, cautions, skeleton

_FACTOR = re.compile(r"\s*([^=@]+?)\s*=\s*([^@]+?)\s*(?:@\s*(boards|pots)\s*)?")
FACTOR_EXAMPLE = "'gutter=no,yes@boards' or 'pieces=1,2,3,4@pots'"
SKELETON_SOURCE = "ranks of the terms in the strata of the layout itself (Bailey 2008, ch. 10)"


@dataclass(frozen=True)
class LaidOut:
    """A drawn trial with the lines of its analysis and what to know before planting."""

    layout: Layout
    lines: tuple[Line, ...]
    answer: Answer

    @property
    def skeleton_table(self) -> ReportTable:
        """Return the analysis that the layout implies, before anything is planted."""
        rows = tuple((line.stratum, line.term, line.df, line.df_error, line.critical_f) for line in self.lines)
        return ReportTable(
            "The analysis this layout implies", ("stratum", "term", "df", "error df", "F to exceed at 5 %"), rows,
            ("text", "text", "df", "df", "f"),
        )  # fmt: skip

    def record(self) -> dict[str, Any]:
        """Return the layout for machines: answer, units, trace, warnings."""
        names = [factor.name for factor in self.layout.recipe.factors]
        plots = [
            {"plot": p.number, "block": p.block, "board": p.board, "position": p.position, "pot": p.pot, "code": p.code,
             "treatment": dict(zip(names, p.treatment, strict=True)) if p.treatment else None}
            for p in self.layout.plots
        ]  # fmt: skip
        answer = {**self.answer.record("metric"), "analysis": [vars(line) for line in self.lines], "plots": plots}
        trace = {"recipe": asdict(self.layout.recipe), "algorithm": ALGORITHM, "version": self.layout.version,
                 "wetfoot": __version__}  # fmt: skip
        return {"answer": answer, "units": "metric", "trace": trace, "warnings": list(self.answer.warnings)}


def read_factor(typed: str) -> Factor:
    """Return a factor as it was typed, e.g. ``gutter=no,yes@boards``; on pots if it does not say.

    Raises:
        WetfootError: if it does not read so.
    """
    found = _FACTOR.fullmatch(typed)
    if not found:
        allowed = f"NAME=LEVEL,LEVEL@boards or @pots, such as {FACTOR_EXAMPLE}"
        raise refuse("factor", f"{typed!r} is not a factor", allowed, "write it so")
    levels = tuple(level.strip() for level in found[2].split(","))
    return Factor(found[1], levels, "boards" if found[3] == "boards" else "pots")


def recipe_of(
    factors: tuple[Factor, ...],
    blocks: int,
    seed: str,
    year: int = 0,
    arrangement: str = "random",
    times: int = 1,
    boards_each: int = 1,
    boards_per_set: int = 1,
    guards: int = 0,
    blind: bool = False,
) -> Recipe:
    """Return the recipe of what was typed; this year if none is given.

    Raises:
        WetfootError: if it cannot be laid out, with everything that is wrong.
    """
    wanted: Arrangement = arrangement  # type: ignore[assignment]  # a wrong word is refused with all else
    when = year or date.today().year
    recipe = Recipe(factors, blocks, seed, when, wanted, times, boards_each, boards_per_set, guards, blind)
    check_recipe(recipe)
    return recipe


def trial_layout(recipe: Recipe) -> LaidOut:
    """Return the layout that a recipe draws, with the analysis that it implies.

    Raises:
        WetfootError: if it cannot be laid out, or a term would have no error to be judged by.
    """
    return laid_out(draw(recipe))


def laid_out(layout: Layout) -> LaidOut:
    """Return a layout as it stands, with the analysis that it implies.

    Raises:
        WetfootError: if a term would have no error to be judged by.
    """
    recipe = layout.recipe
    lines = skeleton(layout)
    warnings = tuple(cautions(layout, lines))
    boards = f"{recipe.boards_in_block} board{'s' if recipe.boards_in_block > 1 else ''}"
    words = (
        f"{recipe.blocks} blocks of {boards} with {recipe.positions} pots each: {len(layout.recorded)} recorded pots"
        f"{f' and {len(layout.plots) - len(layout.recorded)} guard pots' if recipe.guards else ''}. "
        f"The seed {recipe.seed!r} draws this layout again at any time."
    )
    how = "as this layout has them"
    numbers = (
        Number("recorded pots", len(layout.recorded), how, SKELETON_SOURCE),
        Number("boards", recipe.boards, how, SKELETON_SOURCE),
        *(Number(f"error degrees of freedom between {line.stratum}s", line.df, how, SKELETON_SOURCE)
          for line in lines if line.term == "error"),
    )  # fmt: skip
    return LaidOut(layout, lines, Answer("How is the trial laid out?", "watch" if warnings else "yes", words, numbers,
                                         warnings))  # fmt: skip
