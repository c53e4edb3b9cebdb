"""Variance components by restricted maximum likelihood, for trials with lost pots.

Patterson and Thompson (1971): the likelihood of the error contrasts, climbed by Fisher scoring. The variance is linear
in its components, V = sum of theta_k G_k + theta_e I, and a component may come out negative: with three degrees of
freedom between boards that is usual, and cutting it off at zero spoils the tests that follow.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from scipy import linalg

from wetfoot.trial.terms import Array, Labels, indicator, rank

MAX_STEPS = 200
MAX_HALVINGS = 40
STEP_TOLERANCE = 1e-9
NEGLIGIBLE = 1e-10


@dataclass(frozen=True)
class RemlFit:
    """A linear mixed model fitted by restricted maximum likelihood.

    Attributes:
        names: variance components in the order of ``theta``; the last is the residual of the pots.
        theta: variance components, shape (k,).
        beta: fixed coefficients, shape (p,).
        phi: their covariance without small-sample adjustment, shape (p, p).
        x: fixed columns, shape (n, p).
        patterns: the matrix G of each component but the residual, shape (n, n) each.
        v_inverse: inverse of the variance of y, shape (n, n).
        expected: expected information of theta, shape (k, k).
        observed: observed information of theta, shape (k, k).
        criterion: -2 log restricted likelihood; it depends on the coding of x, so compare under one coding only.
        steps: scoring steps taken.
        converged: whether the climb ended before the step limit.
    """

    names: tuple[str, ...]
    theta: Array
    beta: Array
    phi: Array
    x: Array
    patterns: tuple[Array, ...]
    v_inverse: Array
    expected: Array
    observed: Array
    criterion: float
    steps: int
    converged: bool

    @property
    def components(self) -> dict[str, float]:
        """Return the variance components by name."""
        return {name: float(value) for name, value in zip(self.names, self.theta, strict=True)}


def same_group(labels: Labels) -> Array:
    """Return the pattern of a random factor: 1 where two pots share the label, else 0, shape (n, n)."""
    z = indicator(labels)
    return z @ z.T


def reml(y: Array, x: Array, random: Mapping[str, Array], bounded: bool = False, residual: str = "pot") -> RemlFit:
    """Return the restricted maximum likelihood fit of a linear mixed model.

    Args:
        y: responses without gaps, shape (n,).
        x: fixed columns of full rank, shape (n, p).
        random: symmetric pattern of each variance component, shape (n, n) each; see `same_group`.
        bounded: hold the components at or above zero; otherwise only V must stay positive definite.
        residual: name of the residual component.

    Raises:
        ValueError: if x lacks full rank, nothing is left of y, or a component cannot be told from x or the others.
    """
    n, p = x.shape
    if rank(x) < p:
        raise ValueError("x: the columns are not independent")
    if n <= p:
        raise ValueError(f"y: {n} values leave nothing to judge {p} coefficients by")
    contrasts = np.asarray(linalg.qr(x)[0][:, p:], dtype=np.float64)
    patterns = tuple(random.values())
    problem = _Contrasts.of(y, contrasts, patterns)
    _check_components(problem, (*random, residual))
    theta, steps, converged = _climb(problem, bounded)
    return _finish((*random, residual), y, x, patterns, problem, theta, steps, converged)


def _sum(theta: Array, patterns: Array) -> Array:
    """Return the variance that the components and their patterns add up to."""
    return np.asarray((theta @ patterns.reshape(len(theta), -1)).reshape(patterns.shape[1:]), dtype=np.float64)


@dataclass(frozen=True)
class _Contrasts:
    """The error contrasts of y and the patterns of the components among them; the identity comes last."""

    z: Array
    patterns: Array
    full: Array

    @classmethod
    def of(cls, y: Array, contrasts: Array, patterns: tuple[Array, ...]) -> _Contrasts:
        # y less its first value: large constants cost digits
        inner = [contrasts.T @ g @ contrasts for g in patterns] + [np.eye(contrasts.shape[1])]
        z = np.asarray(contrasts.T @ (y - y[0]), dtype=np.float64)
        return cls(z, np.array(inner), np.array([*patterns, np.eye(len(y))]))

    def half_criterion(self, theta: Array) -> tuple[float, Array]:
        """Return half of ln|V| + z'z/V among the contrasts, infinite if V is not positive, and V inverted there."""
        try:
            if theta.min() < 0:
                np.linalg.cholesky(_sum(theta, self.full))
            variance = _sum(theta, self.patterns)
            factor = np.linalg.cholesky(variance)
        except np.linalg.LinAlgError:
            return np.inf, np.empty((0, 0))
        inverse = np.asarray(np.linalg.inv(variance), dtype=np.float64)
        return float(np.log(np.diag(factor)).sum() + self.z @ inverse @ self.z / 2), inverse

    def score_and_information(self, inverse: Array) -> tuple[Array, Array, Array]:
        """Return the slope of the log-likelihood in theta, the expected and the observed information."""
        u = inverse @ self.z
        gu = self.patterns @ u
        ig = inverse @ self.patterns
        traces = np.trace(ig, axis1=1, axis2=2)
        k = len(self.patterns)
        expected = ig.reshape(k, -1) @ ig.transpose(0, 2, 1).reshape(k, -1).T / 2
        return (gu @ u - traces) / 2, expected, gu @ inverse @ gu.T - expected


