"""What each column of a trial's table stands for, and whether the table can be read that way."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wetfoot.errors import Problem, WetfootError
from wetfoot.trial.terms import (
    Array,
    Labels,
    Term,
    as_texts,
    coded,
    combine,
    empty_cells,
    factorial_terms,
    indicator,
    levels_of,
    nested_coding,
)

BLANK = {"", "nan", "none", "nat", "<na>"}


@dataclass(frozen=True)
class Roles:
    """The column names of a trial by what they stand for.

    Attributes:
        board_factors: factors that a whole board carries.
        pot_factors: factors that vary from pot to pot on a board.
        block: the column of the blocks; the same label in two years means two blocks.
        board: the column of the boards; the same label in two blocks means two boards.
        year: the column of the years, if there are several.
        quantitative: factors whose levels are numbers with a meaning, such as pieces.
        terms: the treatment terms to fit; every main effect and interaction if left out.
    """

    board_factors: tuple[str, ...] = ()
    pot_factors: tuple[str, ...] = ()
    block: str | None = None
    board: str | None = None
    year: str | None = None
    quantitative: tuple[str, ...] = ()
    terms: tuple[Term, ...] | None = None

    @property
    def treatments(self) -> tuple[str, ...]:
        """Return all treatment factors."""
        return (*self.board_factors, *self.pot_factors)

    @property
    def columns(self) -> tuple[str, ...]:
        """Return all columns that the analysis reads."""
        return (*self.treatments, *(name for name in (self.year, self.block, self.board) if name))

    def treatment_terms(self) -> tuple[Term, ...]:
        """Return the treatment terms, without the year."""
        return factorial_terms(self.treatments) if self.terms is None else self.terms

    def is_on_boards(self, term: Term) -> bool:
        """Return whether a term varies between boards only."""
        return bool(self.board) and set(term) <= {*self.board_factors, *([self.year] if self.year else [])}


@dataclass(frozen=True)
class Units:
    """The experimental units of the weighed pots.

    Attributes:
        block: label of the block, different between years, shape (n,), or nothing.
        board: label of the board, different between blocks, shape (n,), or nothing.
        nuisance: columns of the blocks, shape (n, any).
    """

    block: Labels | None
    board: Labels | None
    nuisance: Array

    def groupings(self) -> dict[str, Labels]:
        """Return the error strata from coarse to fine."""
        return {name: labels for name, labels in (("block", self.block), ("board", self.board)) if labels is not None}


def units(factors: Mapping[str, Labels], roles: Roles) -> Units:
    """Return the experimental units of pots.

    Args:
        factors: one label per pot for each column, shape (n,) each.
        roles: what the columns stand for.
    """
    outer = [factors[name] for name in (roles.year, roles.block) if name]
    block = combine(*outer) if roles.block else None
    board = combine(*outer, factors[roles.board]) if roles.board else None
    n = len(next(iter(factors.values())))
    if not roles.block:
        nuisance = np.empty((n, 0))
    elif roles.year:
        nuisance = nested_coding(factors[roles.year], factors[roles.block])
    else:
        nuisance = coded(factors[roles.block], levels_of(factors[roles.block]))
    return Units(block, board, nuisance)


def check_table(y: Array, factors: Mapping[str, Labels], roles: Roles) -> NDArray[np.bool_]:
    """Return which pots have a value, once the table has been found readable under its roles.

    Args:
        y: responses, gaps as nan, shape (n,).
        factors: one label per pot for each column, shape (n,) each.
        roles: what the columns stand for.

    Raises:
        WetfootError: with everything that is wrong.
    """
    problems = _column_problems(y, factors, roles)
    if problems:
        raise WetfootError(problems)
    seen = np.isfinite(y)
    problems = _term_problems(roles) or _factor_problems(factors, roles, seen)
    if not problems:
        problems = [*_board_problems(factors, roles), *_cell_problems(factors, roles, seen)]
    if problems:
        raise WetfootError(problems)
    return seen


def _column_problems(y: Array, factors: Mapping[str, Labels], roles: Roles) -> list[Problem]:
    """Return what is wrong with the shape of the table."""
    found = [
        Problem(name, "no such column", ", ".join(factors), "name a column of the table")
        for name in roles.columns
        if name not in factors
    ]
    found += [
        Problem(name, f"{len(labels)} labels for {len(y)} pots", "one label for every pot")
        for name, labels in factors.items()
        if len(labels) != len(y)
    ]
    twice = {name for name in roles.columns if roles.columns.count(name) > 1}
    found += [Problem(name, "stands for two things at once", "one role for each column") for name in sorted(twice)]
    if not roles.treatments:
        found.append(Problem("roles", "no treatment factor", "at least one factor on boards or on pots"))
    if roles.board_factors and not roles.board:
        fix = "name the column that tells the boards apart"
        found.append(Problem("board", f"{', '.join(roles.board_factors)} on whole boards, but no boards", fix=fix))
    if np.isinf(y).any():
        found.append(Problem("response", "a value is infinite", "a number, or nothing for a lost pot"))
    found += [
        Problem(name, f"{blank} pots have no label", "one label for every pot", "fill in what stood in them")
        for name in roles.columns
        if name in factors and (blank := sum(text.strip().lower() in BLANK for text in as_texts(factors[name])))
    ]
    if not np.isfinite(y).any():
        found.append(Problem("response", "no pot has a value", "a number for each pot that was weighed"))
    return found


def _term_problems(roles: Roles) -> list[Problem]:
    """Return what is wrong with the terms that were asked for."""
    known = set(roles.treatments)
    return [
        Problem("terms", f"{':'.join(term) or 'empty term'} is not made of treatment factors", ", ".join(sorted(known)))
        for term in roles.treatment_terms()
        if not term or not set(term) <= known
    ] + [
        Problem("quantitative", f"{name} is not a treatment factor", ", ".join(sorted(known)))
        for name in roles.quantitative
        if name not in known
    ]


def _factor_problems(factors: Mapping[str, Labels], roles: Roles, seen: NDArray[np.bool_]) -> list[Problem]:
    """Return factors with a single level, and quantitative ones whose levels are not numbers."""
    found = []
    names = (*roles.treatments, *([roles.year] if roles.year else []))
    for name in names:
        if len(levels_of(factors[name][seen])) < 2:
            fix = "leave it out, or say which pots had another level"
            found.append(Problem(name, "all weighed pots have the same level", "two levels or more", fix))
    for name in roles.quantitative:
        odd = [level for level in levels_of(factors[name]) if not _is_number(level)]
        if odd:
            found.append(Problem(name, f"level {odd[0]!r} is not a number", "numbers", "do not call it quantitative"))
    return found


def _is_number(text: str) -> bool:
    """Return whether a level reads as a finite number."""
    try:
        return bool(np.isfinite(float(text)))
    except ValueError:
        return False


def _board_problems(factors: Mapping[str, Labels], roles: Roles) -> list[Problem]:
    """Return factors whose place, on boards or on pots, does not agree with the table.

    A factor that never varies within a board but is called a pot factor would be judged by pots that are no
    replicates of it, so that is refused rather than warned of.
    """
    if not roles.board:
        return []
    board = units(factors, roles).board
    assert board is not None
    places = indicator(board).T > 0
    varies = {name: [len(set(as_texts(factors[name][place]))) > 1 for place in places] for name in roles.treatments}
    names = levels_of(board)
    found = [
        Problem(name, f"has several levels on board {names[varies[name].index(True)]}", "one level on every board",
                "call it a pot factor, or mend the labels of that board")
        for name in roles.board_factors
        if any(varies[name])
    ]  # fmt: skip
    return found + [
        Problem(name, "has one level on every board", "levels that vary within boards", "call it a board factor")
        for name in roles.pot_factors
        if not any(varies[name])
    ]


def _cell_problems(factors: Mapping[str, Labels], roles: Roles, seen: NDArray[np.bool_]) -> list[Problem]:
    """Return the cells in which no pot was weighed, whose means no analysis can give."""
    terms = roles.treatment_terms()
    if roles.year:
        terms = (*terms, *((roles.year, *term) for term in terms))
    return [
        Problem(cell, "no pot with a value, so its mean cannot be estimated", "at least one weighed pot in every cell",
                "leave a level out, or fit main effects without the interaction")
        for cell in empty_cells({name: labels for name, labels in factors.items()}, terms, seen)
    ]  # fmt: skip
