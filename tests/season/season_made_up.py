"""Seasons that never were, for the tests of the season."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np

from wetfoot.season.bench import Bench
from wetfoot.season.drivers import Drivers, demand_share
from wetfoot.season.feed import EcScale, Feed
from wetfoot.season.run import SeasonCourse, simulate_season


def made_up(days: int, banks: int, **given: object) -> Drivers:
    """Return drivers of a made-up season, nothing happening but what is given."""
    still = Drivers(
        transpiration_l=np.zeros((days, banks)),
        evaporation_l=np.zeros((days, banks)),
        rain_mm=np.zeros(days),
        supply_open=np.ones(days, dtype=bool),
        visit=np.zeros(days, dtype=bool),
        demand_share=demand_share(),
        rain_share=np.full(24, 1 / 24),
        new_holes=np.zeros((days, banks)),
        shut_off_h=np.inf,
    )
    return still._replace(**given)


def course_of(bench: Bench, scale: EcScale, driven: Drivers) -> SeasonCourse:
    """Return the course of a season from its drivers."""
    days = tuple(date(2027, 4, 5) + timedelta(days=day) for day in range(len(driven.rain_mm)))
    return simulate_season(bench, scale, driven, days)


def with_solution(
    bench: Bench,
    known: Feed,
    target: float = 2.0,
    source: float = 1.0,
    feed_below: float = 0.8,
    uptake: float = 1.0,
    **more: float,
) -> Bench:
    """Return a bench with another solution, and a leak that pots can have.

    Args:
        bench: the bench.
        known: its species.
        target: plain sum of the tank's solution in mS/cm.
        source: the source water's strength over the plan's.
        feed_below: below which share of the target a bank is fed.
        uptake: salt uptake over the plan's.
        more: other entries of the bench.
    """
    water = known._replace(source_mmol_l=known.source_mmol_l * source)
    return bench._replace(
        target_ms_cm=target,
        feed_below_ms_cm=feed_below * target,
        start_mmol_l=water.mixed_mmol_l(_strength(water, target)),
        source_mmol_l=water.source_mmol_l,
        uptake_ratio=bench.uptake_ratio * uptake,
        leak_l_h=np.full(len(bench.pots), 15.0),
        **more,
    )


def _strength(known: Feed, target_ms_cm: float) -> float:
    """Return the litres of each stock in a litre that give a plain sum, which is linear in it."""
    source, pair = (float(known.plain_ms_cm(water)) for water in (known.source_mmol_l, known.pair_mmol))
    return (target_ms_cm - source) / (pair - 2.0 * source)
