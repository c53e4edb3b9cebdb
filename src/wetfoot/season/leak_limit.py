"""How high the leak chart must stand to signal, where part of the season's weather is not known.

The published limit holds for independent normal residuals. Weeks of unknown weather are neither: wet and dry times hang
together and rain is skewed. Quiet seasons are therefore made, with one year's weather as the truth, the other years as
what is known, and a multiplier and errors drawn as the model says they are; the limit is what the charts of so many of
them pass as would signal by design, and never below the published one.

A few years do not show the worst of the next. Where neither weather nor rain is known, the limit is one that holds in
nine of ten sets of years drawn anew from them, after Gandy & Kvaloy 2013 (Scand. J. Statist. 40, 647-668; from memory);
it is raised by as much as a normal prediction limit of so few values is above the quantile, and aims at half the
designed rate. Where the rain is known throughout, the plain limit has been enough (docs/season.md). In between it goes
by the share of days not known, as spreads do.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from scipy.stats import norm, t

from wetfoot.season.drawdown import Chart, H, K, cusum
from wetfoot.season.expected_draw import (
    ExpectedDraw,
    day_by_day_sd_l,
    drawn_between,
    persistence,
    weather_cv,
)
from wetfoot.season.learn import Belief, Evidence, evidence, learn, normalised, surprise
from wetfoot.season.own_weather import ENOUGH_YEARS, MEASURED, OTHER_YEARS
from wetfoot.season.run_lengths import cusum_run_length
from wetfoot.season.stretches import Stretch

Array = NDArray[np.float64]

QUIET_SEASONS, MOST_TRUTHS = 400, 40
SEED = 1  # the same quiet seasons whenever an answer is asked for
SETS, SURE = 200, 0.9
SAFER = 0.5  # of the designed rate: what is aimed at where no weather is known, as a few years do not show all


def designed_rate(readings: float, k: float = K, h: float = H) -> float:
    """Return the chance of a false alarm within so many readings by the published run length.

    Runs to a false alarm are nearly geometric (Brook & Evans 1972, Biometrika 59, 539-549).
    """
    return -math.expm1(-readings / cusum_run_length(k, h))


def alarm_limits(before: Belief, expected: ExpectedDraw, stretches: Sequence[Stretch]) -> Array:
    """Return the height above which the chart signals, at each of the readings that ends a stretch.

    Args:
        before: the multiplier before any reading, one row.
        expected: the model's draw.
        stretches: those that are used, in order of time.
    """
    readings, known = len(stretches), sources(expected, stretches)
    if not readings or expected.drawn_l.shape[1] == 1 or (known == MEASURED).all():
        return np.full(readings, H)
    quiet = quiet_charts(before, expected, stretches)
    by_design = np.array([designed_rate(at + 1) for at in range(readings)])
    highest = np.maximum.accumulate(quiet, axis=0)
    passed = [np.quantile(each, 1.0 - alarm) for each, alarm in zip(highest, by_design, strict=True)]
    limits = np.maximum(H, passed)
    # where the limit changes, more pass it at some reading or other than at the last
    beyond, alarm = (quiet / limits[:, None, None]).max(axis=0), by_design[-1]
    least = max(1.0, float(np.quantile(beyond, 1.0 - alarm)))
    few = few_years(max(expected.other_years, ENOUGH_YEARS), SAFER * alarm)
    safe = max(least, few * of_other_sets(beyond, SAFER * alarm))
    not_known = float((known == OTHER_YEARS).mean())
    return limits * (least + (safe - least) * math.sqrt(not_known))


def sources(expected: ExpectedDraw, stretches: Sequence[Stretch]) -> NDArray[np.int_]:
    """Return what is known of the weather of each day that some stretch is in (see `own_weather`)."""
    days = sorted({day for one in stretches for day in range(int(one.start_d), math.ceil(one.end_d))})
    return expected.source[days]


def of_other_sets(values: Array, alarm: float) -> float:
    """Return what is passed with a chance of no more than `alarm`, for nine in ten sets of years like the given one.

    Whole years are drawn anew (bootstrap), as Gandy & Kvaloy have it.

    Args:
        values: shape (years, seasons).
        alarm: chance to be above.
    """
    random, years = np.random.default_rng(SEED), len(values)
    sets = values[random.integers(0, years, (SETS, years))].reshape(SETS, -1)
    return float(np.quantile(np.quantile(sets, 1.0 - alarm, axis=1), SURE))


def limit_now(before: Belief, expected: ExpectedDraw, stretches: Sequence[Stretch]) -> float:
    """Return the height above which the chart signals at the last reading; the published one before any."""
    return float(alarm_limits(before, expected, stretches)[-1]) if stretches else H


def few_years(years: int, alarm: float) -> float:
    """Return how much higher a limit from a few years must be: that of a normal prediction limit over the quantile.

    t of n - 1 degrees of freedom times the root of 1 + 1/n, over the normal's quantile (Hahn & Meeker 1991, Statistical
    Intervals; from memory).

    Args:
        years: 2 or more.
        alarm: chance to be above the limit.
    """
    return float(t.isf(alarm, years - 1) * math.sqrt(1.0 + 1.0 / years) / norm.isf(alarm))


def quiet_charts(before: Belief, expected: ExpectedDraw, stretches: Sequence[Stretch]) -> Array:
    """Return the higher side of the chart in seasons without a leak, shape (readings, years, seasons).

    Args:
        before, expected, stretches: as in `alarm_limits`.
    """
    years, random = expected.drawn_l.shape[1], np.random.default_rng(SEED)
    truths = np.unique(np.linspace(0, years - 1, min(years, MOST_TRUTHS)).round().astype(int))
    each = -(-QUIET_SEASONS // len(truths))
    found = [_quiet_with(before, expected, stretches, int(year), each, random) for year in truths]
    return np.stack(found, axis=1)


def _quiet_with(
    before: Belief,
    expected: ExpectedDraw,
    stretches: Sequence[Stretch],
    year: int,
    seasons: int,
    random: np.random.Generator,
) -> Array:
    """Return the charts of seasons that had one year's weather, which is then not known."""
    weight = np.exp(before.log_weight)
    factor = np.exp(random.choice(before.ln_factor, seasons, p=weight / weight.sum()))
    drawn = quiet_draw(expected, stretches, year, factor, random)
    return np.maximum(*charts(before, evidence(stretches, _without(expected, year), before), drawn))


