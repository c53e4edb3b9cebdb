"""Exact tests on small tables of counts, in whole-number arithmetic."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from fractions import Fraction

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

_MOST_STEPS = 300_000  # of the recursions below: a few seconds


def exact_independence_p(table: ArrayLike) -> float:
    """Return the exact p value that rows and columns of a table are unrelated, both margins fixed.

    The sum of the chances of all tables that are at most as likely as the one seen (Freeman & Halton 1951,
    Biometrika 38:141; Fisher's test for 2 x 2; from memory). Tables are enumerated row by row, those with equal
    remainders and equal weight together; weights are whole numbers, so ties are exact.

    Args:
        table: counts, shape (rows, columns).

    Returns:
        The p value.

    Raises:
        ValueError: if an entry is not a count, the table is empty or too large to enumerate.
    """
    rows = _counts(table)
    if len(rows[0]) > len(rows):
        rows = list(zip(*rows, strict=True))
    left = tuple(sum(column) for column in zip(*rows, strict=True))
    seen = math.prod(_arrangements(row) for row in rows)
    states, steps = {(left, 1): 1}, 0
    for row in rows:
        following: defaultdict[tuple[tuple[int, ...], int], int] = defaultdict(int)
        for (remaining, weight), tables in states.items():
            for filled in _fillings(sum(row), remaining):
                steps = _another_step(steps)
                rest = tuple(have - took for have, took in zip(remaining, filled, strict=True))
                following[rest, weight * _arrangements(filled)] += tables
        states = dict(following)
    # Rows use up the columns only when all counts are placed, so what is left here are whole tables.
    total = sum(weight * tables for (_, weight), tables in states.items())
    as_rare = sum(weight * tables for (_, weight), tables in states.items() if weight <= seen)
    return float(Fraction(as_rare, total))


def trend_chi2(happened: Sequence[int], pots: Sequence[int], scores: Sequence[float]) -> tuple[float, float]:
    """Return chi-squared on 1 df and p of a linear trend of proportions over the scores.

    Cochran 1954, Armitage 1955, Biometrics 11:375 (from memory), with the variance of the binomial.

    Args:
        happened: pots in which it happened, per treatment.
        pots: pots of each treatment.
        scores: the amount behind each treatment, true spacing.

    Returns:
        Chi-squared and its p value; 0 and 1 if it happened in all pots or in none.

    Raises:
        ValueError: if counts are not possible or all scores are equal.
    """
    _check_trend(happened, pots, scores)
    k, n, x = (np.asarray(values, dtype=float) for values in (happened, pots, scores))
    chance = k.sum() / n.sum()
    if chance in (0.0, 1.0):
        return 0.0, 1.0
    x = x - (n @ x) / n.sum()
    chi2 = float((x @ k) ** 2 / (chance * (1.0 - chance) * (n @ x**2)))
    return chi2, float(special.chdtrc(1, chi2))


def exact_trend_p(happened: Sequence[int], pots: Sequence[int], scores: Sequence[float]) -> tuple[float, float, float]:
    """Return exact p values of a trend: for a rise, for a fall, and two-sided, given how often it happened in all.

    Conditional on all margins the sum of score times count follows the multivariate hypergeometric law (exact form
    of the Cochran-Armitage test). The two-sided value is twice the smaller one, at most 1.

    Args:
        happened: pots in which it happened, per treatment.
        pots: pots of each treatment.
        scores: the amount behind each treatment, true spacing.

    Returns:
        P(sum >= seen), P(sum <= seen), two-sided.

    Raises:
        ValueError: if counts are not possible or all scores are equal, or there are too many tables.
    """
    _check_trend(happened, pots, scores)
    exact_scores = [Fraction(str(score)) for score in scores]
    seen = sum((score * k for score, k in zip(exact_scores, happened, strict=True)), Fraction(0))
    states: dict[tuple[int, Fraction], int] = {(sum(happened), Fraction(0)): 1}
    steps = 0
    for n, score in zip(pots, exact_scores, strict=True):
        following: defaultdict[tuple[int, Fraction], int] = defaultdict(int)
        for (remaining, amount), ways in states.items():
            for k in range(min(n, remaining) + 1):
                steps = _another_step(steps)
                following[remaining - k, amount + k * score] += ways * math.comb(n, k)
        states = dict(following)
    whole = {amount: ways for (remaining, amount), ways in states.items() if remaining == 0}
    total = sum(whole.values())
    rise = float(Fraction(sum(ways for amount, ways in whole.items() if amount >= seen), total))
    fall = float(Fraction(sum(ways for amount, ways in whole.items() if amount <= seen), total))
    return rise, fall, min(1.0, 2.0 * min(rise, fall))


def _counts(table: ArrayLike) -> list[tuple[int, ...]]:
    given = np.asarray(table)
    if given.ndim != 2 or np.any(given < 0) or np.any(given != np.floor(given)) or given.sum() == 0:
        raise ValueError("table must be rows and columns of counts, not all zero")
    return [tuple(int(count) for count in row) for row in given]


def _check_trend(happened: Sequence[int], pots: Sequence[int], scores: Sequence[float]) -> None:
    if not len(happened) == len(pots) == len(scores):
        raise ValueError(f"happened, pots and scores must be as long, not {len(happened)}, {len(pots)}, {len(scores)}")
    if any(not 0 <= k <= n or n < 1 for k, n in zip(happened, pots, strict=True)) or len(set(scores)) < 2:
        raise ValueError(f"happened must be 0 to pots and scores differ, not {happened} of {pots} at {scores}")


def _arrangements(row: Sequence[int]) -> int:
    """Return the multinomial coefficient of one row."""
    return math.factorial(sum(row)) // math.prod(math.factorial(count) for count in row)


def _fillings(total: int, room: tuple[int, ...]) -> Iterator[tuple[int, ...]]:
    """Yield every way to place a row's total in columns that have so much room."""
    if len(room) == 1:
        if total <= room[0]:
            yield (total,)
        return
    for first in range(max(0, total - sum(room[1:])), min(total, room[0]) + 1):
        for rest in _fillings(total - first, room[1:]):
            yield (first, *rest)


def _another_step(steps: int) -> int:
    if steps >= _MOST_STEPS:
        raise ValueError("the table is too large for an exact test; use chi-squared or a randomisation test")
    return steps + 1
