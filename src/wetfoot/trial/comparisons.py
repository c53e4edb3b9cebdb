"""Which means differ: the studentized range, pairs of means, and letters.

Tukey (1953) with the extension of Kramer (1956) to unequal errors, Fisher's least significant difference, and letters
by insert-absorb (Piepho 2004, J. Comput. Graph. Stat. 13:456-466); the papers from memory.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy import optimize, special, stats

from wetfoot.trial.terms import Array

Z_NODES, S_NODES = 100, 96
Z_REACH = 8.0
LEFT_OUT = 1e-18
SMALL_DF = 3.0
BEYOND = 1e4


def tukey_p(q: Array, means: int, df: Array) -> Array:
    """Return the probability that a studentized range exceeds q.

    Two nested Gauss-Legendre sums over the tail itself, so that small probabilities keep their digits; below three
    degrees of freedom scipy's adaptive integral.

    Args:
        q: studentized ranges, sqrt(2) times |t| for a pair of means, shape (m,).
        means: number of means in the family.
        df: error degrees of freedom of each, shape (m,).

    Returns:
        probabilities, shape (m,).

    Raises:
        ValueError: if there are fewer than two means or a df is not positive.
    """
    q, df = np.broadcast_arrays(np.asarray(q, float), np.asarray(df, float))
    if means < 2 or np.any(df <= 0):
        raise ValueError(f"means, df: need at least two means and df > 0, not {means} and {df.min()}")
    if means == 2:
        return np.asarray(2 * stats.t.sf(q / np.sqrt(2), df))
    few = df < SMALL_DF
    p = np.empty(q.shape)
    p[few] = [stats.studentized_range.sf(a, means, b) for a, b in zip(q[few], df[few], strict=True)]
    p[~few] = [_tail(a, means, b) for a, b in zip(q[~few].tolist(), df[~few].tolist(), strict=True)]
    return np.clip(p, 0.0, 1.0)


@lru_cache
def _nodes(count: int) -> tuple[Array, Array]:
    """Return Gauss-Legendre nodes and weights on -1 to 1."""
    x, w = np.polynomial.legendre.leggauss(count)
    return x, w


def _tail(q: float, means: int, df: float) -> float:
    """Return the tail probability of one studentized range."""
    # ends of ln(s) such that the chance of a standard deviation beyond them does not count
    low = np.log(2 / df * special.gammaincinv(df / 2, LEFT_OUT)) / 2
    high = np.log(2 / df * special.gammainccinv(df / 2, LEFT_OUT)) / 2
    x, w = _nodes(S_NODES)
    ln_s = low + (high - low) * (x + 1) / 2
    density = np.exp(
        np.log(2) + df / 2 * np.log(df / 2) - special.gammaln(df / 2) + df * ln_s - df / 2 * np.exp(2 * ln_s)
    )
    return float(np.sum(w * density * _range_tail(q * np.exp(ln_s), means)) * (high - low) / 2)


def _range_tail(reach: Array, means: int) -> Array:
    """Return the probability that the range of independent standard normals exceeds each reach, shape (m,)."""
    x, w = _nodes(Z_NODES)
    z = Z_REACH * x
    upper = special.ndtr(z)
    weight = w * Z_REACH * means * np.exp(-(z**2) / 2) / np.sqrt(2 * np.pi) * upper ** (means - 1)
    share = special.ndtr(z - reach[:, None]) / upper
    with np.errstate(divide="ignore"):  # a share of 1 gives log 0, whose tail is 1: right as it stands
        return np.asarray(-np.expm1((means - 1) * np.log1p(-share)) @ weight)


def tukey_critical(means: int, df: float, alpha: float = 0.05) -> float:
    """Return the studentized range that is exceeded with probability alpha.

    Args:
        means: number of means.
        df: error degrees of freedom.
        alpha: probability, above 1e-9.

    Returns:
        the range, infinite above 10,000, which happens only with a fraction of a degree of freedom.
    """

    def excess(q: float) -> float:
        return float(tukey_p(np.array([q]), means, np.array([df]))[0]) - alpha

    if excess(BEYOND) > 0:
        return float("inf")
    return float(optimize.brentq(excess, 1e-3, BEYOND, xtol=1e-9))


def all_pairs(count: int) -> list[tuple[int, int]]:
    """Return all pairs of 0 to count - 1."""
    return [(i, j) for i in range(count) for j in range(i + 1, count)]


def letters(means: Sequence[float], significant: NDArray[np.bool_]) -> tuple[str, ...]:
    """Return letters such that two means share one exactly if they are not significantly different.

    Args:
        means: the means; the largest gets the first letter.
        significant: symmetric table of which pairs differ, shape (k, k).

    Returns:
        letters of each mean in the order given.

    Raises:
        ValueError: if the table is not symmetric and of the size of the means.
    """
    k = len(means)
    if significant.shape != (k, k) or not np.array_equal(significant, significant.T):
        raise ValueError(f"significant: needs a symmetric table of shape ({k}, {k})")
    columns = [frozenset(range(k))]
    for i, j in all_pairs(k):
        if significant[i, j]:
            split = [c - {x} for c in columns if {i, j} <= c for x in (i, j)]
            columns = _absorb([c for c in columns if not {i, j} <= c] + split)
    best_first = {mean: place for place, mean in enumerate(sorted(range(k), key=lambda i: -means[i]))}
    columns.sort(key=lambda c: sorted(best_first[i] for i in c))
    return tuple("".join(_letter(n) for n, c in enumerate(columns) if i in c) for i in range(k))


def _absorb(columns: list[frozenset[int]]) -> list[frozenset[int]]:
    """Return the columns without those held in another."""
    unique = list(dict.fromkeys(columns))
    return [c for c in unique if not any(c < other for other in unique)]


def _letter(number: int) -> str:
    """Return a, b, ... z, A, ... Z, then a with a number."""
    alphabet = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
    return alphabet[number] if number < len(alphabet) else f"(a{number})"
