"""Whether something that saves, such as the dome, costs no more harvest than was agreed beforehand."""

from __future__ import annotations

import re
from dataclasses import dataclass

from wetfoot.answers.trial_table import TrialTable
from wetfoot.errors import refuse
from wetfoot.quantities import parse
from wetfoot.trial.fitting import Fitted
from wetfoot.trial.margin import MarginVerdict, non_inferiority
from wetfoot.trial.means import compare

EXAMPLE = "'pot=air by 5 %' or 'dome=yes by 100 g'"
_TYPED = re.compile(r"\s*(.+?)\s*=\s*(.+?)\s+by\s+(.+?)\s*")


@dataclass(frozen=True)
class Margin:
    """An agreed margin: the factor, its level that saves, and the largest loss that is bearable, as typed."""

    factor: str
    level: str
    amount: str


@dataclass(frozen=True)
class MarginFinding:
    """What the trial says about an agreed margin: the other level, the difference with its error, and the verdict."""

    margin: Margin
    against: str
    difference: float
    standard_error: float
    df: float
    bearable: float
    verdict: MarginVerdict


def read_margin(typed: str) -> Margin:
    """Return a margin as it was typed, e.g. ``pot=air by 5 %``.

    Raises:
        WetfootError: if it does not read so.
    """
    found = _TYPED.fullmatch(typed)
    if not found:
        raise refuse(
            "margin", f"{typed!r} is not a margin", f"FACTOR=LEVEL by AMOUNT, such as {EXAMPLE}", "write it so"
        )
    return Margin(*found.groups())


def margin_of(table: TrialTable, fitted: Fitted, margin: Margin, alpha: float = 0.05) -> MarginFinding:
    """Return whether a level yields no less than the other, but for an agreed margin.

    Args:
        table: the trial.
        fitted: its fit.
        margin: as agreed.
        alpha: one-sided error.

    Raises:
        WetfootError: if there is no such factor or level, it has not two levels, or the amount cannot be.
    """
    model = fitted.model
    if margin.factor not in table.roles.treatments or (margin.factor,) not in model.terms:
        allowed = ", ".join(table.roles.treatments)
        raise refuse("margin", f"there is no factor {margin.factor!r}", allowed, "name a factor of the trial")
    levels = model.levels[margin.factor]
    if margin.level not in levels or len(levels) != 2:
        what = f"{margin.level!r} is not one of two levels of {margin.factor}"
        raise refuse("margin", what, f"a factor with two levels; it has {', '.join(levels)}", "name one of them")
    (pair,) = compare(fitted.free, model, margin.factor)
    here = levels.index(margin.level)
    difference = float(pair.means[here] - pair.means[1 - here])
    bearable = _bearable(margin, float(pair.means[1 - here]), table.unit)
    error, df = float(pair.differences.se[0]), float(pair.differences.df[0])
    name, unit = f"{margin.factor} {margin.level}", table.unit or table.response
    verdict = non_inferiority(difference, error, df, bearable, alpha, name, unit)
    return MarginFinding(margin, levels[1 - here], difference, error, df, bearable, verdict)


def _bearable(margin: Margin, mean: float, unit: str) -> float:
    """Return the margin in the unit of the response."""
    typed = margin.amount
    if typed.endswith("%"):
        # a share of an estimated mean is no more exact than three digits
        found = float(f"{parse(typed, 'fraction', 'margin') * abs(mean):.3g}")
    elif unit:
        found = 1000.0 * parse(typed, "mass", "margin")
    else:
        try:
            found = float(typed)
        except ValueError:
            raise refuse("margin", f"{typed!r} is no number", "a number, or '5 %'", "write it so") from None
    if found <= 0:
        raise refuse(
            "margin", f"{typed!r} is no loss that could be borne", "more than nothing", "write what was agreed"
        )
    return found
