"""Temperature, sun and air of the days as a yearly course for wet and for dry days, with correlated residuals on it.

The residuals follow x(t) = A x(t-1) + B e(t), with e independent and normal (Matalas 1967, Water Resour. Res. 3:
937-945; Richardson 1981, Water Resour. Res. 17: 182-190).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

DAYS_A_YEAR = 365.25
HARMONICS = 2
SMALLEST_SD_SHARE = 0.25  # of the middle one: a straight fit of absolute residuals can dip to nothing

# Richardson & Wright 1984 (WGEN, USDA ARS-8): tmax, tmin, solar radiation, the mean of 31 stations of the US.
PUBLISHED_A = np.array([[0.567, 0.086, -0.002], [0.253, 0.504, -0.050], [-0.006, -0.039, 0.244]])
PUBLISHED_B = np.array([[0.781, 0.0, 0.0], [0.328, 0.637, 0.0], [0.238, -0.341, 0.873]])


class Course(NamedTuple):
    """Coefficients of mean and standard deviation over the year and of what a wet day changes."""

    mean: Array
    sd: Array
    sd_least: float


class Correlations(NamedTuple):
    """Correlations of residuals on the same day, with the day before (row: today), and the pairs of days behind."""

    same_day: Array
    day_before: Array
    pairs: int


def harmonics(day_of_year: NDArray[np.int_], order: int) -> Array:
    """Return a constant and ``order`` pairs of cosine and sine over the year; shape (n, 1 + 2 order)."""
    turn = 2.0 * np.pi * np.asarray(day_of_year, dtype=float) / DAYS_A_YEAR
    waves = [f(k * turn) for k in range(1, order + 1) for f in (np.cos, np.sin)]
    return np.stack([np.ones_like(turn), *waves], axis=-1)


def _terms(day_of_year: NDArray[np.int_], wet: Flags, order: int) -> Array:
    """Return the harmonics, and one harmonic less of them again on wet days only."""
    wet_part = harmonics(day_of_year, order - 1) * wet[..., None]
    return np.concatenate([np.broadcast_to(harmonics(day_of_year, order), (*wet.shape, 1 + 2 * order)), wet_part], -1)


def fit_course(day_of_year: NDArray[np.int_], wet: Flags, values: Array) -> Course:
    """Return the yearly course of a variable by least squares.

    Args:
        day_of_year: 1 to 366, shape (n,).
        wet: shape (n,).
        values: NaN where not measured, shape (n,).

    Raises:
        ValueError: if no value is measured.
    """
    known = ~np.isnan(values)
    if not known.any():
        raise ValueError("values must hold at least one number")
    day, wet, y = day_of_year[known], wet[known], values[known]
    mean = np.linalg.lstsq(_terms(day, wet, HARMONICS), y, rcond=None)[0]
    off = y - _terms(day, wet, HARMONICS) @ mean
    # the mean absolute deviation of a normal variable is sqrt(2/pi) of its standard deviation
    sd = np.linalg.lstsq(_terms(day, wet, 1), np.abs(off) * np.sqrt(np.pi / 2.0), rcond=None)[0]
    least = SMALLEST_SD_SHARE * max(float(np.std(off)), 1e-6)  # not nothing: residuals are divided by it
    guess = np.maximum(_terms(day, wet, 1) @ sd, least)
    scale = max(float(np.sqrt(np.mean((off / guess) ** 2))), 1e-3)
    return Course(np.asarray(mean, dtype=float), np.asarray(sd * scale, dtype=float), least * scale)


def course_at(course: Course, day_of_year: NDArray[np.int_], wet: Flags) -> tuple[Array, Array]:
    """Return mean and standard deviation of a variable.

    Args:
        course: from `fit_course`.
        day_of_year: shape (days,).
        wet: shape (..., days).

    Returns:
        Two arrays of the shape of ``wet``.
    """
    mean = _terms(day_of_year, wet, HARMONICS) @ course.mean
    return mean, np.maximum(_terms(day_of_year, wet, 1) @ course.sd, course.sd_least)


def fit_correlations(residuals: Array, follows: Flags) -> Correlations:
    """Return the correlations of standardised residuals, over the pairs of days on which all are known.

    Args:
        residuals: NaN where not measured, shape (n, variables).
        follows: whether the row before is the day before, shape (n,).
    """
    known = np.asarray(~np.isnan(residuals).any(axis=1))
    pair = np.asarray(np.r_[False, known[:-1]] & known & follows)
    at = np.flatnonzero(pair)
    today, before = residuals[at], residuals[at - 1]
    count, k = len(today), residuals.shape[1]
    if count < 2:
        return Correlations(np.eye(k), np.zeros((k, k)), count)
    both = np.concatenate([today, before], axis=1)
    sd = both.std(axis=0)
    both = (both - both.mean(axis=0)) / np.where(sd > 0.0, sd, 1.0)
    joint = both.T @ both / count
    # today's and yesterday's block differ by their end days only; the mean of both keeps the chain stationary
    same = (joint[:k, :k] + joint[k:, k:]) / 2.0
    np.fill_diagonal(same, 1.0)
    return Correlations(same, joint[:k, k:], count)


def chain_matrices(same_day: Array, day_before: Array) -> tuple[Array, Array]:
    """Return A and B of the chain that has these correlations: A = M1 M0^-1, B B' = M0 - A M1' (Matalas 1967).

    B is lower triangular, as Richardson & Wright print it. Where sampling error leaves B B' without a root, its
    negative eigenvalues are set to a millionth.
    """
    a = np.asarray(np.linalg.solve(same_day.T, day_before.T).T, dtype=float)
    square = same_day - a @ day_before.T
    values, vectors = np.linalg.eigh((square + square.T) / 2.0)
    mended = (vectors * np.maximum(values, 1e-6)) @ vectors.T
    return a, np.asarray(np.linalg.cholesky(mended), dtype=float)


def published_correlations() -> tuple[Array, Array]:
    """Return the correlations on the same day and with the day before that `PUBLISHED_A` and `PUBLISHED_B` imply."""
    same = np.eye(3)
    for _ in range(100):  # M0 = A M0 A' + B B'; A's largest eigenvalue is 0.69, so this has long settled
        same = PUBLISHED_A @ same @ PUBLISHED_A.T + PUBLISHED_B @ PUBLISHED_B.T
    return same, PUBLISHED_A @ same


def residual_chain(normal: Array, same_day: Array, a: Array, b: Array) -> Array:
    """Return residuals day by day, from the first day on with the long-run correlations.

    Args:
        normal: independent standard normal numbers, shape (years, days, variables).
        same_day: correlations on the same day, positive definite.
        a, b: of `chain_matrices`.
    """
    x = np.empty_like(normal)
    x[:, 0] = normal[:, 0] @ np.linalg.cholesky(same_day).T
    for day in range(1, normal.shape[1]):
        x[:, day] = x[:, day - 1] @ a.T + normal[:, day] @ b.T
    return x
