"""F and t tests of fixed effects with estimated variance components, fit for few boards.

Kenward and Roger (1997), Biometrics 53:983-997, for a variance that is linear in its components. Exact where the
design is balanced: there it gives the F of the right error stratum.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import special, stats

from wetfoot.trial.mixed import RemlFit
from wetfoot.trial.terms import Array


@dataclass(frozen=True)
class FTest:
    """An F test of several coefficients at once."""

    f: float
    df: int
    df_error: float
    p: float


@dataclass(frozen=True)
class Estimates:
    """Linear functions of the coefficients: values, standard errors, degrees of freedom, two-sided p, shape (m,)."""

    value: Array
    se: Array
    df: Array
    p: Array

    def interval(self, confidence: float = 0.95) -> tuple[Array, Array]:
        """Return the ends of the confidence intervals, shape (m,) each."""
        half = stats.t.ppf(0.5 + confidence / 2, self.df) * self.se
        return self.value - half, self.value + half


@dataclass(frozen=True)
class KenwardRoger:
    """A fit with its small-sample adjustment.

    Attributes:
        fit: the fit.
        covariance: adjusted covariance of the coefficients, shape (p, p).
        w: covariance of the variance components, the inverse of their expected information, shape (k, k).
        slopes: slope of the unadjusted covariance in each component, shape (k, p, p).
    """

    fit: RemlFit
    covariance: Array
    w: Array
    slopes: Array


def kenward_roger(fit: RemlFit) -> KenwardRoger:
    """Return the adjusted covariance of a fit, and what its degrees of freedom need.

    Args:
        fit: the fit; a component at its bound of zero is kept, as its uncertainty does not vanish there.
    """
    vx = fit.v_inverse @ fit.x
    gvx = np.array([*(g @ vx for g in fit.patterns), vx])
    p = -np.einsum("ni,knj->kij", vx, gvx)
    vgvx = fit.v_inverse @ gvx
    w = np.asarray(np.linalg.inv(fit.expected), dtype=np.float64)
    q = np.einsum("kl,kni,lnj->ij", w, gvx, vgvx, optimize=True)
    pp = np.einsum("kl,kia,ab,lbj->ij", w, p, fit.phi, p, optimize=True)
    covariance = np.asarray(fit.phi + 2 * fit.phi @ (q - pp) @ fit.phi, dtype=np.float64)
    return KenwardRoger(fit, covariance, w, -fit.phi @ p @ fit.phi)


def f_test(adjusted: KenwardRoger, rows: Array) -> FTest:
    """Return the F test that some linear functions of the coefficients are all zero.

    F is nan where components far below zero leave no positive variance to judge by.

    Args:
        adjusted: the fit with its adjustment.
        rows: independent linear functions, shape (q, p).
    """
    if len(rows) == 1:
        one = estimates(adjusted, rows)
        return FTest(float((one.value[0] / one.se[0]) ** 2), 1, float(one.df[0]), float(one.p[0]))
    q = len(rows)
    spread = np.linalg.inv(rows @ adjusted.fit.phi @ rows.T)
    # Th Phi P_i Phi of the paper has the traces of these q x q matrices.
    parts = -spread @ (rows @ adjusted.slopes @ rows.T)
    a1 = float(np.einsum("kl,kii,ljj->", adjusted.w, parts, parts))
    a2 = float(np.einsum("kl,kij,lji->", adjusted.w, parts, parts))
    df, scale = _df_and_scale(q, a1, a2)
    effect = rows @ adjusted.fit.beta
    covariance = rows @ adjusted.covariance @ rows.T
    if np.linalg.eigvalsh(covariance)[0] <= 0:
        return FTest(float("nan"), q, df, float("nan"))
    f = scale / q * float(effect @ np.linalg.solve(covariance, effect))
    return FTest(f, q, df, float(special.fdtrc(q, df, f)))


def _df_and_scale(q: int, a1: float, a2: float) -> tuple[float, float]:
    """Return error degrees of freedom and scale of the F from the two traces of the paper."""
    if a2 >= q * (1 - 1e-9):
        # The mean of F is infinite at 2 or fewer degrees of freedom; balanced designs have a2 = 2q/df there too.
        return 2 * q / a2, 1.0
    b = (a1 + 6 * a2) / (2 * q)
    g = ((q + 1) * a1 - (q + 4) * a2) / ((q + 2) * a2)
    d = 3 * q + 2 * (1 - g)
    c1, c2, c3 = g / d, (q - g) / d, (q + 2 - g) / d
    mean = 1 / (1 - a2 / q)
    # q rho of the paper is over/under; kept apart because under is zero at exactly 4 degrees of freedom
    over, under = 1 + c1 * b, (1 - c2 * b) ** 2 * (1 - c3 * b) * mean**2
    df = 4 + (q + 2) * under / (over - under)
    return df, df / (mean * (df - 2))


def estimates(adjusted: KenwardRoger, rows: Array) -> Estimates:
    """Return linear functions of the coefficients, each with its own standard error, degrees of freedom and p.

    Args:
        adjusted: the fit with its adjustment.
        rows: the linear functions, shape (m, p).
    """
    plain = np.einsum("mi,ij,mj->m", rows, adjusted.fit.phi, rows)
    slopes = np.einsum("mi,kij,mj->mk", rows, adjusted.slopes, rows)
    df = 2 * plain**2 / np.einsum("mk,kl,ml->m", slopes, adjusted.w, slopes)
    value = rows @ adjusted.fit.beta
    variance = np.einsum("mi,ij,mj->m", rows, adjusted.covariance, rows)
    se = np.sqrt(np.where(variance > 0, variance, np.nan))
    return Estimates(value, se, df, 2 * special.stdtr(df, -np.abs(value) / se))
