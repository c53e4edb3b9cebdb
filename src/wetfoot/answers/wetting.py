"""The medium through time: first wetting after filling, a hot day, days without supply, wetting again."""

from __future__ import annotations

from math import inf

import numpy as np
from numpy.typing import NDArray

from wetfoot.answers.trace import Number
from wetfoot.plan.media import media_of
from wetfoot.plan.model import Plan
from wetfoot.water.column import ColumnRun
from wetfoot.water.column_days import first_wetting, hot_day, wetting_again, without_supply
from wetfoot.water.wicking import LIMIT_KPA

SOURCE = (
    "Richards equation with the nest's varying section (mixed form after Celia et al. 1990), roots in the top 10 cm, "
    "half-sine draw; conductivity uncertain by a factor of three (estimate)"
)
WATCHED_D = 21
DRY_SPELL_D = 4
SHORT = 0.98  # of what the plant wants: below this it has gone short


def wetting_numbers(plan: Plan, name: str, draw_l_d: float) -> tuple[Number, ...]:
    """Return how the medium of a nest behaves through time at a pot's highest draw."""
    nest = plan.nests[name]
    shape, medium, level = nest.shape, media_of(plan)[nest.medium], nest.set_level_m
    hours = np.arange(0.0, 24.0 * WATCHED_D + 1.0)
    first = first_wetting(shape, medium, level, hours)
    hot = hot_day(shape, medium, level, draw_l_d, hours[: 3 * 24 + 1], nest.wetting)
    dry = without_supply(shape, medium, level, draw_l_d, hours, nest.wetting)
    spell = without_supply(shape, medium, level, draw_l_d, hours[: DRY_SPELL_D * 24 + 1], nest.wetting)
    again = wetting_again(shape, medium, spell, level, draw_l_d, hours)
    return (
        Number("highest suction at the top on hot days", float(hot.top_suction_kpa[-25:].max()),
               "highest hour of the third day of highest draw, level held", SOURCE, kind="suction"),
        Number("until the top is wet after filling from below",
               _first(hours, first.top_suction_kpa <= LIMIT_KPA) / 24.0,
               f"medium as it comes from the bag, not watered from above; top at {LIMIT_KPA:g} "
               f"kPa; {WATCHED_D} days watched", SOURCE, unit="days"),
        Number("until plants go short without supply", _first(hours[1:], _gone_short(dry)) / 24.0,
               f"first hour with less than {100 * SHORT:.0f} % of what is wanted, from the set level, highest draw",
               SOURCE, unit="days"),
        Number(f"until plants drink again after {DRY_SPELL_D} dry days", _first(hours, ~_short_days(again)) / 24.0,
               "a day's uptake is full again, level back, wetting from below only (wetting branch of the curve); "
               "watered thoroughly from above once, it drinks as before", SOURCE, unit="days"),
    )  # fmt: skip


def _first(hours: NDArray[np.float64], when: NDArray[np.bool_]) -> float:
    """Return the first hour at which something holds, infinite if it never does."""
    return float(hours[int(np.argmax(when))]) if when.any() else inf


def _gone_short(run: ColumnRun) -> NDArray[np.bool_]:
    """Return for each hour whether the plant got less than it wanted."""
    return np.asarray(np.diff(run.taken_up_l) < SHORT * np.diff(run.wanted_l))


def _short_days(run: ColumnRun) -> NDArray[np.bool_]:
    """Return for each hour whether the plant got less than it wanted in the day that ends there."""
    day = 24
    wanted = run.wanted_l[day:] - run.wanted_l[:-day]
    taken = run.taken_up_l[day:] - run.taken_up_l[:-day]
    short = taken < SHORT * wanted
    return np.concatenate([np.full(day, bool(short[0])), short])
