"""The analysis that a layout implies, with its degrees of freedom, known before anything is planted."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from scipy import stats

from wetfoot.errors import Problem, WetfootError
from wetfoot.trial.designs import Layout
from wetfoot.trial.strata import Stratum, decompose
from wetfoot.trial.terms import Array, Labels, Term, build_model, factorial_terms, indicator, term_name

FEW_DF = 5  # below it a test finds only large differences: common practice, no source
POSITION = "position"
ERROR = "error"


@dataclass(frozen=True)
class Line:
    """A line of the table: a term or the error of a stratum, its degrees of freedom, and those of its error."""

    stratum: str
    term: str
    df: int
    df_error: int | None = None

    @property
    def critical_f(self) -> float | None:
        """Return the F that a term must exceed at the 5 % level."""
        return float(stats.f.isf(0.05, self.df, self.df_error)) if self.df_error else None


def skeleton(layout: Layout) -> tuple[Line, ...]:
    """Return the lines of the analysis of variance of a layout, stratum by stratum, from its own plots.

    Source: strata of a randomised layout, Bailey 2008, Design of Comparative Experiments, ch. 10 (from memory); degrees
    of freedom are ranks of the terms' projections on the strata, so that they hold for any layout.

    Raises:
        WetfootError: if a term would have no error to be tested against.
    """
    factors = {factor.name: np.array(layout.levels(factor.name)) for factor in layout.recipe.factors}
    terms = factorial_terms(tuple(factors))
    model = build_model(factors, terms)
    columns = {term_name(term): model.columns(term) for term in terms}
    strata = decompose(_groupings(layout), {**_positions(layout), **columns})
    lines = tuple(line for stratum in strata for line in _lines(stratum))
    problems = [*_untested(lines), *_lost(lines, terms)]
    if problems:
        raise WetfootError(problems)
    return lines


def cautions(layout: Layout, lines: tuple[Line, ...]) -> list[str]:
    """Return what a planner should know of the tests before planting, in words.

    Args:
        layout: the layout.
        lines: its skeleton.
    """
    found = []
    for line in lines:
        if line.df_error is not None and line.df_error < FEW_DF and line.term != POSITION:
            found.append(
                f"{line.term} is tested with {line.df_error} degrees of freedom of error: F must exceed "
                f"{line.critical_f:.2f}. More blocks help; more pots on a board hardly do."
            )
    recipe = layout.recipe
    if recipe.arrangement != "random":
        found.append("Every treatment stands once in each position: keep position in the model, as a fixed term.")
        if any(factor.on == "boards" for factor in recipe.factors):
            found.append(
                "Interactions with the boards' factor are not quite apart from position; they are tested after it."
            )
    if recipe.boards_per_set > 1:
        found.append("A set spreads over several boards: differences between boards stay in the error.")
    if recipe.arrangement == "random" and not recipe.guards:
        found.append("The ends of a board are hot and unshaded: guard pots or a square would take that out.")
    return found


def _groupings(layout: Layout) -> dict[str, Labels]:
    """Return the error strata that are there: blocks if several, boards if they hold whole sets and are not blocks."""
    recipe = layout.recipe
    found: dict[str, Labels] = {}
    if recipe.blocks > 1:
        found["block"] = np.array([plot.block for plot in layout.recorded])
    one_pot_boards = recipe.positions == 1
    if recipe.boards > 1 and recipe.boards_per_set == 1 and recipe.boards_in_block > 1 and not one_pot_boards:
        found["board"] = np.array([plot.board for plot in layout.recorded])
    return found


def _positions(layout: Layout) -> dict[str, Array]:
    """Return the columns of the positions where a square makes them removable."""
    if layout.recipe.arrangement == "random":
        return {}
    shares = indicator(np.array([plot.position for plot in layout.recorded]))
    return {POSITION: shares - shares.mean(axis=0)}


def _lines(stratum: Stratum) -> Iterator[Line]:
    rest = stratum.df_residual
    for term, basis in stratum.terms.items():
        yield Line(stratum.name, term, basis.shape[1], rest)
    if rest:
        yield Line(stratum.name, ERROR, rest)


def _untested(lines: tuple[Line, ...]) -> Iterator[Problem]:
    """Yield a problem for each stratum that has terms and no error, its terms named together."""
    for stratum in dict.fromkeys(line.stratum for line in lines):
        terms = [line.term for line in lines if line.stratum == stratum and line.df_error == 0]
        if terms:
            which = (
                "each treatment stand several times" if stratum == lines[-1].stratum else "several boards carry each"
            )
            what = f"nothing is left between {stratum}s for the error of {', '.join(terms)}"
            fix = f"take more blocks, or let {which}"
            yield Problem("design", what, "at least 1 degree of freedom of error for every term", fix)


def _lost(lines: tuple[Line, ...], terms: tuple[Term, ...]) -> Iterator[Problem]:
    shown = {line.term for line in lines}
    for term in terms:
        if term_name(term) not in shown:
            yield Problem("design", f"{term_name(term)} cannot be told apart from other terms", fix="take more blocks")