def _check_components(problem: _Contrasts, names: tuple[str, ...]) -> None:
    """Refuse components that leave no trace among the error contrasts, and data without variation."""
    size = np.linalg.norm(problem.full, axis=(1, 2))
    flat = problem.patterns.reshape(len(names), -1) / size[:, None]
    alike = flat @ flat.T
    for name, squared in zip(names, np.diag(alike), strict=True):
        if squared < NEGLIGIBLE**2:
            raise ValueError(f"random: the variance of {name!r} cannot be told from the fixed terms")
    length = np.sqrt(np.diag(alike))
    if np.linalg.eigvalsh(alike / np.outer(length, length))[0] < NEGLIGIBLE:
        raise ValueError(f"random: the variances of {', '.join(names)} cannot be told from each other")
    if not problem.z @ problem.z > 0:
        raise ValueError("y: nothing is left to judge the terms by; every value is explained exactly")


def _climb(problem: _Contrasts, bounded: bool) -> tuple[Array, int, bool]:
    """Return the components with the greatest restricted likelihood, the steps taken and whether they converged."""
    k = len(problem.patterns)
    variance = float(problem.z @ problem.z) / len(problem.z)
    theta = np.full(k, variance / k)
    value, inverse = problem.half_criterion(theta)
    for step in range(1, MAX_STEPS + 1):
        score, expected, _ = problem.score_and_information(inverse)
        free = np.ones(k, bool) if not bounded else (theta > 0) | (score > 0)
        move = np.zeros(k)
        move[free] = np.linalg.solve(expected[np.ix_(free, free)], score[free])
        new, new_value, new_inverse = _uphill(problem, theta, move, value, bounded)
        change = float(np.abs(new - theta).max())
        theta, value, inverse = new, new_value, new_inverse
        if change <= STEP_TOLERANCE * variance:
            return theta, step, bool(np.abs(move[free]).max() <= 1e-6 * variance)
    return theta, MAX_STEPS, False


def _uphill(problem: _Contrasts, theta: Array, move: Array, value: float, bounded: bool) -> tuple[Array, float, Array]:
    """Return the first of the halved steps that does not lose likelihood, or where we stand."""
    for _ in range(MAX_HALVINGS):
        new = theta + move
        if bounded:
            new[:-1] = np.maximum(new[:-1], 0.0)
        new_value, inverse = problem.half_criterion(new)
        if new_value <= value + 1e-12 * abs(value):
            return new, new_value, inverse
        move = move / 2
    return theta, value, problem.half_criterion(theta)[1]


def _finish(
    names: tuple[str, ...],
    y: Array,
    x: Array,
    patterns: tuple[Array, ...],
    problem: _Contrasts,
    theta: Array,
    steps: int,
    converged: bool,
) -> RemlFit:
    """Return the fit with all that its tests need."""
    half, inverse = problem.half_criterion(theta)
    _, expected, observed = problem.score_and_information(inverse)
    v_inverse = np.asarray(np.linalg.inv(_sum(theta, problem.full)), dtype=np.float64)
    phi = np.asarray(np.linalg.inv(x.T @ v_inverse @ x), dtype=np.float64)
    n, p = x.shape
    criterion = (n - p) * np.log(2 * np.pi) + 2 * half + np.linalg.slogdet(x.T @ x)[1]
    return RemlFit(
        names, theta, phi @ (x.T @ (v_inverse @ y)), phi, x, patterns, v_inverse, expected, observed,
        float(criterion), steps, converged,
    )  # fmt: skip
