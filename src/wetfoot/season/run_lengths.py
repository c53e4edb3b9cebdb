"""How many readings a control chart takes, on average, until it signals (average run length).

The integral equation of a chart's run length is solved on Gauss-Legendre nodes (Crowder 1987 for the EWMA; the Markov
chain of Brook & Evans 1972 is the same with equal steps). Residuals are taken as independent and standard normal.

References: Page 1954 (CUSUM); Brook & Evans 1972, Biometrika 59, 539-549; Crowder 1987, Technometrics 29, 401-407;
Lucas & Saccucci 1990, Technometrics 32, 1-12.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray
from scipy.stats import norm

Array = NDArray[np.float64]

NODES = 60


def cusum_run_length(k: float, h: float, shift: float = 0.0) -> float:
    """Return the average run length of the two-sided CUSUM, both sides starting at zero.

    One side: L(u) = 1 + L(0) F(k - u) + integral from 0 to h of L(y) f(y + k - u); both sides: 1/L = 1/L+ + 1/L-.

    Args:
        k: reference value, in spreads.
        h: decision interval, in spreads.
        shift: of the mean, in spreads, from the first reading on.

    Returns:
        Readings.

    Raises:
        ValueError: if k is negative or h is not above 0.
    """
    if not (k >= 0.0 and h > 0.0):
        raise ValueError(f"k must be 0 or more and h above 0, not {k!r} and {h!r}")
    upper, lower = _one_side(k, h, shift), _one_side(k, h, -shift)
    return 1.0 / (1.0 / upper + 1.0 / lower)


def _one_side(k: float, h: float, shift: float) -> float:
    nodes, weights = _nodes(0.0, h)
    starts = np.concatenate([[0.0], nodes])  # the first unknown is L(0)
    matrix = np.empty((len(starts), len(starts)))
    matrix[:, 0] = norm.cdf(k - starts - shift)
    matrix[:, 1:] = weights * norm.pdf(nodes[None, :] + k - starts[:, None] - shift)
    return float(np.linalg.solve(np.eye(len(starts)) - matrix, np.ones(len(starts)))[0])


def ewma_run_length(weight: float, width: float, shift: float = 0.0) -> float:
    """Return the average run length of the two-sided EWMA with its lasting limits, starting at zero.

    L(u) = 1 + 1/w times the integral over the limits of L(y) f((y - (1 - w) u)/w).

    Args:
        weight: of the newest reading, above 0 and up to 1.
        width: of the limits in spreads of the average (L).
        shift: of the mean, in spreads, from the first reading on.

    Returns:
        Readings.

    Raises:
        ValueError: if the weight is not in (0, 1], or the width is not above 0.
    """
    if not (0.0 < weight <= 1.0 and width > 0.0):
        raise ValueError(f"weight must be in (0, 1] and width above 0, not {weight!r} and {width!r}")
    limit = width * math.sqrt(weight / (2.0 - weight))
    nodes, weights = _nodes(-limit, limit)
    starts = np.concatenate([[0.0], nodes])
    step = (nodes[None, :] - (1.0 - weight) * starts[:, None]) / weight
    kernel = weights / weight * norm.pdf(step - shift)
    inside = np.linalg.solve(np.eye(NODES) - kernel[1:], np.ones(NODES))
    return float(1.0 + kernel[0] @ inside)


def _nodes(low: float, high: float) -> tuple[Array, Array]:
    points, weights = np.polynomial.legendre.leggauss(NODES)
    half = (high - low) / 2.0
    return low + half * (points + 1.0), half * weights
