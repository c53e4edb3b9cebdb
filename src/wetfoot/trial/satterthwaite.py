"""Degrees of freedom by Satterthwaite's method, as a second opinion beside Kenward and Roger.

Satterthwaite (1946); Giesbrecht and Burns (1985) for one contrast; Fai and Cornelius (1996) for several (all from
memory). A component at its bound of zero is dropped here, which is usual elsewhere and is the trap: the boards' test
then borrows the degrees of freedom of the pots.
"""

from __future__ import annotations

import numpy as np
from scipy import stats

from wetfoot.trial.kenward_roger import FTest
from wetfoot.trial.mixed import RemlFit
from wetfoot.trial.terms import Array


def satterthwaite(fit: RemlFit, rows: Array) -> FTest:
    """Return the F test that some linear functions of the coefficients are all zero.

    Uses the observed information and drops components that are exactly zero.

    Args:
        fit: the fit.
        rows: independent linear functions, shape (q, p).
    """
    q = len(rows)
    covariance = rows @ fit.phi @ rows.T
    size, axes = np.linalg.eigh(covariance)
    turned = axes.T @ rows
    f = float(np.sum((turned @ fit.beta) ** 2 / size)) / q
    df = _joint(_dfs(fit, turned, size))
    return FTest(f, q, df, float(stats.f.sf(f, q, df)))


def _dfs(fit: RemlFit, rows: Array, variances: Array) -> Array:
    """Return the degrees of freedom of each row, shape (q,)."""
    kept = np.flatnonzero(fit.theta)
    w = np.linalg.inv(fit.observed[np.ix_(kept, kept)])
    back = rows @ fit.phi @ fit.x.T @ fit.v_inverse
    patterns = [*fit.patterns, np.eye(len(fit.x))]
    slopes = np.array([np.einsum("mn,no,mo->m", back, patterns[k], back) for k in kept]).T
    return np.asarray(2 * variances**2 / np.einsum("mk,kl,ml->m", slopes, w, slopes))


def _joint(dfs: Array) -> float:
    """Return the error degrees of freedom of an F made of several t (Fai and Cornelius 1996)."""
    q = len(dfs)
    if q == 1:
        return float(dfs[0])
    useful = dfs[dfs > 2]
    expected = float(np.sum(useful / (useful - 2)))
    return 2 * expected / (expected - q) if expected > q else 2.0
