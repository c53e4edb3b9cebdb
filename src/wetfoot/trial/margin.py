"""Whether a treatment that saves something yields no less than agreed beforehand, such as the dome in the pot."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from scipy import special

from wetfoot.trial.power import power_above
from wetfoot.trial.replication import smallest_count


@dataclass(frozen=True)
class MarginVerdict:
    """What a trial says about a loss that was agreed to be bearable.

    Attributes:
        verdict: "not inferior", "inferior" or "undecided".
        lower: bound below which the true difference lies only with chance alpha.
        upper: bound above which it lies only with chance alpha.
        p_value: one-sided, of the claim that the loss is as large as the margin or larger.
        words: the same as a sentence.
    """

    verdict: Literal["not inferior", "inferior", "undecided"]
    lower: float
    upper: float
    p_value: float
    words: str


def non_inferiority(
    difference: float,
    standard_error: float,
    df: float,
    margin: float,
    alpha: float = 0.05,
    what: str = "The treatment",
    unit: str = "g",
) -> MarginVerdict:
    """Return whether a difference is shown to be above minus the margin.

    One-sided t test of difference <= -margin; the trial decides for "inferior" where even the upper bound is below
    -margin (the confidence bounds as in the ICH E9 guideline, section 3.3.2, from memory).

    Args:
        difference: mean with the treatment less mean without, in the unit.
        standard_error: of the difference, from its own error stratum.
        df: of the standard error.
        margin: largest loss that is bearable, agreed before the trial, in the unit.
        alpha: one-sided error.
        what: subject of the sentence.
        unit: of the difference.

    Returns:
        The verdict.

    Raises:
        ValueError: if margin, standard error or df are not positive, or alpha is not below one half.
    """
    if margin <= 0 or standard_error <= 0 or df <= 0 or not 0 < alpha < 0.5:
        raise ValueError(
            f"margin, standard_error and df must be > 0, not {margin}, {standard_error}, {df}; alpha < 0.5"
        )
    t = float(special.stdtrit(df, 1.0 - alpha))
    lower, upper = difference - t * standard_error, difference + t * standard_error
    p_value = float(special.stdtr(df, -(difference + margin) / standard_error))
    verdict: Literal["not inferior", "inferior", "undecided"] = (
        "not inferior" if lower > -margin else "inferior" if upper < -margin else "undecided"
    )
    found = {
        "not inferior": f"costs less than the agreed {margin:g} {unit}",
        "inferior": f"costs more than the agreed {margin:g} {unit}",
        "undecided": f"may or may not cost more than the agreed {margin:g} {unit}: the trial is too small to tell",
    }[verdict]
    words = (
        f"{what} {found} (difference {difference:+.4g} {unit}, with {100 * (1.0 - alpha):g} % confidence above "
        f"{lower:.4g} and, looked at from the other side, below {upper:.4g})."
    )
    return MarginVerdict(verdict, lower, upper, p_value, words)


def break_even_loss_kg(saving: float, price_per_kg: float, recovery: float = 1.0) -> float:
    """Return the harvest that pays for a saving: the largest true loss at which the treatment still pays, kg a pot.

    Args:
        saving: money saved a pot.
        price_per_kg: price of a kilogram that is sold.
        recovery: kilograms sold for each kilogram harvested.

    Raises:
        ValueError: if price or recovery are not positive.
    """
    if price_per_kg <= 0 or not 0 < recovery <= 1:
        raise ValueError(f"price_per_kg must be > 0 and recovery in (0, 1], not {price_per_kg}, {recovery}")
    return saving / (price_per_kg * recovery)


def margin_power(pots: int, margin: float, pot_sd: float, true_difference: float = 0.0, alpha: float = 0.05) -> float:
    """Return the power to show non-inferiority with so many pots in each of two arms, by the noncentral t.

    Args:
        pots: in each arm.
        margin: as agreed, same unit as the standard deviation.
        pot_sd: between pots of one arm.
        true_difference: with less without; 0 if the treatment does nothing.
        alpha: one-sided error.

    Raises:
        ValueError: if there are fewer than two pots, or margin or standard deviation are not positive.
    """
    if not (pots >= 2 and margin > 0 and pot_sd > 0 and math.isfinite(true_difference)):
        raise ValueError(f"pots must be >= 2, margin and pot_sd > 0, not {pots}, {margin}, {pot_sd}")
    df = 2.0 * pots - 2.0
    noncentrality = (true_difference + margin) / (pot_sd * math.sqrt(2.0 / pots))
    return power_above(float(special.nctdtr(df, noncentrality, special.stdtrit(df, 1.0 - alpha))))


def pots_for_margin(
    margin: float,
    pot_sd: float,
    power: float = 0.8,
    true_difference: float = 0.0,
    alpha: float = 0.05,
    most: int = 1_000_000,
) -> int | None:
    """Return the pots in each of two arms that show non-inferiority with the wanted power, rounded up; None if none do.

    Raises:
        ValueError: as `margin_power`.
    """
    if true_difference <= -margin:
        return None
    return smallest_count(
        lambda pots: margin_power(pots, margin, pot_sd, true_difference, alpha), power, fewest=2, most=most
    )
