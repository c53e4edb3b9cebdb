"""From a trial to what a grower should do: how many pieces, what it depends on, and what goes back into the plan."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import tomlkit
from scipy import special

from wetfoot.answers.money import LEAST_RETURN
from wetfoot.answers.trace import Answer, Number
from wetfoot.answers.trial_advice import (
    change_words,
    expect_words,
    found_words,
    not_tested,
    other_lines,
    short_words,
    sure_words,
    yearly_harvest_g,
)
from wetfoot.answers.trial_analysis import Findings
from wetfoot.answers.trial_cells import ReportTable
from wetfoot.answers.trial_choices import Choice, Choices, Worth, choices_of, option
from wetfoot.answers.trial_pieces import CURVE_SOURCE
from wetfoot.answers.trial_worth_tables import money_table, seed_table
from wetfoot.crop.yields import expected_yield_kg
from wetfoot.plan.file import changed_text
from wetfoot.quantities import System
from wetfoot.stock.money import partial_budget, recommended

LARGEST_FACTOR = 5.0
BUDGET = "partial budget with dominance and marginal returns (CIMMYT 1988)"


@dataclass(frozen=True)
class Suggestion:
    """What the trial would change in the plan, for a person to accept.

    Attributes:
        pieces: per pot.
        yield_factor: the trial's yield with so many over that of the published pot.
        low: lower end of its interval.
        high: upper end.
        pot_spread: coefficient of variation between pots.
        words: the same in words.
    """

    pieces: int
    yield_factor: float
    low: float
    high: float
    pot_spread: float
    words: str

    def changed(self, text: str) -> str:
        """Return the text of a plan with the suggestion in it; comments and order stay.

        Raises:
            WetfootError: if the plan has no pieces per pot.
        """
        document = tomlkit.parse(text)
        changes: dict[str, object] = {"crop.pieces_per_pot": self.pieces}
        for part, key, value in (
            ("crop", "yield_factor", round(self.yield_factor, 3)),
            ("goal", "pot_spread", f"{100 * self.pot_spread:.0f} %"),
        ):
            table = document.get(part, {})
            if key in table:
                changes[f"{part}.{key}"] = value
            else:
                table[key] = value
        return changed_text(tomlkit.dumps(document), changes)


@dataclass(frozen=True)
class Recommendation:
    """What to do, for one page.

    Attributes:
        pieces: recommended number.
        headline: the advice in one sentence.
        lines: title and text of each paragraph below it.
        choices: what each number is worth.
        depends: whether the answer depends on what is short.
        suggestion: for the plan; None without one.
        answer: the same as an answer with its numbers.
    """

    pieces: int
    headline: str
    lines: tuple[tuple[str, str], ...]
    choices: Choices
    depends: bool
    suggestion: Suggestion | None
    answer: Answer

    def tables(self, system: System) -> list[ReportTable]:
        """Return what each number of pieces is worth, in the units of a system."""
        return [seed_table(self.choices, system), *money_table(self.choices, system)]


def recommend(found: Findings, worth: Worth, system: System = "metric", place: str = "") -> Recommendation | None:
    """Return the recommendation of a trial; None if it did not test numbers of pieces, in units of mass.

    Args:
        found: the trial's findings.
        worth: what a pot costs and its harvest is worth.
        system: units of the words.
        place: where the trial stood.
    """
    if found.curve is None:
        return None
    choices = choices_of(found.curve, found.splits, worth, found.wish.alpha)
    if len(choices.choices) < 2:
        return None
    number, why = _advised(choices, found)
    chosen = choices.at(number)
    depends = len({choices.best_by(short).pieces for short in ("pot", "piece")} | {number}) > 1
    suggestion = _suggestion(found, choices, chosen, worth)
    headline = (
        f"Plant {number} piece{'s' if number > 1 else ''} in a pot{', but ask first what is short' if depends else ''}."
    )
    lines = (
        ("What was found", found_words(found, choices, chosen, worth, system, place)),
        ("Why this number", why),
        ("What is short decides", short_words(choices, system)),
        *other_lines(found, system),
        ("What to expect", expect_words(chosen, choices, worth, system)),
        ("What would change this", change_words(choices, chosen, found, system)),
        ("How sure", sure_words(found, choices, number, _again(choices, number))),
        ("Not tested", not_tested(found)),
    )
    answer = Answer("How many pieces should be planted?", "watch" if depends else "yes", f"{headline} {why}",
                    tuple(_numbers(found, chosen, choices)))  # fmt: skip
    return Recommendation(number, headline, lines, choices, depends, suggestion, answer)


def _advised(choices: Choices, found: Findings) -> tuple[int, str]:
    """Return the number to plant and why: by money where there are prices, else the least seed for no shown loss."""
    worth = choices.worth
    best = found.curve.best if found.curve else None
    if worth.price is not None:
        number = by_money(choices.choices, worth)
        costs = "seed and split pots" if worth.split_cost and found.splits else "seed"
        end = "the next does not" if number < choices.choices[-1].pieces else "more was not tested"
        return number, f"Up to {number}, each piece more brings in at least twice what it costs in {costs}; {end}."
    top = choices.best_by("pot").pieces
    kept = [*(best.not_worse if best and choices.by_curve else ()), top]
    number = min(p for p in kept if any(c.pieces == p for c in choices.choices))
    if number == top:
        return number, "It leaves the most clean seed of a pot after the seed planted; all fewer leave less."
    return (
        number,
        f"{top} left the most clean seed of a pot, but {number} not significantly less, and spends less seed.",
    )


def by_money(choices: Sequence[Choice], worth: Worth) -> int:
    """Return the number of pieces up to which each step brings the usual return on the last money spent."""
    return int(recommended(partial_budget([option(choice, worth) for choice in choices]), LEAST_RETURN).option.name)


def _again(choices: Choices, number: int) -> float | None:
    """Return the share of draws within the trial's uncertainty in which money advises the same; None without prices."""
    if choices.worth.price is None:
        return None
    drawn = [by_money(each, choices.worth) for each in choices.again()]
    return drawn.count(number) / len(drawn)


