"""Estimated means, their differences, and which of them a table may tell apart."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product
from math import sqrt

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from wetfoot.trial.comparisons import all_pairs, letters, tukey_critical, tukey_p
from wetfoot.trial.kenward_roger import Estimates, KenwardRoger, estimates
from wetfoot.trial.terms import Array, Model, mean_rows


@dataclass(frozen=True)
class MeansTable:
    """Estimated means of the cells of some factors, averaged with equal weight over all else, these blocks included.

    Attributes:
        factors: the factors.
        cells: the levels of each cell.
        estimates: means with standard error and degrees of freedom, shape (cells,).
        low: lower end of the confidence intervals, shape (cells,).
        high: upper end, shape (cells,).
    """

    factors: tuple[str, ...]
    cells: tuple[tuple[str, ...], ...]
    estimates: Estimates
    low: Array
    high: Array


@dataclass(frozen=True)
class Comparison:
    """All pairs of levels of one factor, over everything or within one cell of the factors it interacts with.

    Attributes:
        factor: the factor whose levels are compared.
        within: the cell in which they are compared, e.g. ``gutter no``; empty if over everything.
        levels: its levels.
        means: their means, shape (k,).
        pairs: positions of the two levels of each pair; a difference is the first less the second.
        differences: with standard errors, degrees of freedom and unadjusted p.
        low: lower end of the unadjusted confidence intervals.
        high: upper end.
        p_tukey: p adjusted for all pairs.
        letters_tukey: letters by Tukey's test, one text for each level.
        letters_lsd: letters by unadjusted tests; to be read only if the factor's F is significant.
    """

    factor: str
    within: str
    levels: tuple[str, ...]
    means: Array
    pairs: tuple[tuple[int, int], ...]
    differences: Estimates
    low: Array
    high: Array
    p_tukey: Array
    letters_tukey: tuple[str, ...]
    letters_lsd: tuple[str, ...]


@dataclass(frozen=True)
class StandardDifference:
    """Standard error of a difference of two means, averaged over the pairs.

    Attributes:
        what: the kind of comparison.
        sed: standard error of the difference.
        df: its degrees of freedom, the smallest of the pairs.
        lsd: least significant difference.
        hsd: honestly significant difference (Tukey).
    """

    what: str
    sed: float
    df: float
    lsd: float
    hsd: float


def means_table(adjusted: KenwardRoger, model: Model, factors: Sequence[str], confidence: float = 0.95) -> MeansTable:
    """Return the estimated means of the cells of some factors.

    Args:
        adjusted: the fit with its adjustment.
        model: its model.
        factors: the factors; none gives the grand mean.
        confidence: of the intervals.
    """
    cells, rows = mean_rows(model, factors)
    found = estimates(adjusted, rows)
    return MeansTable(tuple(factors), tuple(cells), found, *found.interval(confidence))


def compare(
    adjusted: KenwardRoger, model: Model, factor: str, within: Sequence[str] = (), alpha: float = 0.05
) -> tuple[Comparison, ...]:
    """Return all pairs of levels of a factor within every cell of some others.

    Args:
        adjusted: the fit with its adjustment.
        model: its model.
        factor: the factor whose levels are compared.
        within: factors it interacts with; none compares over everything.
        alpha: level of the letters and of 1 - confidence.
    """
    _, rows = mean_rows(model, [*within, factor])
    levels = model.levels[factor]
    places = list(product(*(model.levels[name] for name in within)))
    return tuple(
        _compare_rows(adjusted, factor, _cell_name(within, place), levels, part, alpha)
        for place, part in zip(places, rows.reshape(len(places), len(levels), -1), strict=True)
    )


def _cell_name(names: Sequence[str], levels: Sequence[str]) -> str:
    """Return a cell in words, e.g. ``gutter no, pot air``."""
    return ", ".join(f"{name} {level}" for name, level in zip(names, levels, strict=True))


def _compare_rows(
    adjusted: KenwardRoger, factor: str, within: str, levels: tuple[str, ...], rows: Array, alpha: float
) -> Comparison:
    """Return all pairs of the means that the rows give."""
    pairs = all_pairs(len(levels))
    differences = estimates(adjusted, np.array([rows[i] - rows[j] for i, j in pairs]))
    means = rows @ adjusted.fit.beta
    adjusted_p = tukey_p(np.sqrt(2) * np.abs(differences.value) / differences.se, len(levels), differences.df)
    return Comparison(
        factor, within, levels, means, tuple(pairs), differences, *differences.interval(1 - alpha), adjusted_p,
        *(_letters(means, pairs, p < alpha) for p in (adjusted_p, differences.p)),
    )  # fmt: skip


def _letters(means: Array, pairs: Sequence[tuple[int, int]], differ: NDArray[np.bool_]) -> tuple[str, ...]:
    """Return the letters for a list of pairs that differ or not."""
    table = np.zeros((len(means), len(means)), bool)
    for (i, j), significant in zip(pairs, differ, strict=True):
        table[i, j] = table[j, i] = significant
    return letters(means.tolist(), table)


def standard_difference(comparisons: Sequence[Comparison], alpha: float = 0.05) -> StandardDifference:
    """Return the standard error of a difference for one kind of comparison, averaged over its pairs as a variance.

    Args:
        comparisons: comparisons of one factor, as `compare` gives them.
        alpha: level of the least significant difference.
    """
    first = comparisons[0]
    se = np.concatenate([c.differences.se for c in comparisons])
    df = float(np.concatenate([c.differences.df for c in comparisons]).min())
    sed = float(np.sqrt(np.mean(se**2)))
    inside = f" within one {' and '.join(part.rsplit(' ', 1)[0] for part in first.within.split(', '))}"
    return StandardDifference(
        f"two levels of {first.factor}" + (inside if first.within else ""),
        sed,
        df,
        float(stats.t.isf(alpha / 2, df)) * sed,
        tukey_critical(len(first.levels), df, alpha) * sed / sqrt(2),
    )
