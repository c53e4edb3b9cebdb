"""How likely the tank is empty by a time, and how long a person may stay away."""

from __future__ import annotations

import numpy as np
from scipy.stats import norm

from wetfoot.season.expected_draw import ExpectedDraw, day_by_day_sd_l, drawn_between
from wetfoot.season.learn import Belief


def chance_empty(
    expected: ExpectedDraw, known: Belief, usable_l: float, start_d: float, end_d: float, leak_l_d: float = 0.0
) -> float:
    """Return the chance that all usable litres are gone by a time.

    Over what is known of the multiplier, the weather's years (each as likely), and days that err by themselves.

    Args:
        expected: the model's draw.
        known: of the multiplier.
        usable_l: in the tank at the start.
        start_d, end_d: days after planting.
        leak_l_d: litres a day lost besides.
    """
    factor = np.exp(known.ln_factor)
    drawn = drawn_between(expected, start_d, end_d)
    by_factor = np.array([np.interp(factor, expected.factors, year) for year in drawn.T])
    sd = np.maximum(day_by_day_sd_l(expected, start_d, end_d) * factor, 1e-9 * max(usable_l, 1.0))
    gone = norm.cdf((by_factor + leak_l_d * (end_d - start_d) - usable_l) / sd)
    return float(gone.mean(axis=0) @ np.exp(known.log_weight))


def days_within_risk(
    expected: ExpectedDraw,
    known: Belief,
    usable_l: float,
    start_d: float,
    accepted: float,
    leak_l_d: float = 0.0,
) -> int:
    """Return for how many whole days the chance of an empty tank stays within what is accepted; to the season's end.

    Args:
        expected: the model's draw.
        known: of the multiplier.
        usable_l: in the tank at the start.
        start_d: days after planting.
        accepted: chance, between 0 and 1.
        leak_l_d: litres a day lost besides.

    Raises:
        ValueError: if the accepted chance is not between 0 and 1.
    """
    if not 0.0 < accepted < 1.0:
        raise ValueError(f"accepted must be between 0 and 1, not {accepted!r}")
    left = max(int(expected.drawn_l.shape[-1]) - int(start_d), 0)
    for days in range(1, left + 1):
        if chance_empty(expected, known, usable_l, start_d, start_d + days, leak_l_d) > accepted:
            return days - 1
    return left
