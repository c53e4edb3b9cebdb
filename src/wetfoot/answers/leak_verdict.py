"""Does the tank lose more than the crop drinks: the leak test's verdict in plain words, with its evidence."""

from __future__ import annotations

import numpy as np

from wetfoot.answers.tank_record import TankRecord, date_of
from wetfoot.answers.trace import Answer, Number
from wetfoot.plan.model import Plan
from wetfoot.quantities import number_text, show
from wetfoot.season.drawdown import EWMA_WIDTH, H, K, Leak, Watch, hours_until
from wetfoot.season.expected_draw import ExpectedDraw, drawn_between
from wetfoot.season.leak_limit import sources
from wetfoot.season.learn import Belief, Evidence, Range, multiplier
from wetfoot.season.own_weather import MEASURED, OTHER_YEARS
from wetfoot.season.run_lengths import cusum_run_length

LEAK_QUESTION = "Does the tank lose more than the crop drinks?"
CHART_SOURCE = (
    "two-sided CUSUM (Page 1954) of recursive residuals (Brown, Durbin & Evans 1975); run length by its "
    "integral equation, as in Montgomery, Introduction to Statistical Quality Control; its limit by simulation where "
    "weather is not known (Gandy & Kvaloy 2013)"
)
LEAK_SOURCE = "multiplier and leak estimated together from the change on; drawdown between readings of the tank"
CAUTIONS = (
    "A crop that suddenly drinks more than before looks the same from the tank: only looking at the bench tells.",
    "Once it is mended, write the leak into the book: the chart then starts anew.",
)
STEP_H = 3.0


def verdict(
    plan: Plan,
    record: TankRecord,
    expected: ExpectedDraw,
    belief: Belief,
    leak: Leak | None,
    seen: Watch,
    found: tuple[Evidence, ...],
    limit: float,
) -> Answer:
    """Return whether the tank loses more than the crop drinks, with the evidence.

    Args:
        plan: the plan.
        record: its book.
        expected: the model's draw.
        belief: of the multiplier.
        leak: that the chart signals, if it does.
        seen: the charts.
        found: the stretches that they run over.
        limit: above which a chart signals.
    """
    numbers = _chart_numbers(seen, limit) if found else ()
    if not found:
        return Answer(LEAK_QUESTION, "watch", "Not known: there are no two readings of the tank yet.", numbers)
    if leak is None:
        return _no_leak(seen, found, numbers, expected, limit)
    rate = Number("likely leak in a day", leak.l_d.middle, f"shows in the last {leak.readings} stretch(es)",
                  LEAK_SOURCE, kind="volume", low=leak.l_d.low, high=leak.l_d.high)  # fmt: skip
    empty = hours_to_empty(plan, record, expected, belief, leak)
    last, wanted = found[-1].stretch, show(_expected_l(found[-1], belief), "volume", plan.units)
    words = (
        f"Likely a leak of {rate.text(plan.units)} a day, since about {date_of(plan, leak.since_d)} (not before "
        f"{date_of(plan, leak.earliest_d)}): between {date_of(plan, last.start_d)} and {date_of(plan, last.end_d)} the "
        f"tank lost {show(last.drawn_l, 'volume', plan.units)}, where {wanted} were expected. "
        f"{_empty_words(plan, record, empty)} Read the tank again first. Then shut one bank after the other, and look "
        f"at every pot's level and for wet ground. {_limit_words(expected, found, limit)}"
    )
    hours = Number("hours to an empty tank", empty.middle, "usable litres after the last reading and top-up, with "
                   "expected draw and leak", LEAK_SOURCE, unit="h", low=empty.low, high=empty.high)  # fmt: skip
    return Answer(LEAK_QUESTION, "no", words, (rate, hours, *numbers), CAUTIONS)


def _no_leak(
    seen: Watch, found: tuple[Evidence, ...], numbers: tuple[Number, ...], expected: ExpectedDraw, limit: float
) -> Answer:
    if seen.chart.lower[-1] > limit:
        words = (
            "The tank loses less than the crop should drink. A top-up that was not written down, a valve or tube that "
            "is blocked, or a sick crop would do that: look at the lowest pots' levels."
        )
        return Answer(LEAK_QUESTION, "watch", words, numbers)
    words = (
        f"No sign of it in {len(found)} stretches between readings: the chart stands at "
        f"{number_text(float(seen.chart.upper[-1]), 2)}, it signals above {number_text(limit, 2)}. Without any leak it "
        f"is to signal no more than once in about {number_text(cusum_run_length(K, H))} readings. "
        f"{_limit_words(expected, found, limit)}"
    )
    return Answer(LEAK_QUESTION, "yes", words, numbers)


