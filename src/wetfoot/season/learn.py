"""What the tank's readings say of the crop's thirst: one multiplier of water use, before and after them.

The multiplier m has a lognormal prior. A stretch between two readings is expected to draw D(m), from the season's
model; what was drawn differs from it by the errors of readings and top-ups, and by the model's, which grows with m.
Bayes' rule is applied on a grid of ln m, as D is not a straight line, with Student's t (4 degrees of freedom) in the
place of the normal, so that one misread scale does not carry the estimate away (West 1984, J. R. Stat. Soc. B 46,
431-439; Lange, Little & Taylor 1989, J. Am. Stat. Assoc. 84, 881-896). Its scale is set so that a
reading informs as much as with a normal of the errors' spread (Fisher information, (df + 1)/(df + 3) over scale^2).

A reading ends one stretch and begins the next, so that its error counts in both, with opposite signs. What is known of
it is carried along at every point of the grid (the filter of Kalman 1960, J. Basic Eng. 82, 35-45, for one state);
without this, readings on many days would seem to say less than a few.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.stats import norm, t

from wetfoot.season.expected_draw import ExpectedDraw, drawn_between, model_sd_l
from wetfoot.season.stretches import Stretch

Array = NDArray[np.float64]

GRID_SD = 4.0  # how many prior spreads the grid reaches to either side
GRID_POINTS = 161
TAIL_DF = 4.0
LOW, HIGH = 0.1, 0.9


class Belief(NamedTuple):
    """What is known of the multiplier; the grid's axis comes last, a leak's (see `drawdown.leak`) before it.

    Attributes:
        ln_factor: the grid.
        log_weight: of each of its points; the weights sum to 1.
        last_d: when the last reading was taken, in days after planting; not a number before the first.
        last_error_l: how much that reading is thought to be too high.
        last_variance_l2: the variance of that.
    """

    ln_factor: Array
    log_weight: Array
    last_d: float
    last_error_l: Array
    last_variance_l2: Array


class Range(NamedTuple):
    """A middle value with what one case in ten stays below and goes above, and the mean."""

    middle: float
    low: float
    high: float
    mean: float


class Evidence(NamedTuple):
    """A stretch, what the model expects of it at every point of the grid, and the spread of the model's error."""

    stretch: Stretch
    expected_l: Array
    model_sd_l: Array


def prior(ln_sd: float) -> Belief:
    """Return what is known before any reading: a lognormal multiplier around 1.

    Args:
        ln_sd: standard deviation of its logarithm.

    Raises:
        ValueError: if it is not above 0.
    """
    if not ln_sd > 0.0:
        raise ValueError(f"ln_sd must be above 0, not {ln_sd!r}")
    grid = np.linspace(-GRID_SD * ln_sd, GRID_SD * ln_sd, GRID_POINTS)
    log_weight = norm.logpdf(grid, scale=ln_sd)
    return Belief(grid, normalised(log_weight), np.nan, np.zeros_like(grid), np.zeros_like(grid))


def evidence(stretches: Sequence[Stretch], expected: ExpectedDraw, belief: Belief) -> tuple[Evidence, ...]:
    """Return the stretches that count, with what the model expects of each: mean of the weather's years.

    Multipliers between and beyond the simulated ones are interpolated and held.

    Args:
        stretches: between readings; those left out for a reason, or outside the season, are passed over.
        expected: the model's draw.
        belief: whose grid to use.
    """
    days = expected.drawn_l.shape[-1]
    used = [
        stretch for stretch in stretches if not stretch.left_out and stretch.start_d >= 0.0 and stretch.end_d <= days
    ]
    return tuple(_evidence(stretch, expected, np.exp(belief.ln_factor)) for stretch in used)


def _evidence(stretch: Stretch, expected: ExpectedDraw, factor: Array) -> Evidence:
    drawn = drawn_between(expected, stretch.start_d, stretch.end_d).mean(axis=1)
    model_sd = model_sd_l(expected, stretch.start_d, stretch.end_d)
    return Evidence(stretch, _by_factor(factor, expected, drawn), _by_factor(factor, expected, model_sd))


def _by_factor(factor: Array, expected: ExpectedDraw, values: Array) -> Array:
    return np.asarray(np.interp(factor, expected.factors, values))


