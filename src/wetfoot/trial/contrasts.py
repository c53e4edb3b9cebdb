"""Polynomial contrasts of quantitative factors, with the true spacing of their levels."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from wetfoot.trial.kenward_roger import FTest, KenwardRoger, f_test
from wetfoot.trial.terms import Array, Model, Term, mean_rows, sum_coding, term_name

DEGREES = ("linear", "quadratic", "cubic")


@dataclass(frozen=True)
class Contrast:
    """The part of a term that runs along one polynomial of a quantitative factor.

    Attributes:
        term: the term, e.g. ``gutter:pieces``.
        factor: the quantitative factor.
        degree: linear, quadratic, cubic or ``deviations``, which stands for all higher degrees.
        test: its F test.
    """

    term: str
    factor: str
    degree: str
    test: FTest


def orthogonal_polynomials(x: Array, weights: Array | None = None) -> Array:
    """Return orthonormal polynomials of degree 1 to k - 1 over k levels, whatever their spacing.

    Gram-Schmidt on the powers of x (Fisher; Emerson 1968, Biometrics 24:695-701, from memory). The last coefficient
    of each is positive.

    Args:
        x: different levels, shape (k,).
        weights: replication of each level, shape (k,); equal if left out.

    Returns:
        coefficients of shape (k - 1, k), orthonormal under the weights.

    Raises:
        ValueError: if there are fewer than two levels, or two are equal.
    """
    if len(x) < 2 or len(set(x.tolist())) < len(x):
        raise ValueError("x: needs at least two levels, all different")
    root = np.sqrt(np.ones(len(x)) if weights is None else np.asarray(weights, dtype=float))
    centred = (x - x.mean()) / np.ptp(x)
    q, _ = np.linalg.qr(np.vander(centred, increasing=True) * root[:, None])
    rows = (q[:, 1:] / root[:, None]).T
    return np.asarray(rows * np.sign(rows[:, -1:]))


def contrast_rows(model: Model, term: Term, factor: str, polynomial: Array) -> Array:
    """Return the functions of the coefficients that carry a polynomial of one factor within a term.

    Args:
        model: the model.
        term: a term that holds the factor.
        factor: the quantitative factor.
        polynomial: coefficients over its levels, one row for each degree, shape (d, k).

    Returns:
        rows of shape (d times the degrees of freedom of the other factors, p).
    """
    parts = [polynomial if name == factor else sum_coding(len(model.levels[name])).T for name in term]
    weights: Array = np.ones((1, 1))
    for part in parts:
        weights = np.asarray(np.kron(weights, part), dtype=np.float64)
    return np.asarray(weights @ mean_rows(model, term)[1])


def polynomial_tests(adjusted: KenwardRoger, model: Model, factor: str) -> tuple[Contrast, ...]:
    """Return every term with the factor, split into linear, quadratic, cubic and deviations.

    Args:
        adjusted: the fit with its adjustment.
        model: its model.
        factor: a factor whose levels are numbers.
    """
    polynomials = orthogonal_polynomials(np.array([float(level) for level in model.levels[factor]]))
    parts: Sequence[tuple[str, Array]] = [
        *((name, polynomials[[i]]) for i, name in enumerate(DEGREES[: len(polynomials)])),
        *([("deviations", polynomials[len(DEGREES) :])] if len(polynomials) > len(DEGREES) else []),
    ]
    return tuple(
        Contrast(term_name(term), factor, name, f_test(adjusted, contrast_rows(model, term, factor, part)))
        for term in model.terms
        if factor in term
        for name, part in parts
    )
