"""Columns of a linear model from labels, in sum-to-zero coding.

In this coding a term's columns average to zero over the levels of each of its factors, so every term is tested in the
presence of all others (type III), and the mean of a cell needs only the columns of the terms inside that cell.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import reduce
from itertools import combinations, product

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Labels = NDArray[np.generic]
Term = tuple[str, ...]

RANK_TOLERANCE = 1e-9
NUISANCE: Term = ("",)


def levels_of(labels: Labels) -> tuple[str, ...]:
    """Return the levels of a factor as text, in the order of their numbers if all are numbers, else alphabetically.

    Args:
        labels: one label per pot, shape (n,).
    """
    texts = sorted(set(as_texts(labels)))
    try:
        return tuple(sorted(texts, key=float))
    except ValueError:
        return tuple(texts)


def as_texts(labels: Labels) -> list[str]:
    """Return labels as text, whole numbers without a decimal point so that 2 and 2.0 are one level."""
    return [f"{x:g}" if isinstance(x, (int, float)) else str(x) for x in np.asarray(labels).tolist()]


def codes_of(labels: Labels, levels: Sequence[str]) -> NDArray[np.intp]:
    """Return the position of every label among the levels, shape (n,)."""
    place = {level: i for i, level in enumerate(levels)}
    return np.array([place[text] for text in as_texts(labels)], dtype=np.intp)


def combine(*labels: Labels) -> Labels:
    """Return one label per pot that tells apart every combination of the given labels, shape (n,)."""
    return np.array([" / ".join(parts) for parts in zip(*map(as_texts, labels), strict=True)])


def sum_coding(levels: int) -> Array:
    """Return the sum-to-zero coding of a factor: the identity over a last row of -1, shape (levels, levels - 1)."""
    return np.vstack([np.eye(levels - 1), -np.ones(levels - 1)])


def indicator(labels: Labels) -> Array:
    """Return a column of ones and zeros for every level, shape (n, levels)."""
    levels = levels_of(labels)
    return np.eye(len(levels))[codes_of(labels, levels)]


def term_name(term: Term) -> str:
    """Return a term as it stands in a table, e.g. ``gutter:pieces``."""
    return ":".join(term)


def factorial_terms(names: Sequence[str]) -> tuple[Term, ...]:
    """Return the main effects and all interactions of factors, small ones first."""
    return tuple(term for size in range(1, len(names) + 1) for term in combinations(names, size))


@dataclass(frozen=True)
class Model:
    """The fixed part of a linear model in sum-to-zero coding.

    Attributes:
        levels: the levels of every factor.
        terms: treatment terms in the order of their columns.
        x: all columns, intercept first, shape (n, p).
        where: the columns of each term; ``("",)`` stands for the columns of the blocks.
    """

    levels: Mapping[str, tuple[str, ...]]
    terms: tuple[Term, ...]
    x: Array
    where: Mapping[Term, slice]

    def columns(self, term: Term) -> Array:
        """Return the columns of a term, shape (n, df)."""
        return self.x[:, self.where[term]]

    def selector(self, term: Term) -> Array:
        """Return the matrix that picks the coefficients of a term, shape (df, p)."""
        return np.eye(self.x.shape[1])[self.where[term]]


def coded(labels: Labels, levels: Sequence[str]) -> Array:
    """Return the sum-to-zero columns of a factor, shape (n, levels - 1)."""
    return sum_coding(len(levels))[codes_of(labels, levels)]


def row_product(parts: Iterable[Array]) -> Array:
    """Return all products of one column from each part, the last part running fastest, shape (n, product of widths)."""
    return reduce(lambda a, b: (a[:, :, None] * b[:, None, :]).reshape(a.shape[0], -1), parts)


def nested_coding(outer: Labels, inner: Labels) -> Array:
    """Return sum-to-zero columns of an inner factor within every level of an outer one, e.g. blocks within years.

    Args:
        outer: one label per pot, shape (n,).
        inner: one label per pot, shape (n,); the same label under two outer levels means two things.

    Returns:
        columns of shape (n, sum over outer levels of inner levels less one).
    """
    columns = []
    for level in indicator(outer).T > 0:
        part = np.zeros((len(level), len(levels_of(inner[level])) - 1))
        part[level] = coded(inner[level], levels_of(inner[level]))
        columns.append(part)
    return np.hstack(columns)


def build_model(factors: Mapping[str, Labels], terms: Sequence[Term], nuisance: Array | None = None) -> Model:
    """Return the columns of a model with an intercept, blocks (or whatever else is fixed) and the given terms.

    Args:
        factors: one label per pot for each factor, shape (n,) each.
        terms: the treatment terms, each a tuple of factor names.
        nuisance: columns of the blocks, summing to zero over them, shape (n, any).
    """
    levels = {name: levels_of(labels) for name, labels in factors.items()}
    columns = {name: coded(labels, levels[name]) for name, labels in factors.items()}
    n = len(next(iter(columns.values())))
    parts: dict[Term, Array] = {(): np.ones((n, 1))}
    if nuisance is not None and nuisance.shape[1]:
        parts[NUISANCE] = nuisance
    parts |= {term: row_product([columns[name] for name in term]) for term in terms}
    ends = np.cumsum([part.shape[1] for part in parts.values()]).tolist()
    where = {term: slice(end - part.shape[1], end) for (term, part), end in zip(parts.items(), ends, strict=True)}
    return Model(levels, tuple(terms), np.hstack(list(parts.values())), where)


def mean_rows(model: Model, names: Sequence[str]) -> tuple[list[tuple[str, ...]], Array]:
    """Return the cells of some factors and the rows that turn coefficients into their means.

    A mean is the equal-weight average over all other factors and the blocks, whose columns average to zero.

    Args:
        model: the model whose coefficients the rows multiply.
        names: the factors; none gives the grand mean.

    Returns:
        the levels of each cell, and rows of shape (cells, p), the last factor running fastest.
    """
    cells = list(product(*(model.levels[name] for name in names)))
    rows = np.zeros((len(cells), model.x.shape[1]))
    for term in ((), *model.terms):
        if set(term) <= set(names):
            for i, cell in enumerate(cells):
                rows[i, model.where[term]] = _coding_of_cell(model, term, dict(zip(names, cell, strict=True)))
    return cells, rows


def _coding_of_cell(model: Model, term: Term, cell: Mapping[str, str]) -> Array:
    """Return the values that a term's columns take in a cell."""
    codings = (sum_coding(len(model.levels[name]))[[model.levels[name].index(cell[name])]] for name in term)
    return np.asarray(row_product([np.ones((1, 1)), *codings])[0], dtype=np.float64)


def rank(x: Array) -> int:
    """Return the rank of columns, judged after bringing them to one length."""
    lengths = np.linalg.norm(x, axis=0)
    return int(np.linalg.matrix_rank(x[:, lengths > 0] / lengths[lengths > 0], tol=RANK_TOLERANCE * np.sqrt(len(x))))


def empty_cells(factors: Mapping[str, Labels], terms: Sequence[Term], seen: NDArray[np.bool_]) -> list[str]:
    """Return the cells of the terms that no weighed pot stands in, named, largest gaps first.

    Args:
        factors: one label per pot, lost ones included, shape (n,) each.
        terms: the terms of the model.
        seen: whether the pot has a value, shape (n,).
    """
    missing: list[dict[str, str]] = []
    for term in sorted(terms, key=len):
        levels = [levels_of(factors[name]) for name in term]
        found = set(zip(*(np.array(as_texts(factors[name]))[seen].tolist() for name in term), strict=True))
        for cell in product(*levels):
            named = dict(zip(term, cell, strict=True))
            if cell not in found and not any(known.items() <= named.items() for known in missing):
                missing.append(named)
    return [", ".join(f"{name} {level}" for name, level in cell.items()) for cell in missing]