def learn(before: Belief, found: Evidence, leak_l: float | Array = 0.0) -> Belief:
    """Return what is known after a stretch.

    Of a stretch that emptied the tank it is only known that at least so much would have been drawn.

    Args:
        before: what was known.
        found: the stretch.
        leak_l: litres leaked in it besides, for each row of the belief.
    """
    mean, variance = _forecast(before, found)
    off, scale = found.stretch.drawn_l - mean - leak_l, np.sqrt(variance * (TAIL_DF + 1.0) / (TAIL_DF + 3.0))
    if found.stretch.emptied:
        log_weight = before.log_weight + t.logsf(off / scale, TAIL_DF)
        off = np.zeros_like(off)  # how far the reading errs cannot be told
    else:
        log_weight = before.log_weight - (TAIL_DF + 1.0) / 2.0 * np.log1p((off / scale) ** 2 / TAIL_DF) - np.log(scale)
    own = found.stretch.reading_sd_l**2
    return before._replace(
        log_weight=normalised(log_weight),
        last_d=found.stretch.end_d,
        last_error_l=-own / variance * off,
        last_variance_l2=own - own**2 / variance,
    )


def _forecast(before: Belief, found: Evidence) -> tuple[Array, Array]:
    """Return mean and variance of what a stretch shows, at every point of the grid."""
    stretch, own = found.stretch, found.stretch.reading_sd_l**2
    follows = stretch.start_d == before.last_d
    error = before.last_error_l if follows else np.zeros_like(before.last_error_l)
    variance = before.last_variance_l2 if follows else own
    return found.expected_l + error, variance + own + stretch.pour_sd_l**2 + found.model_sd_l**2


def normalised(log_weight: Array, axis: int | None = None) -> Array:
    """Return weights that sum to 1, all or along one axis, as logarithms."""
    below = log_weight - log_weight.max(axis=axis, keepdims=True)
    return np.asarray(below - np.log(np.exp(below).sum(axis=axis, keepdims=True)))


def learn_all(before: Belief, all_found: Sequence[Evidence]) -> Belief:
    """Return what is known after several stretches; in order of time."""
    known = before
    for found in all_found:
        known = learn(known, found)
    return known


def multiplier(known: Belief) -> Range:
    """Return the multiplier with its range."""
    return weighted_range(np.exp(known.ln_factor), np.exp(known.log_weight))


def blurred(known: Belief, expected: ExpectedDraw, all_found: Sequence[Evidence]) -> Belief:
    """Return what is known, less sure by a season that is wet or dry throughout: from the tank it looks like thirst.

    By the spread between the years of all that was drawn in the stretches, over how steeply that rises with the
    multiplier. Nothing is lost where the season's own weather is known.

    Args:
        known: from the stretches, without a leak's axis.
        expected: the model's draw.
        all_found: the stretches.
    """
    if not all_found or expected.drawn_l.shape[1] == 1:
        return known
    years = sum(drawn_between(expected, found.stretch.start_d, found.stretch.end_d) for found in all_found)
    at, mean = list(expected.factors).index(1.0), np.mean(years, axis=1)
    steep = np.gradient(np.log(np.maximum(mean, 1e-9)), np.log(expected.factors))[at]
    ln_sd = float(np.std(np.asarray(years)[at], ddof=1) / mean[at] / max(steep, 1.0))
    if ln_sd < known.ln_factor[1] - known.ln_factor[0]:
        return known
    off = known.ln_factor[:, None] - known.ln_factor[None, :]
    weight = norm.pdf(off, scale=ln_sd) @ np.exp(known.log_weight)
    return known._replace(log_weight=np.log(np.maximum(weight / weight.sum(), 1e-300)))


def weighted_range(values: Array, weights: Array) -> Range:
    """Return the quantiles and mean of a density on evenly laid points, linear between the points' middles.

    Args:
        values: rising, shape (points,).
        weights: of each, summing to 1.
    """
    below = np.cumsum(weights) - weights / 2.0
    middle, low, high = np.interp((0.5, LOW, HIGH), below, values)
    return Range(float(middle), float(low), float(high), float(values @ weights))


def surprise(known: Belief, found: Evidence, leak_l: float | Array = 0.0) -> Array:
    """Return how far a stretch is off what was known before it, in spreads of what was to be expected.

    The predicted spread holds the reading's and the model's error and what is not known of the multiplier, so that
    in the absence of a leak the surprises of a season are nearly independent and standard normal: recursive
    residuals (Brown, Durbin & Evans 1975, J. R. Stat. Soc. B 37, 149-192).

    Args:
        known: before the stretch.
        found: the stretch.
        leak_l: litres leaked in it besides, for each row of the belief.

    Returns:
        One number for each row of the belief.
    """
    weight = np.exp(known.log_weight)
    means, variances = _forecast(known, found)
    mean = (weight * means).sum(axis=-1, keepdims=True)
    spread = np.sqrt((weight * (variances + (means - mean) ** 2)).sum(axis=-1, keepdims=True))
    return np.asarray(((found.stretch.drawn_l - leak_l - mean) / spread)[..., 0])