def charts(before: Belief, all_found: Sequence[Evidence], drawn_l: Array) -> Chart:
    """Return the charts of many seasons at once, as `drawdown.watch` has them of one; shape (readings, seasons).

    Args:
        before: the multiplier before any reading, one row.
        all_found: the stretches, in order of time; what was drawn in them does not count.
        drawn_l: what was drawn in each season, shape (readings, seasons).
    """
    rows = np.broadcast_to(before.log_weight, (drawn_l.shape[1], len(before.ln_factor)))
    known, residuals = before._replace(log_weight=rows), np.empty_like(drawn_l)
    for at, found in enumerate(all_found):
        # each season's litres go in as a leak of as much less than nothing
        lost = -drawn_l[at][:, None]
        plain = found._replace(stretch=_nothing_drawn(found.stretch))
        residuals[at] = surprise(known, plain, lost)
        known = learn(known, plain, lost)
        known = known._replace(log_weight=normalised(known.log_weight, axis=1))
    return cusum(residuals)


def quiet_draw(
    expected: ExpectedDraw,
    stretches: Sequence[Stretch],
    year: int,
    factor: Array,
    random: np.random.Generator,
) -> Array:
    """Return what the tank seems to give without a leak in one year's weather, shape (readings, seasons).

    Args:
        expected: the model's draw.
        stretches: between readings.
        year: whose weather it is, as a position among the draw's years.
        factor: multiplier of water use of each season.
        random: of the errors of days, readings and top-ups.
    """
    drawn, end_d, end_error = np.empty((len(stretches), len(factor))), math.nan, np.zeros(len(factor))
    for at, one in enumerate(stretches):
        truly = np.interp(factor, expected.factors, drawn_between(expected, one.start_d, one.end_d)[:, year])
        day_by_day = day_by_day_sd_l(expected, one.start_d, one.end_d) * factor
        own = np.hypot(day_by_day, one.pour_sd_l) * random.standard_normal(len(factor))
        # a reading that is too high hides what its stretch drew, and adds to the next one's
        start_error = end_error if one.start_d == end_d else random.normal(0.0, one.reading_sd_l, len(factor))
        end_d, end_error = one.end_d, random.normal(0.0, one.reading_sd_l, len(factor))
        drawn[at] = truly + own + start_error - end_error
    return drawn


def _without(expected: ExpectedDraw, year: int) -> ExpectedDraw:
    """Return what would be expected if one year's weather were not known."""
    drawn, plain = np.delete(expected.drawn_l, year, axis=1), list(expected.factors).index(1.0)
    spread = weather_cv(drawn, expected.demand_l, expected.source, persistence(drawn[plain]))
    return expected._replace(drawn_l=drawn, weather_cv=spread)


def _nothing_drawn(stretch: Stretch) -> Stretch:
    return replace(stretch, drawn_l=0.0, emptied=False)
