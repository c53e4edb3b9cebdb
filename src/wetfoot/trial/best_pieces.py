"""How many seed pieces a pot should get, once the seed that they cost is counted."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wetfoot.trial.profile_intervals import crossing, least, threshold
from wetfoot.trial.response import CompetitionCurve, pot_yield_g

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class BestPieces:
    """The number of pieces with the largest net yield, and how well the trial knows it.

    Attributes:
        pieces: the best number as a fraction; 0 if even the first piece costs more than it returns.
        interval: profile interval of it; the upper end may be infinite.
        standard_error: by the delta method.
        tested: smallest and largest number in the trial.
        best_tested: best whole number within the tested range.
        not_worse: whole numbers within the tested range whose net yield is not significantly below that one.
        beyond_tested: the best number lies outside the tested range.
        words: what can be said.
    """

    pieces: float
    interval: tuple[float, float]
    standard_error: float
    tested: tuple[float, float]
    best_tested: int
    not_worse: tuple[int, ...]
    beyond_tested: bool
    words: str


def best_number(a: ArrayLike, b: ArrayLike, seed_g: float) -> Floats:
    """Return the number of pieces at which one more returns just what it costs: (sqrt(a/s) - a) / b, at least 0.

    From dY/dp = a / (a + b p)^2 = s. Infinite where b is not above zero and the first piece pays.

    Args:
        a: 1 / yield of a lone piece, 1/g.
        b: 1 / ceiling, 1/g.
        seed_g: what one piece costs, in g of harvest: its mass, or its price over the price of a gram harvested.

    Raises:
        ValueError: if the cost is not positive.
    """
    if seed_g <= 0:
        raise ValueError(f"seed_g must be > 0, not {seed_g}")
    lone, crowd = np.asarray(a, dtype=float), np.asarray(b, dtype=float)
    with np.errstate(divide="ignore", invalid="ignore"):
        inner = (np.sqrt(lone / seed_g) - lone) / crowd
    return np.asarray(np.where(lone * seed_g >= 1.0, 0.0, np.where(crowd > 0, inner, math.inf)))


def net_yield_g(curve: CompetitionCurve, pieces: ArrayLike, seed_g: float) -> Floats:
    """Return the yield of a pot less the seed spent on it, g."""
    return np.asarray(pot_yield_g(pieces, curve.a, curve.b) - seed_g * np.asarray(pieces, dtype=float))


def multiplication(curve: CompetitionCurve, pieces: ArrayLike, piece_mass_g: float) -> Floats:
    """Return kilograms harvested per kilogram planted; it always falls with more pieces where pots compete.

    Raises:
        ValueError: if the mass is not positive.
    """
    if piece_mass_g <= 0:
        raise ValueError(f"piece_mass_g must be > 0, not {piece_mass_g}")
    p = np.asarray(pieces, dtype=float)
    return np.asarray(pot_yield_g(p, curve.a, curve.b) / (piece_mass_g * p))


def best_pieces(curve: CompetitionCurve, seed_g: float, level: float = 0.95) -> BestPieces:
    """Return the best number of pieces with its profile interval, and the whole numbers as good as the best one.

    A whole number is kept if curves under which it pays just as much as the best tested one fit as well as F allows
    (the same profile as the interval).

    Args:
        curve: the fitted law.
        seed_g: as in `best_number`.
        level: confidence level.

    Returns:
        Numbers and words; an optimum outside the tested range is flagged and not recommended.

    Raises:
        ValueError: if the cost is not positive, or no whole number lies within the tested range.
    """
    best = float(best_number(curve.a, curve.b, seed_g))
    interval = best_number_interval(curve, seed_g, level)
    tested = (float(curve.pieces.min()), float(curve.pieces.max()))
    whole = range(math.ceil(tested[0]), math.floor(tested[1]) + 1)
    if not whole:
        raise ValueError(f"pieces must span a whole number, not {tested[0]} to {tested[1]}")
    chosen = whole[int(np.argmax(net_yield_g(curve, whole, seed_g)))]
    target = threshold(curve, level)
    kept = tuple(p for p in whole if p == chosen or _rss_of_equal_pay(curve, p, chosen, seed_g) <= target)
    beyond = not tested[0] <= best <= tested[1]
    return BestPieces(
        pieces=best,
        interval=interval,
        standard_error=_delta_se(curve, seed_g) if 0 < best < math.inf else math.nan,
        tested=tested,
        best_tested=chosen,
        not_worse=kept,
        beyond_tested=beyond,
        words=_in_words(best, interval, tested, chosen, kept, level),
    )


def best_number_interval(curve: CompetitionCurve, seed_g: float, level: float = 0.95) -> tuple[float, float]:
    """Return the profile interval of the best number: every number whose best curve fits as well as F allows.

    The lower end is 0 where curves under which not even the first piece pays fit as well; the upper end is infinite
    where pots without competition do.

    Raises:
        ValueError: if the cost is not positive.
    """
    best = float(best_number(curve.a, curve.b, seed_g))
    target = threshold(curve, level)

    def rss_at(number: float) -> float:
        return _rss_of_equal_pay(curve, number, number, seed_g)

    def rss_at_log(log_number: float) -> float:
        return rss_at(math.exp(min(max(log_number, -30.0), 30.0)))

    inside = best
    if not 0 < best < math.inf:
        usual = float(np.median(curve.pieces))
        fits = [number for number in usual * 2.0 ** np.arange(-12, 13) if rss_at(number) <= target]
        if not fits:
            return best, best
        inside = min(fits) if best > 0 else max(fits)
    low = 0.0 if best == 0 else math.exp(crossing(rss_at_log, math.log(inside), -0.05, target))
    high = math.inf if best == math.inf else math.exp(crossing(rss_at_log, math.log(inside), 0.05, target))
    return low, high


def _rss_of_equal_pay(curve: CompetitionCurve, first: float, second: float, seed_g: float) -> float:
    """Return the least residual sum of squares of curves under which two numbers of pieces pay the same.

    Equal net yields mean (a + b p)(a + b q) = a / s; for p = q that is the curve with its best number there.
    """

    def rss(log_as: Floats) -> Floats:
        a = np.exp(log_as) / seed_g
        root = np.sqrt((a * (first - second)) ** 2 + 4.0 * first * second * a / seed_g)
        return curve.residual_ss_at(a, (root - a * (first + second)) / (2.0 * first * second))

    # All curves under which a first piece pays have a s between 0 and 1.
    return least(rss, -28.0, -1e-9)


def _delta_se(curve: CompetitionCurve, seed_g: float) -> float:
    best = float(best_number(curve.a, curve.b, seed_g))
    slope = np.array([(0.5 / math.sqrt(curve.a * seed_g) - 1.0) / curve.b, -best / curve.b])
    return math.sqrt(float(slope @ curve.covariance @ slope))


def _in_words(
    best: float,
    interval: tuple[float, float],
    tested: tuple[float, float],
    chosen: int,
    kept: tuple[int, ...],
    level: float,
) -> str:
    upper = f"{interval[1]:.1f}" if math.isfinite(interval[1]) else "no upper limit"
    others = [str(p) for p in kept if p != chosen]
    parts = [_headline(best, tested), f"{100 * level:g} % interval {interval[0]:.1f} to {upper}."]
    if tested[0] <= best <= tested[1] and not (tested[0] <= interval[0] and interval[1] <= tested[1]):
        parts.append("The interval reaches beyond the numbers that were tested.")
    parts.append(f"Of the whole numbers within the tested range {chosen} is best.")
    parts.append(f"Not significantly worse: {', '.join(others)}." if others else "All other numbers tested are worse.")
    return " ".join(parts)


def _headline(best: float, tested: tuple[float, float]) -> str:
    if best > tested[1]:
        figure = f"the curve's own figure ({best:.1f})" if math.isfinite(best) else "a curve without any maximum"
        return (
            f"The best number of pieces is not below {tested[1]:g}: the trial did not reach the optimum, "
            f"and {figure} lies outside what was tested."
        )
    if best < tested[0]:
        return f"The best number of pieces is not above {tested[0]:g}: the trial tested no fewer."
    return f"The best number of pieces is {best:.1f}."
