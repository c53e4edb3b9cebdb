"""Analysis of variance with several error strata, by projection.

Yates (1935) and Nelder (1965) in matrix form: the space of the pots is cut into mean, blocks, boards within blocks and
pots within boards, and every treatment term is sought in each. Exact for any orthogonal design, also one whose
treatments are confounded with blocks.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from scipy import linalg, stats

from wetfoot.trial.terms import Array, Labels, indicator

ABSENT = 1e-8
PIVOT = 1e-9
RESIDUAL = "residual"
LOWEST = "pot"


@dataclass(frozen=True)
class AnovaRow:
    """One line of an analysis of variance; a residual has no F, nor has a term without error degrees of freedom."""

    stratum: str
    term: str
    df: int
    ss: float
    ms: float
    df_error: int = 0
    f: float | None = None
    p: float | None = None


@dataclass(frozen=True)
class Strata:
    """An analysis of variance by strata.

    Attributes:
        rows: terms by stratum, each stratum closed by its residual.
        orthogonal: whether every term lies whole in one stratum and apart from the others. If not, pots are missing
            or replicated unevenly, and the sums of squares must not be read as tests.
    """

    rows: tuple[AnovaRow, ...]
    orthogonal: bool

    def row(self, term: str, stratum: str | None = None) -> AnovaRow:
        """Return the line of a term, in the given stratum or wherever it stands first."""
        for row in self.rows:
            if row.term == term and stratum in (None, row.stratum):
                return row
        raise KeyError(f"no line for {term!r} in stratum {stratum!r}")

    def residual(self, stratum: str) -> AnovaRow:
        """Return the residual of a stratum."""
        return self.row(RESIDUAL, stratum)


@dataclass(frozen=True)
class Stratum:
    """One error stratum of a design and the terms that show in it.

    Attributes:
        name: its name.
        basis: orthonormal basis of the stratum, or of all coarser strata if ``outside``, shape (n, any).
        outside: whether the stratum is what the basis leaves over.
        terms: orthonormal basis of each term in the stratum, shape (n, df) each.
        apart: whether the terms are orthogonal to each other.
    """

    name: str
    basis: Array
    outside: bool
    terms: Mapping[str, Array]
    apart: bool

    def part(self, y: Array) -> Array:
        """Return the part of y, shape (n,) or (n, m), that lies in the stratum."""
        return _without(y, self.basis) if self.outside else self.basis @ (self.basis.T @ y)

    @property
    def df_residual(self) -> int:
        """Return the degrees of freedom that the terms leave."""
        size = self.basis.shape[0] - self.basis.shape[1] if self.outside else self.basis.shape[1]
        return int(size) - sum(int(basis.shape[1]) for basis in self.terms.values())

    def sums_of_squares(self, y: Array) -> tuple[dict[str, Array], Array]:
        """Return the sum of squares of each term and of the residual, shape (m,) each, for y of shape (n, m)."""
        here = self.part(y)
        found = {}
        rest = here
        for term, basis in self.terms.items():
            amount = basis.T @ here
            found[term] = np.sum(amount**2, axis=0)
            rest = rest - basis @ amount
        return found, np.sum(rest**2, axis=0)


def decompose(groupings: Mapping[str, Labels], terms: Mapping[str, Array], lowest: str = LOWEST) -> tuple[Stratum, ...]:
    """Return the error strata of a design with the treatment terms sought in each of them.

    Args:
        groupings: labels of the error strata from coarse to fine, e.g. block, then board, shape (n,) each; with none
            the pots are completely randomised.
        terms: columns of the treatment terms in order, shape (n, any) each; sets of columns of one factor, such as
            its polynomials, may stand as terms of their own.
        lowest: name of the stratum below the finest grouping.
    """
    n = len(next(iter([*groupings.values(), *terms.values()])))
    covered = np.full((n, 1), n**-0.5)
    strata = []
    for name, labels in groupings.items():
        basis = _orthonormal(_without(indicator(labels), covered), 1.0)
        strata.append(_seek(Stratum(name, basis, False, {}, True), terms))
        covered = np.hstack([covered, basis])
    return (*strata, _seek(Stratum(lowest, covered, True, {}, True), terms))


def _seek(stratum: Stratum, terms: Mapping[str, Array]) -> Stratum:
    """Return the stratum with the terms that show in it, each without what the terms before it have taken."""
    used = np.empty((len(stratum.basis), 0))
    found: dict[str, Array] = {}
    apart = True
    for term, columns in terms.items():
        here, size = stratum.part(columns), float(np.linalg.norm(columns))
        if np.linalg.norm(here) < ABSENT * size:
            continue
        apart = apart and bool(np.linalg.norm(used.T @ here) < ABSENT * size)
        basis = _orthonormal(_without(here, used), size)
        if basis.shape[1]:
            found[term] = basis
            used = np.hstack([used, basis])
    return Stratum(stratum.name, stratum.basis, stratum.outside, found, apart)


def is_orthogonal(strata: tuple[Stratum, ...]) -> bool:
    """Return whether every term lies whole in one stratum and apart from all others."""
    shown = [term for stratum in strata for term in stratum.terms]
    return len(set(shown)) == len(shown) and all(stratum.apart for stratum in strata)


def strata_anova(y: Array, strata: tuple[Stratum, ...]) -> Strata:
    """Return the analysis of variance of y in its error strata.

    Args:
        y: responses without gaps, shape (n,).
        strata: the strata of the design, from `decompose`.

    Raises:
        ValueError: if y has gaps or not one value for every pot of the design.
    """
    if y.shape != (len(strata[0].basis),) or not np.all(np.isfinite(y)):
        raise ValueError("y: needs one value for every pot of the design, without gaps")
    rows: list[AnovaRow] = []
    # Certified sets with 13 constant leading digits lose everything unless the constant goes first.
    shifted = (y - y[0])[:, None]
    for stratum in strata:
        found, rest = stratum.sums_of_squares(shifted)
        parts = [(term, stratum.terms[term].shape[1], float(ss[0])) for term, ss in found.items()]
        rows += _lines(stratum.name, parts, stratum.df_residual, float(rest[0]))
    return Strata(tuple(rows), is_orthogonal(strata))


def f_values(stratum: Stratum, y: Array) -> dict[str, Array]:
    """Return the F of every term of a stratum for many sets of responses at once.

    Args:
        stratum: a stratum with error degrees of freedom.
        y: responses, one set in each column, shape (n, m).

    Returns:
        the F of each term, shape (m,) each.
    """
    found, rest = stratum.sums_of_squares(y)
    error = rest / stratum.df_residual
    return {term: ss / stratum.terms[term].shape[1] / error for term, ss in found.items()}


def _lines(stratum: str, parts: list[tuple[str, int, float]], df: int, ss: float) -> list[AnovaRow]:
    """Return the lines of a stratum from the degrees of freedom and sums of squares of its terms and residual."""
    error = ss / df if df > 0 else float("nan")
    lines = []
    for term, k, part in parts:
        f = part / k / error if df > 0 and error > 0 else None
        p = None if f is None else float(stats.f.sf(f, k, df))
        lines.append(AnovaRow(stratum, term, k, part, part / k, df, f, p))
    return [*lines, AnovaRow(stratum, RESIDUAL, df, ss, error)] if df > 0 else lines


def _without(x: Array, basis: Array) -> Array:
    """Return x without its part in an orthonormal basis, taken out twice to keep the last digits."""
    once = x - basis @ (basis.T @ x)
    return once - basis @ (basis.T @ once)


def _orthonormal(x: Array, size: float) -> Array:
    """Return an orthonormal basis of the columns, by pivoted QR; columns below the size's last digits do not count."""
    if not x.shape[1]:
        return x
    q, r, _ = linalg.qr(x, mode="economic", pivoting=True)
    kept = int(np.sum(np.abs(np.diag(r)) > PIVOT * max(size, 1e-300)))
    return np.asarray(q[:, :kept])


def combined_mean_square(weights: Array, mean_squares: Array, dfs: Array) -> tuple[float, float]:
    """Return a weighted sum of mean squares and its degrees of freedom (Satterthwaite 1946).

    The variance of a difference across strata is such a sum: for two board treatments at one level of a pot factor,
    with c of the board's s pots at that level, it is 2/r times (Ea/s + (1/c - 1/s) Eb).

    Args:
        weights: weight of each mean square, shape (k,).
        mean_squares: the mean squares, shape (k,).
        dfs: their degrees of freedom, shape (k,).
    """
    parts = np.asarray(weights) * np.asarray(mean_squares)
    return float(parts.sum()), float(parts.sum() ** 2 / np.sum(parts**2 / np.asarray(dfs)))