def _suggestion(found: Findings, choices: Choices, chosen: Choice, worth: Worth) -> Suggestion | None:
    """Return what the plan should take over: pieces, and the yield with its uncertainty."""
    if worth.medium_l is None:
        return None
    published = 1000.0 * expected_yield_kg(chosen.pieces, worth.medium_l)
    half = max(
        choices.t * chosen.harvest_se_g, _half_of_years(yearly_harvest_g(found, chosen.pieces), found.wish.alpha)
    )
    factor, low, high = ((chosen.harvest_g + by) / published for by in (0.0, -half, half))
    if not 0.0 < factor <= LARGEST_FACTOR:
        return None
    over = ", years as a sample of years" if found.table.years else ""
    words = (
        f"Suggested for the plan: {chosen.pieces} pieces a pot, a yield of {factor:.2f} times the published pot's "
        f"({found.confidence} interval {low:.2f} to {high:.2f}{over}), and "
        f"pots that differ by {100 * found.analysis.cv:.0f} "
        "%. Nothing is changed until you accept it."
    )
    return Suggestion(chosen.pieces, factor, low, high, found.analysis.cv, words)


def _half_of_years(yearly_g: list[float], alpha: float) -> float:
    """Return the half width of an interval for the mean of years like these, g; 0 with fewer than two years."""
    years = len(yearly_g)
    if years < 2:
        return 0.0
    t = float(special.stdtrit(years - 1, 1.0 - alpha / 2.0))
    return t * float(np.std(yearly_g, ddof=1)) / math.sqrt(years)


def _numbers(found: Findings, chosen: Choice, choices: Choices) -> Iterator[Number]:
    how = "curve through the estimated means" if choices.by_curve else "estimated means (they do not follow the curve)"
    half = choices.t * chosen.harvest_se_g
    yield Number("harvest of a pot", chosen.harvest_g / 1000.0,
                 f"{how}; {found.confidence} interval {chosen.harvest_g - half:.0f} to {chosen.harvest_g + half:.0f} g",
                 CURVE_SOURCE, kind="mass")  # fmt: skip
    half = choices.t * chosen.net_se_kg
    yield Number("clean seed of a pot beyond what was planted", chosen.net_kg,
                 f"harvest times what is kept, less the seed planted; {found.confidence} interval "
                 f"{chosen.net_kg - half:.2f} to {chosen.net_kg + half:.2f} kg",
                 choices.worth.told, kind="mass")  # fmt: skip
    if chosen.margin is not None and chosen.margin_se is not None:
        half = choices.t * chosen.margin_se
        yield Number("margin of a pot", chosen.margin,
                     f"clean seed at its price less all costs; {found.confidence} interval "
                     f"{chosen.margin - half:.2f} to {chosen.margin + half:.2f}", BUDGET,
                     unit=choices.worth.currency)  # fmt: skip
