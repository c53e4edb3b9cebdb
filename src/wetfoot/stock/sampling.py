"""How many to test, what a sample can find, and what may be said when nothing was found.

'Not detected' is always a statement about a prevalence and a confidence, never 'free'. Sampling by acceptance
number zero, as ISPM 31 (2008), Methodologies for sampling of consignments, lays it out.
"""

from __future__ import annotations

import math
from typing import Literal, NamedTuple

import numpy as np
from scipy.stats import beta, hypergeom

Sides = Literal["upper", "both"]


class Bounds(NamedTuple):
    """A prevalence between two bounds, as fractions."""

    low: float
    high: float


def infected_units(lot: int, prevalence: float) -> int:
    """Return the infected units of a lot at a design prevalence, rounded down as ISPM 31 does.

    >>> infected_units(700, 0.005)
    3
    """
    _whole("lot", lot, 1)
    _fraction("prevalence", prevalence)
    return math.floor(lot * prevalence + 1e-9)


def detection_probability(tested: int, lot: int, infected: int, sensitivity: float = 1.0) -> float:
    """Return the chance that a sample from a finite lot holds at least one unit that tests positive.

    Hypergeometric draw, each infected unit found with the test's sensitivity: 1 - sum_k h(k) (1 - Se)^k.

    Args:
        tested: units drawn without putting back.
        lot: units in the lot.
        infected: infected units in the lot.
        sensitivity: chance that the test shows an infected unit, above 0 to 1.

    Raises:
        ValueError: for counts that cannot be.
    """
    _whole("lot", lot, 1)
    _whole("tested", tested, 0, lot)
    _whole("infected", infected, 0, lot)
    _sensitivity(sensitivity)
    k = np.arange(0, min(infected, tested) + 1)
    return float(1.0 - hypergeom.pmf(k, lot, infected, tested) @ (1.0 - sensitivity) ** k)


def sample_size(lot: int, prevalence: float, confidence: float = 0.95, sensitivity: float = 1.0) -> int | None:
    """Return the fewest units of a finite lot to test, so that the design prevalence would be found.

    Args:
        lot: units in the lot.
        prevalence: the level that must not go unseen.
        confidence: chance of finding it.
        sensitivity: of the test.

    Returns:
        The sample size; None where the prevalence stands for less than one unit, or where an imperfect test would
        miss too often even if all units were tested.

    >>> sample_size(100, 0.05)
    45
    """
    _fraction("confidence", confidence)
    _sensitivity(sensitivity)
    infected = infected_units(lot, prevalence)
    if infected < 1 or detection_probability(lot, lot, infected, sensitivity) < confidence:
        return None
    low, high = 0, lot  # the chance rises with every unit drawn
    while high - low > 1:
        middle = (low + high) // 2
        if detection_probability(middle, lot, infected, sensitivity) >= confidence:
            high = middle
        else:
            low = middle
    return high


def sample_size_of_many(prevalence: float, confidence: float = 0.95, sensitivity: float = 1.0) -> int:
    """Return the units to test where the lot is so large that drawing does not change it: binomial.

    n = ln(1 - confidence) / ln(1 - prevalence Se), rounded up.

    >>> sample_size_of_many(0.01)
    299
    """
    _fraction("prevalence", prevalence)
    _fraction("confidence", confidence)
    _sensitivity(sensitivity)
    return math.ceil(math.log(1.0 - confidence) / math.log1p(-prevalence * sensitivity) - 1e-9)


def prevalence_bounds(
    positives: int, tested: int, confidence: float = 0.95, sides: Sides = "upper", sensitivity: float = 1.0
) -> Bounds:
    """Return the exact bounds on the prevalence that a sample allows.

    Clopper & Pearson (1934), Biometrika 26:404; an imperfect test shows Se times the prevalence, so the bounds are
    divided by its sensitivity.

    Args:
        positives: units that tested positive.
        tested: units tested.
        confidence: of the statement.
        sides: 'upper' puts all error above, the usual claim of clean stock; 'both' halves it.
        sensitivity: of the test.
    """
    _whole("tested", tested, 1)
    _whole("positives", positives, 0, tested)
    _fraction("confidence", confidence)
    _sensitivity(sensitivity)
    error = (1.0 - confidence) / (2.0 if sides == "both" else 1.0)
    low = float(beta.ppf(error, positives, tested - positives + 1)) if positives and sides == "both" else 0.0
    high = float(beta.ppf(1.0 - error, positives + 1, tested - positives)) if positives < tested else 1.0
    return Bounds(min(low / sensitivity, 1.0), min(high / sensitivity, 1.0))


def chance_infected(
    prior: float, prevalence: float, tested: int, sensitivity: float = 1.0, specificity: float = 1.0
) -> float:
    """Return the chance that a lot is infected at the design prevalence although all its tests were negative.

    Bayes: pr (1 - s) / (pr (1 - s) + (1 - pr) c), with 1 - s and c the chances of all-negative samples from an
    infected and from a clean lot.

    >>> round(chance_infected(0.1, 0.01, 60, 0.9), 5)
    0.06067
    """
    for name, value in (("prior", prior), ("prevalence", prevalence)):
        _fraction(name, value)
    _whole("tested", tested, 0)
    _sensitivity(sensitivity)
    _sensitivity(specificity, "specificity")
    shown = prevalence * sensitivity + (1.0 - prevalence) * (1.0 - specificity)
    infected, clean = prior * (1.0 - shown) ** tested, (1.0 - prior) * specificity**tested
    return infected / (infected + clean)


def false_alarm_chance(tested: int, specificity: float) -> float:
    """Return the chance of at least one false positive among tests of clean units."""
    _whole("tested", tested, 0)
    _sensitivity(specificity, "specificity")
    return float(1.0 - specificity**tested)


def _whole(name: str, value: int, least: int, most: int | None = None) -> None:
    if not (least <= value and (most is None or value <= most)):
        raise ValueError(f"{name}: {value!r} must be {least} or more" + (f", at most {most}" if most else ""))


def _fraction(name: str, value: float) -> None:
    if not 0.0 < value < 1.0:
        raise ValueError(f"{name}: {value!r} must be above 0 and below 1")


def _sensitivity(value: float, name: str = "sensitivity") -> None:
    if not 0.0 < value <= 1.0:
        raise ValueError(f"{name}: {value!r} must be above 0 and at most 1")
