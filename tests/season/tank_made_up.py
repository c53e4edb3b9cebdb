"""Invented tanks for the tests of learning: a draw that the model expects, and readings of a tank that follows it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from wetfoot.season.expected_draw import OWN_WEATHER_CV, ExpectedDraw, drawn_between
from wetfoot.season.learn import Belief, Evidence, evidence
from wetfoot.season.own_weather import MEASURED
from wetfoot.season.stretches import Stretch

Array = NDArray[np.float64]
READING_SD_L = 5.0


def straight(days: int = 240, demand_l: float = 30.0) -> ExpectedDraw:
    """Return a draw in proportion to the multiplier, as under a roof: demand grows for a third of the season."""
    daily = demand_l * np.minimum(np.arange(days) / (days / 3.0), 1.0)
    factors = np.array([0.4, 1.0, 2.5])
    known = np.full(days, MEASURED)
    return ExpectedDraw(
        factors, factors[:, None, None] * daily[None, None, :], daily, known, np.zeros((len(factors), days))
    )


def visits(every_d: int = 7, first_d: int = 7, last_d: int = 224) -> list[Stretch]:
    """Return empty stretches between regular visits at midnight."""
    days = range(first_d, last_d + 1, every_d)
    return [Stretch(float(day), float(day + every_d), 0.0, READING_SD_L) for day in days if day + every_d <= last_d]


def readings(
    expected: ExpectedDraw,
    belief: Belief,
    factor: float,
    random: np.random.Generator,
    leak_l_d: float = 0.0,
    leak_from_d: float = np.inf,
    blank: tuple[Evidence, ...] | None = None,
) -> tuple[Evidence, ...]:
    """Return the stretches of a season with errors of reading and of the model, drawn as the model says they are."""
    blank = blank or evidence(visits(), expected, belief)
    daily = random.normal(0.0, OWN_WEATHER_CV, len(expected.demand_l)) * expected.demand_l * factor
    off = np.concatenate([[0.0], np.cumsum(daily)])
    stick = random.normal(0.0, READING_SD_L, len(blank) + 1)
    made = []
    for at, found in enumerate(blank):
        one = found.stretch
        drawn = np.interp(factor, expected.factors, drawn_between(expected, one.start_d, one.end_d).mean(axis=1)) + (
            off[int(one.end_d)] - off[int(one.start_d)]
        )
        leaked = leak_l_d * max(0.0, one.end_d - max(one.start_d, leak_from_d))
        made.append(found._replace(stretch=replace(one, drawn_l=float(drawn + leaked - stick[at + 1] + stick[at]))))
    return tuple(made)
