"""Whether the assumptions of an analysis of variance hold, how large its effects are, and how even the pots were."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy import optimize, stats

from wetfoot.trial.terms import Array, Labels, indicator

DOUBTFUL_P = 0.01
BOX_COX_LIMIT = 5.0
LARGE_SAMPLE = 5000


@dataclass(frozen=True)
class Check:
    """A test of one assumption.

    Attributes:
        name: the test and what it was done over.
        statistic: its statistic.
        p: its p.
        doubtful: whether p is below 0.01: with this many tests 0.05 would warn too often.
    """

    name: str
    statistic: float
    p: float

    @property
    def doubtful(self) -> bool:
        """Return whether the assumption is in doubt."""
        return self.p < DOUBTFUL_P


@dataclass(frozen=True)
class BoxCox:
    """The power that makes responses most nearly normal with even spread; 1 is no change, 0 the logarithm."""

    power: float
    low: float
    high: float


def residuals(y: Array, x: Array) -> Array:
    """Return what is left of y after all columns of x, of the shape of y; x needs no full rank.

    Args:
        y: responses, shape (n,) or one set in each column, (n, m).
        x: columns, boards among them so that what is left is that of the pots, shape (n, p).
    """
    start = y - y[0]
    return np.asarray(start - x @ np.linalg.lstsq(x, start, rcond=None)[0])


def normality(left: Array) -> tuple[Check, ...]:
    """Return Shapiro and Wilk's test (1965) of the residuals; none where it is not defined.

    Args:
        left: residuals of the pots, shape (n,).
    """
    if not 3 <= len(left) <= LARGE_SAMPLE or np.ptp(left) == 0:
        return ()
    return (Check("normal residuals (Shapiro-Wilk)", *map(float, stats.shapiro(left))),)


def even_spread(values: Array, labels: Labels, over: str) -> tuple[Check, ...]:
    """Return tests that the levels of a factor have the same spread; none where a level has no spread to judge.

    Brown and Forsythe (1974), about the medians, and Bartlett (1937).

    Args:
        values: responses or residuals, shape (n,).
        labels: one label per pot, shape (n,).
        over: what the test is done over, in words.
    """
    groups = _groups(values, labels)
    if len(groups) < 2 or any(len(group) < 3 or np.ptp(group) == 0 for group in groups):
        return ()
    spread = stats.levene(*groups, center="median")
    return (
        Check(f"equal spread over {over} (Brown-Forsythe)", *map(float, spread)),
        Check(f"equal spread over {over} (Bartlett)", *map(float, stats.bartlett(*groups))),
    )


def _groups(values: Array, labels: Labels) -> list[Array]:
    """Return the values of each level."""
    return [values[column > 0] for column in indicator(labels).T]


def box_cox(y: Array, x: Array, confidence: float = 0.95) -> BoxCox:
    """Return the power transformation with the greatest profile likelihood (Box and Cox 1964, from memory).

    Args:
        y: positive responses, shape (n,).
        x: columns of the model, shape (n, p).
        confidence: of the interval.

    Raises:
        ValueError: if a response is not positive.
    """
    if np.any(y <= 0):
        raise ValueError(f"y: a power needs positive responses, the least is {y.min()}")
    q = np.linalg.svd(x, full_matrices=False)
    basis = q[0][:, q[1] > 1e-10 * q[1][0]]
    logs = np.log(y / stats.gmean(y))

    def loss(power: float) -> float:
        changed = logs if abs(power) < 1e-8 else np.expm1(power * logs) / power
        left = changed - basis @ (basis.T @ changed)
        return float(len(y) / 2 * np.log(left @ left))

    best = optimize.minimize_scalar(
        loss, bounds=(-BOX_COX_LIMIT, BOX_COX_LIMIT), method="bounded", options={"xatol": 1e-9}
    )
    limit = best.fun + stats.chi2.ppf(confidence, 1) / 2
    low, high = (_crossing(loss, float(best.x), side * BOX_COX_LIMIT, limit) for side in (-1, 1))
    return BoxCox(float(best.x), low, high)


def _crossing(loss: Callable[[float], float], inside: float, end: float, limit: float) -> float:
    """Return where the profile crosses its limit, or the end of the range tried."""
    if loss(end) <= limit:
        return end
    return float(optimize.brentq(lambda power: loss(power) - limit, inside, end, xtol=1e-9))


@dataclass(frozen=True)
class EffectSize:
    """Share of the variation that a term explains; with few error degrees of freedom eta squared is inflated."""

    partial_eta2: float
    partial_omega2: float


def effect_size(df: int, f: float, df_error: float, n: int) -> EffectSize:
    """Return partial eta squared and partial omega squared of a term from its F in its own error stratum.

    Args:
        df: degrees of freedom of the term.
        f: its F.
        df_error: degrees of freedom of its error.
        n: number of pots.
    """
    gain = df * (f - 1)
    return EffectSize(df * f / (df * f + df_error), gain / (gain + n))


def coefficient_of_variation(mean_square: float, mean: float, pots: int = 1) -> float:
    """Return the standard deviation of the mean of some pots as a fraction of the mean.

    Args:
        mean_square: error mean square per pot.
        mean: grand mean.
        pots: 1 for pots, pots on a board for the boards' stratum.
    """
    return float(np.sqrt(mean_square / pots) / mean)