def _limit_words(expected: ExpectedDraw, found: tuple[Evidence, ...], limit: float) -> str:
    """Return which limit the chart has and why; and what to do where rain may look like a leak, or hide one."""
    known = sources(expected, [one.stretch for one in found])
    if (known == MEASURED).all():
        return f"The limit is the published {H:g}, as the weather of this season is known."
    held = f"raised from the published {H:g} to {number_text(limit, 2)}" if limit > H else f"the published {H:g} still"
    years = "one other year's weather" if expected.other_years == 1 else f"{expected.other_years} other years' weather"
    words = f"The limit is {held}, by made-up seasons without a leak in {years}, as not all of this season's is known."
    if (known == OTHER_YEARS).any():
        words += (
            " Rain that nobody measured may look like a leak, or hide one: write down the rain gauge, or name a "
            "weather file of this season. Until then trust your eyes more than this chart."
        )
    return words


def _chart_numbers(seen: Watch, limit: float) -> tuple[Number, ...]:
    how, above = f"sum of standardised residuals, reference value {K}", f"(signals above {number_text(limit, 2)})"
    return (
        Number("chart of losses", float(seen.chart.upper[-1]), how, CHART_SOURCE, unit=above),
        Number("chart of too small a loss", float(seen.chart.lower[-1]), how, CHART_SOURCE, unit=above),
        Number("moving average of residuals", float(seen.average[-1]), "weight 0.2, over its spread; shown, decides "
               "nothing", "Lucas & Saccucci 1990", unit=f"(unusual beyond {EWMA_WIDTH:g})"),
        Number("readings to a false alarm", cusum_run_length(K, H), "mean by design, both sides", CHART_SOURCE,
               unit="readings"),
    )  # fmt: skip


def _expected_l(found: Evidence, belief: Belief) -> float:
    return float(np.exp(belief.log_weight) @ found.expected_l)


def _empty_words(plan: Plan, record: TankRecord, empty: Range) -> str:
    if not np.isfinite(empty.middle):
        return "The tank holds to the end of the supply all the same."
    at_d, litres = _held(plan, record)
    low, middle, high = (number_text(hours, 2) for hours in (empty.low, empty.middle, empty.high))
    held = show(litres, "volume", plan.units)
    return f"With the {held} it held on {date_of(plan, at_d)} it would be empty {middle} hours later ({low} to {high})."


def _held(plan: Plan, record: TankRecord) -> tuple[float, float]:
    """Return when the tank was last known, and what it held then."""
    return record.last_known(plan) or (0.0, plan.tank.volume_l)


def hours_to_empty(plan: Plan, record: TankRecord, expected: ExpectedDraw, belief: Belief, leak: Leak) -> Range:
    """Return the hours from the last known content of the tank until nothing usable is left in it.

    The crop draws by the middle of what is known of it and the mean of the weather's years.

    Args:
        plan: the plan.
        record: its book.
        expected: the model's draw.
        belief: of the multiplier.
        leak: as it was found; its low gives the high of the hours.
    """
    start_d, litres = _held(plan, record)
    usable, factor = litres - plan.tank.unusable_l, multiplier(belief).middle
    hours = np.arange(0.0, 24.0 * (expected.drawn_l.shape[-1] - start_d) + STEP_H, STEP_H)
    drawn = np.array([drawn_at(expected, factor, start_d, start_d + hour / 24.0) for hour in hours])
    low, middle, high = (
        hours_until(usable, drawn + rate * hours / 24.0, hours)
        for rate in (leak.l_d.high, leak.l_d.middle, leak.l_d.low)
    )
    return Range(middle, low, high, middle)


def drawn_at(expected: ExpectedDraw, factor: float, start_d: float, end_d: float) -> float:
    """Return the litres drawn between two times with one multiplier, mean of the weather's years."""
    return float(np.interp(factor, expected.factors, drawn_between(expected, start_d, end_d).mean(axis=1)))
