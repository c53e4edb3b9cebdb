"""Pots that split: how often at each number of pieces, what drives it, and whether they were weighed or lost."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from wetfoot.answers.trial_table import TrialTable
from wetfoot.trial.binary import firth_logistic
from wetfoot.trial.board_effect import random_intercept_logistic
from wetfoot.trial.exact import exact_independence_p, exact_trend_p
from wetfoot.trial.proportions import wilson_interval
from wetfoot.trial.split_pots import SplitPots, split_pots
from wetfoot.trial.terms import Array, as_texts, combine, levels_of

SPLIT_SOURCE = (
    "Firth's logistic regression with profile intervals (Firth 1993; Heinze & Schemper 2002); Wilson intervals"
)


@dataclass(frozen=True)
class Effect:
    """What multiplies the odds of splitting, with its profile interval and p."""

    what: str
    odds_ratio: float
    low: float
    high: float
    p: float


@dataclass(frozen=True)
class Splits:
    """Pots that split.

    Attributes:
        factor: the factor whose levels are told apart, the number of pieces where there is one.
        levels: its levels.
        pots: pots of each level whose state is known, shape (k,).
        split: those that split, shape (k,).
        low: lower ends of Wilson's intervals of the share, shape (k,).
        high: upper ends.
        weighed: both ways of looking at split pots, where the factor's levels are numbers.
        effects: what drives it.
        trend_p: exact p of a rise with the factor's numbers, or of any difference between its levels.
        trend: whether it is that of a rise.
        board_sd: standard deviation between boards on the log-odds scale, nan where it cannot be estimated.
        words: what can be said.
    """

    factor: str
    levels: tuple[str, ...]
    pots: Array
    split: Array
    low: Array
    high: Array
    weighed: SplitPots | None
    effects: tuple[Effect, ...]
    trend_p: float
    trend: bool
    board_sd: float
    words: str

    def share(self, level: str) -> float:
        """Return the share of pots of a level that split."""
        at = self.levels.index(level)
        return float(self.split[at] / self.pots[at])


def splits_of(table: TrialTable, factor: str | None, level: float = 0.95) -> Splits | None:
    """Return what is known of pots that split; None without a column that tells, or where none or all split.

    Args:
        table: the trial.
        factor: the number of pieces; the first factor on pots if None.
        level: confidence level.
    """
    if table.split is None or not table.roles.treatments:
        return None
    known = np.isfinite(table.split)
    happened = table.split[known]
    if not 0 < happened.sum() < len(happened):
        return None
    factor = factor or (table.roles.pot_factors or table.roles.board_factors)[0]
    labels = np.array(as_texts(table.factors[factor][known]))
    levels = levels_of(labels)
    pots = np.array([(labels == each).sum() for each in levels], dtype=float)
    split = np.array([happened[labels == each].sum() for each in levels])
    low, high = wilson_interval(split, pots, level)
    numeric = factor in table.roles.quantitative
    trend_p = _exact(split, pots, [float(each) for each in levels] if numeric else None)
    weighed = split_pots(labels.astype(float), happened, table.y[known]) if numeric and table.unit else None
    columns, names = _design(table, known)
    effects = _effects(columns, names, happened, level)
    return Splits(
        factor, levels, pots, split, low, high, weighed, effects, trend_p, numeric,
        _board_sd(table, columns, known), _in_words(factor, levels, pots, split, trend_p, numeric, weighed),
    )  # fmt: skip


def _exact(split: Array, pots: Array, scores: list[float] | None) -> float:
    counts, of = [int(each) for each in split], [int(each) for each in pots]
    try:
        if scores is not None:
            return exact_trend_p(counts, of, scores)[0]
        return exact_independence_p(np.column_stack([split, pots - split]))
    except ValueError:
        return float("nan")


def _design(table: TrialTable, known: Array) -> tuple[Array, list[str]]:
    """Return the columns of the regression: numbers as they are about their middle, other factors against the mean."""
    parts, names = [np.ones((int(known.sum()), 1))], [""]
    for name in table.roles.treatments:
        labels = table.factors[name][known]
        levels = levels_of(labels)
        if name in table.roles.quantitative:
            numbers = np.array([float(text) for text in as_texts(labels)])
            parts.append((numbers - np.unique(numbers).mean())[:, None])
            names.append(f"one more of {name}")
        elif len(levels) > 1:
            texts = np.array(as_texts(labels))[:, None]
            marks = (texts == np.array(levels[1:])).astype(float) - (texts == levels[0])
            parts.append(marks / 2.0 if len(levels) == 2 else marks)
            against = levels[0] if len(levels) == 2 else "the mean"
            names += [f"{name} {each} against {against}" for each in levels[1:]]
    return np.hstack(parts), names


def _effects(columns: Array, names: list[str], happened: Array, level: float) -> tuple[Effect, ...]:
    try:
        fit = firth_logistic(columns, happened, level)
    except (ValueError, np.linalg.LinAlgError):
        return ()
    return tuple(
        Effect(
            name,
            float(np.exp(fit.coefficients[at])),
            float(np.exp(fit.intervals[at, 0])),
            float(np.exp(fit.intervals[at, 1])),
            float(fit.p_values[at]),
        )
        for at, name in enumerate(names)
        if name
    )


def _board_sd(table: TrialTable, columns: Array, known: Array) -> float:
    """Return how far boards differ beyond the treatments, as a check that the pots may be taken one by one."""
    if table.roles.board is None or table.split is None:
        return float("nan")
    outer = [table.factors[name][known] for name in (table.roles.year, table.roles.block) if name]
    board = combine(*outer, table.factors[table.roles.board][known])
    try:
        return random_intercept_logistic(columns, table.split[known], board, nodes=9).board_sd
    except (ValueError, np.linalg.LinAlgError):
        return float("nan")


def _in_words(
    factor: str,
    levels: tuple[str, ...],
    pots: Array,
    split: Array,
    p: float,
    numeric: bool,
    weighed: SplitPots | None,
) -> str:
    told = ", ".join(f"{int(k)} of {int(n)} at {each}" for each, n, k in zip(levels, pots, split, strict=True))
    rises = f"with more {factor} more pots split" if numeric else f"{factor} makes a difference"
    sure = f" That {rises} is {'beyond' if p < 0.05 else 'not beyond'} chance (exact p = {p:.2g})." if p == p else ""
    return f"Pots that split, by {factor}: {told}.{sure}" + (f" {weighed.words}" if weighed else "")
