"""Logistic regression in which boards differ at random: a check on the plain fit when splits cluster on boards."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import optimize, special

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class BoardEffectFit:
    """Coefficients on the log-odds scale, the standard deviation between boards, and the log-likelihood."""

    coefficients: Floats
    board_sd: float
    log_likelihood: float


def random_intercept_logistic(
    design: ArrayLike, happened: ArrayLike, board: ArrayLike, nodes: int = 25
) -> BoardEffectFit:
    """Fit log-odds = X b + sd u_board, u standard normal, by maximum likelihood.

    The integral over u is adaptive Gauss-Hermite quadrature about its mode (Liu & Pierce 1994, Biometrika 81:624,
    from memory); one node is Laplace's approximation. Maximum likelihood: with complete separation it diverges,
    which Firth's penalty does not.

    Args:
        design: X, shape (n, p), full column rank.
        happened: 0 or 1, shape (n,).
        board: label of each pot's board, shape (n,).
        nodes: quadrature nodes.

    Returns:
        The fit.

    Raises:
        ValueError: if shapes do not agree or the likelihood has no finite maximum.
    """
    x, y = np.asarray(design, dtype=float), np.asarray(happened, dtype=float)
    labels, index = np.unique(np.asarray(board), return_inverse=True)
    if x.ndim != 2 or y.shape != x.shape[:1] or index.shape != y.shape:
        raise ValueError(f"design must be (n, p), happened and board (n,), not {x.shape}, {y.shape}, {index.shape}")
    member = (index == np.arange(len(labels))[:, None]).astype(float)
    points, weights = np.polynomial.hermite.hermgauss(nodes)

    def loss(parameters: Floats) -> float:
        return -_log_likelihood(x @ parameters[:-1], y, member, abs(parameters[-1]), points, weights)

    start = np.append(np.zeros(x.shape[1]), 0.5)
    rough = optimize.minimize(loss, start, method="BFGS")
    found = optimize.minimize(
        loss, rough.x, method="Nelder-Mead", options={"xatol": 1e-7, "fatol": 1e-11, "maxiter": 6000}
    )
    if not np.all(np.abs(found.x) < 30.0):
        raise ValueError("happened is separated by the design: no finite maximum; use firth_logistic")
    return BoardEffectFit(found.x[:-1], float(abs(found.x[-1])), -float(found.fun))


def _log_likelihood(eta: Floats, y: Floats, member: Floats, sd: float, points: Floats, weights: Floats) -> float:
    mode, curvature = _modes(eta, y, member, sd)
    scale = np.sqrt(2.0 / curvature)
    u = mode[:, None] + scale[:, None] * points
    at = eta[:, None] + sd * (member.T @ u)
    pots = y[:, None] * at - np.logaddexp(0.0, at)
    logs = member @ pots - u**2 / 2.0 - 0.5 * math.log(2.0 * math.pi) + points**2 + np.log(weights)
    return float((special.logsumexp(logs, axis=1) + np.log(scale)).sum())


def _modes(eta: Floats, y: Floats, member: Floats, sd: float) -> tuple[Floats, Floats]:
    """Return the most likely u of each board and the curvature there, by Newton steps for all boards at once."""
    u = np.zeros(len(member))
    for _ in range(100):
        chance = special.expit(eta + sd * (member.T @ u))
        curvature = 1.0 + sd**2 * (member @ (chance * (1.0 - chance)))
        step = np.clip((sd * (member @ (y - chance)) - u) / curvature, -2.0, 2.0)
        u = u + step
        if np.abs(step).max() < 1e-12:
            break
    chance = special.expit(eta + sd * (member.T @ u))
    return u, 1.0 + sd**2 * (member @ (chance * (1.0 - chance)))
