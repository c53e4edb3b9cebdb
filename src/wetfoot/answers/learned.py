"""What the readings have taught: how much the crop drinks, whether the tank loses more, and how EC goes."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np

from wetfoot import __version__
from wetfoot.answers.ec_against_band import ec_answers
from wetfoot.answers.leak_verdict import verdict
from wetfoot.answers.readings import season_readings
from wetfoot.answers.tank_record import TankRecord, date_of, tank_record
from wetfoot.answers.trace import Answer, Number
from wetfoot.plan.model import Plan
from wetfoot.quantities import number_text
from wetfoot.season.drawdown import Leak, Watch, found_leak, watch
from wetfoot.season.ensemble import WATER_USE_LN_SD, Ensemble
from wetfoot.season.expected_draw import ExpectedDraw, expected_draw
from wetfoot.season.leak_limit import limit_now
from wetfoot.season.learn import Belief, Evidence, Range, blurred, evidence, multiplier, prior
from wetfoot.season.stretches import Stretch
from wetfoot.weather.seasons import Seasons

USE_QUESTION = "How much does the crop drink, against the plan?"
USE_SOURCE = "Bayes' rule on the tank's drawdown between readings, lognormal prior; spreads are estimates"
LATE_READING = 1.5  # of the visit interval


@dataclass(frozen=True)
class Learned:
    """What the readings have taught.

    Attributes:
        before, after: multiplier of water use.
        belief: the multiplier after the readings, for what is computed from it.
        leak: what a leak would have to be, if the readings signal one.
        expected: the draw that the readings were held against.
        stretches: all between readings, with why some were left out.
        found: those that were used; ``seen`` are the charts over them, which signal above ``limit``.
        use, verdict: the answers on water use and leak; ``ec`` that on the EC of each bank.
    """

    plan: Plan
    before: Range
    after: Range
    belief: Belief
    leak: Leak | None
    expected: ExpectedDraw
    stretches: tuple[Stretch, ...]
    found: tuple[Evidence, ...]
    seen: Watch
    limit: float
    use: Answer
    verdict: Answer
    ec: tuple[Answer, ...]

    @property
    def answers(self) -> tuple[Answer, ...]:
        """The answers in the order in which they are read."""
        return (self.use, self.verdict, *self.ec)

    def record(self) -> dict[str, Any]:
        """Return what was learned for machines: answer, units, trace, warnings."""
        system = self.plan.units
        return {
            "answer": [answer.record(system) for answer in self.answers],
            "units": system,
            "trace": {"plan": self.plan.title, "stretches": len(self.found), "wetfoot": __version__},
            "warnings": [words for answer in self.answers for words in answer.warnings],
        }


def learned(
    plan: Plan, folder: Path, seasons: Seasons, ensemble: Ensemble | None = None, until: date | None = None
) -> Learned:
    """Return what the season's book has taught up to a day.

    Args:
        plan: the plan.
        folder: the season's, in which its book is.
        seasons: the weather's years; the season's own days count before other years'.
        ensemble: the season's bands, to hold EC readings against; without them EC is left out.
        until: the last day that counts; all if not given.

    Raises:
        WetfootError: if the book is not one, or is of a newer version.
    """
    record = tank_record(plan, folder, until)
    expected = expected_draw(plan, seasons, record.gauge)
    before, stretches = prior(WATER_USE_LN_SD), record.stretches(plan)
    found = evidence(stretches, expected, before)
    limit = limit_now(before, expected, [each.stretch for each in found])
    seen = watch(before, found, record.mended_d(plan), h=limit)
    leak = found_leak(before, found, seen, limit)
    belief = blurred(leak.known if leak else seen.known, expected, found)
    readings = season_readings(plan, folder) if ensemble else None
    return Learned(
        plan=plan,
        before=multiplier(before),
        after=multiplier(belief),
        belief=belief,
        leak=leak,
        expected=expected,
        stretches=stretches,
        found=found,
        seen=seen,
        limit=limit,
        use=_use(plan, record, multiplier(before), multiplier(belief), found, stretches, expected),
        verdict=verdict(plan, record, expected, belief, leak, seen, found, limit),
        ec=ec_answers(plan, ensemble, readings, until) if ensemble and readings else (),
    )


def _factor(name: str, found: Range, how: str) -> Number:
    return Number(name, found.middle, how, USE_SOURCE, unit="times the plan's", low=found.low, high=found.high)


def _use(
    plan: Plan,
    record: TankRecord,
    before: Range,
    after: Range,
    found: tuple[Evidence, ...],
    stretches: tuple[Stretch, ...],
    expected: ExpectedDraw,
) -> Answer:
    numbers = (
        _factor("water use before any reading", before, "plan and crop coefficients"),
        _factor("water use after the readings", after, f"{len(found)} stretches between readings of the tank"),
    )
    warnings = _left_out(plan, record, stretches)
    if not found:
        words = (
            "No two readings of the tank to learn from yet: write its litres down at every visit, before topping up."
        )
        return Answer(USE_QUESTION, "watch", words, numbers, warnings)
    warnings += _weather_words(expected, found)
    off = 100.0 * (after.middle - 1.0)
    verb = f"{number_text(abs(off), 2)} % {'more' if off > 0 else 'less'} than the plan expects"
    words = (
        f"By {len(found)} stretches between readings it drinks {verb}: {number_text(after.middle)} times "
        f"({number_text(after.low)} to {number_text(after.high)}), where the plan alone would say "
        f"1 ({number_text(before.low)} to {number_text(before.high)})."
    )
    inside = before.low <= after.middle <= before.high
    return Answer(USE_QUESTION, "yes" if inside else "watch", words, numbers, warnings)


def _weather_words(expected: ExpectedDraw, found: tuple[Evidence, ...]) -> tuple[str, ...]:
    """Return on how many of the days between readings the season's own weather is not known."""
    days = {day for one in found for day in range(int(one.stretch.start_d), int(one.stretch.end_d))}
    other, gauge, measured = np.bincount(expected.source[sorted(days)], minlength=3)
    if measured == len(days):
        return ()
    words = (
        f"Of the {len(days)} days between readings the weather file holds {measured}, and the gauge tells the rain of "
        f"{gauge} more. "
    )
    if other:
        words += (
            f"On {other} the weather of other years stands for this one's: the range is wider for it, and a small leak "
            "stays hidden longer. Write the rain since the last visit down at every visit, 0 too, or add this season's "
            "days to the weather file."
        )
    else:
        words += "Sun and warmth of those are other years': a little wider for it."
    return (words,)


def _left_out(plan: Plan, record: TankRecord, stretches: tuple[Stretch, ...]) -> tuple[str, ...]:
    """Return what was not used and why, and what came late."""
    words = [f"Tank reading of {date_of(plan, at_d)} not used: {why}." for at_d, why in record.doubtful(plan)]
    for stretch in stretches:
        span = f"{date_of(plan, stretch.start_d)} to {date_of(plan, stretch.end_d)}"
        if stretch.left_out:
            words.append(f"{span} not used: {stretch.left_out}.")
        elif stretch.emptied:
            words.append(f"{span}: the tank ran empty, so that more was wanted than it shows.")
        elif stretch.days > LATE_READING * plan.visits.every_d:
            words.append(
                f"{span}: {number_text(stretch.days, 2)} days without a reading; what was drawn is known in sum only."
            )
    return tuple(words)
