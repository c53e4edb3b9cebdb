"""How the yield of a pot answers to the number of seed pieces: the curve through the means, and the best number."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from wetfoot.answers.trial_table import TrialTable
from wetfoot.trial.best_pieces import BestPieces, best_pieces
from wetfoot.trial.fitting import Fitted
from wetfoot.trial.kenward_roger import estimates
from wetfoot.trial.response import CompetitionCurve, competition_curve_of_means, lack_of_fit, pot_yield_g
from wetfoot.trial.terms import Array, Model, mean_rows

PIECES_NAMES = ("pieces", "piece", "seedpieces", "seed pieces", "sets")
CURVE_SOURCE = "law of competition Y = p / (a + b p) (Shinozaki & Kira 1956; Willey & Heath 1969) through the means"


@dataclass(frozen=True)
class Pieces:
    """The answer to the number of pieces, over everything or within one cell of other factors.

    Attributes:
        factor: heading of the number of pieces.
        where: the cell, e.g. ``gutter no``; empty over everything.
        pieces: numbers tested, shape (k,).
        mean: estimated means, g, shape (k,).
        covariance: of the means, these blocks, shape (k, k), g^2.
        df: error degrees of freedom of the means, the smallest.
        low: lower ends of the intervals of the means, shape (k,).
        high: upper ends.
        step: what each number adds to the one before, g, with interval, shape (k - 1, 3): value, low, high.
        curve: the fitted law, or nothing if the means do not follow it.
        best: the best number, with the seed counted, or nothing without a curve.
        seed_g: what a piece costs in g of harvest.
        lack_p: p that the means depart from the curve, nan with two numbers only.
    """

    factor: str
    where: str
    pieces: Array
    mean: Array
    covariance: Array
    df: float
    low: Array
    high: Array
    step: Array
    curve: CompetitionCurve | None
    best: BestPieces | None
    seed_g: float
    lack_p: float

    @property
    def follows(self) -> bool:
        """Return whether the means follow the curve."""
        return self.curve is not None and not self.lack_p < 0.05

    def expected(self, pieces: Array) -> Array:
        """Return the curve at some numbers of pieces, g."""
        assert self.curve is not None
        return pot_yield_g(pieces, self.curve.a, self.curve.b)


def pieces_factor(table: TrialTable) -> str | None:
    """Return the factor that is the number of seed pieces, if there is one in a table of masses."""
    return next(
        (name for name in table.roles.quantitative if name.casefold().replace("_", " ") in PIECES_NAMES), None
    ) if table.unit else None  # fmt: skip


def pieces_of(
    table: TrialTable, fitted: Fitted, factor: str, seed_g: float, within: tuple[str, ...] = (), level: float = 0.95
) -> tuple[Pieces, ...]:
    """Return the curve over everything, and within every cell of some other factors.

    Args:
        table: the trial.
        fitted: its fit.
        factor: heading of the number of pieces.
        seed_g: what a piece costs in g of harvest.
        within: factors within whose levels curves are drawn too, such as years.
        level: confidence level.
    """
    model = fitted.model
    found = [_one(fitted, model, factor, "", mean_rows(model, (factor,))[1], seed_g, level)]
    for name in within:
        rows = mean_rows(model, (name, factor))[1].reshape(len(model.levels[name]), len(model.levels[factor]), -1)
        for label, part in zip(model.levels[name], rows, strict=True):
            found.append(_one(fitted, model, factor, f"{name} {label}", part, seed_g, level))
    return tuple(found)


def _one(fitted: Fitted, model: Model, factor: str, where: str, rows: Array, seed_g: float, level: float) -> Pieces:
    numbers = np.array([float(text) for text in model.levels[factor]])
    found = estimates(fitted.free, rows)
    low, high = found.interval(level)
    covariance = rows @ fitted.free.covariance @ rows.T
    df = float(found.df.min())
    steps = estimates(fitted.free, rows[1:] - rows[:-1])
    curve = _curve(numbers, found.value, covariance, df)
    return Pieces(
        factor, where, numbers, found.value, covariance, df, low, high,
        np.column_stack([steps.value, *steps.interval(level)]),
        curve, _best(curve, seed_g, level), seed_g, _lack(curve),
    )  # fmt: skip


def _curve(pieces: Array, mean: Array, covariance: Array, df: float) -> CompetitionCurve | None:
    try:
        return competition_curve_of_means(pieces, mean, covariance, df)
    except (ValueError, np.linalg.LinAlgError):
        return None


def _best(curve: CompetitionCurve | None, seed_g: float, level: float) -> BestPieces | None:
    if curve is None:
        return None
    try:
        return best_pieces(curve, seed_g, level)
    except ValueError:
        return None


def _lack(curve: CompetitionCurve | None) -> float:
    try:
        return lack_of_fit(curve)[1] if curve else float("nan")
    except ValueError:
        return float("nan")


def step_by_year(table: TrialTable, fitted: Fitted, factor: str) -> dict[tuple[str, str], Array]:
    """Return what one more piece added in each year, g, by the two numbers: shape (years,)."""
    year = table.roles.year
    assert year is not None
    model = fitted.model
    numbers = model.levels[factor]
    rows = mean_rows(model, (year, factor))[1].reshape(len(model.levels[year]), len(numbers), -1)
    means = rows @ fitted.free.fit.beta
    pairs = list(pairwise(numbers))
    return {pair: means[:, at + 1] - means[:, at] for at, pair in enumerate(pairs)}
