"""Counts such as stems: Poisson regression, with the scale estimated where counts scatter otherwise."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class CountFit:
    """A log-linear regression of counts.

    Attributes:
        coefficients: shape (p,), on the log scale.
        covariance: shape (p, p), as if the variance were the mean; times `scale` for the quasi-Poisson fit.
        deviance: of the fit.
        null_deviance: of a single mean.
        residual_df: pots less coefficients.
        aic: Akaike's criterion of the Poisson fit.
        scale: Pearson chi-squared over df; above 1 the counts scatter more than Poisson (nan without df).
        fitted: shape (n,), expected counts.
    """

    coefficients: Floats
    covariance: Floats
    deviance: float
    null_deviance: float
    residual_df: int
    aic: float
    scale: float
    fitted: Floats

    @property
    def quasi_standard_errors(self) -> Floats:
        """Return standard errors with the estimated scale, for t on the residual df."""
        return np.asarray(np.sqrt(self.scale * np.diag(self.covariance)))


def poisson_regression(design: ArrayLike, counts: ArrayLike) -> CountFit:
    """Fit log mean = X b by iterated weighted least squares.

    McCullagh & Nelder 1989, Generalized Linear Models, ch. 2 and 6 (from memory).

    Args:
        design: X, shape (n, p), full column rank.
        counts: whole numbers from 0, shape (n,).

    Returns:
        The fit.

    Raises:
        ValueError: if shapes do not agree, a count is not one, X is rank deficient or there is no finite maximum
            (a treatment with zero counts only).
    """
    x, y = np.asarray(design, dtype=float), np.asarray(counts, dtype=float)
    if x.ndim != 2 or y.shape != x.shape[:1]:
        raise ValueError(f"design must be (n, p) and counts (n,), not {x.shape} and {y.shape}")
    if not np.all((y >= 0) & (y == np.floor(y))) or np.linalg.matrix_rank(x) < x.shape[1]:
        raise ValueError("counts must be whole numbers >= 0, none missing, and the design of full column rank")
    b, mean = _fit(x, y)
    df = len(y) - x.shape[1]
    log_likelihood = float((y * np.log(mean) - mean - special.gammaln(y + 1.0)).sum())
    return CountFit(
        coefficients=b,
        covariance=np.linalg.inv((x.T * mean) @ x),
        deviance=_deviance(y, mean),
        null_deviance=_deviance(y, np.full_like(y, y.mean())),
        residual_df=df,
        aic=2.0 * x.shape[1] - 2.0 * log_likelihood,
        scale=float(((y - mean) ** 2 / mean).sum() / df) if df else math.nan,
        fitted=mean,
    )


def deviance_test(smaller: CountFit, larger: CountFit, quasi: bool = True) -> tuple[float, float]:
    """Return the statistic and p value of the terms that the larger of two nested fits has more.

    Args:
        smaller: fit without the terms.
        larger: fit with them.
        quasi: F with the larger fit's scale; else chi-squared.

    Raises:
        ValueError: if the larger fit has no more coefficients.
    """
    terms = smaller.residual_df - larger.residual_df
    if terms < 1:
        raise ValueError("larger must have more coefficients than smaller")
    drop = max(0.0, smaller.deviance - larger.deviance)
    if not quasi:
        return drop, float(special.chdtrc(terms, drop))
    f = drop / terms / larger.scale
    return f, float(special.fdtrc(terms, larger.residual_df, f))


def _fit(x: Floats, y: Floats) -> tuple[Floats, Floats]:
    mean = y + 0.1
    previous = math.inf
    for _ in range(100):
        working = np.log(mean) + (y - mean) / mean
        b = np.linalg.lstsq(x * np.sqrt(mean)[:, None], working * np.sqrt(mean), rcond=None)[0]
        mean = np.exp(np.clip(x @ b, -700.0, 700.0))
        deviance = _deviance(y, mean)
        if abs(previous - deviance) < 1e-13 * (deviance + 1.0):
            break
        previous = deviance
    if mean.min() < 1e-8 * max(1.0, float(y.mean())):
        raise ValueError("counts of some treatment are all zero: its mean has no finite logarithm")
    return np.asarray(b), np.asarray(mean)


def _deviance(y: Floats, mean: Floats) -> float:
    return float(2.0 * (special.xlogy(y, y / mean) - (y - mean)).sum())
