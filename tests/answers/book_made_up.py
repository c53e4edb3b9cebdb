"""Invented books for the tests of what is learned and done today: a tank as the plan expects it, and a leak."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np

from wetfoot.book.entries import Reading, Record, TopUp
from wetfoot.book.records import add, open_book
from wetfoot.plan.model import Plan
from wetfoot.season.expected_draw import ExpectedDraw, drawn_between

NOW = datetime(2030, 1, 1, tzinfo=UTC)


def at(plan: Plan, day: int, hour: int = 8) -> datetime:
    """Return an hour of a day after planting, by the site's clock."""
    return datetime.combine(plan.crop.planting + timedelta(days=day), time(hour), ZoneInfo(plan.site.zone))


def reading(
    plan: Plan, day: int, kind: str, place: str, value: float, pot: int | None = None, hour: int = 8
) -> Reading:
    """Return a reading of an invented visit."""
    return Reading(
        at=at(plan, day, hour), zone=plan.site.zone, who="invented", kind=kind, place=place, value=value, pot=pot
    )


def top_up(plan: Plan, day: int, litres: float) -> TopUp:
    """Return water poured into the tank on an invented visit."""
    return TopUp(at=at(plan, day), zone=plan.site.zone, who="invented", water_l=litres)


def tank_rows(
    plan: Plan,
    expected: ExpectedDraw,
    days: range,
    factor: float = 1.0,
    leak_l_d: float = 0.0,
    leak_from: int = 10_000,
) -> list[Record]:
    """Return visits that read the tank and fill it up: all but the last, which only reads."""
    rows: list[Record] = []
    error = np.random.default_rng(3).normal(0.0, 3.0, len(days))
    for visit, (before, day) in enumerate(pairwise(days)):
        drawn = drawn_between(expected, before + 8 / 24, day + 8 / 24).mean(axis=1)
        lost = float(np.interp(factor, expected.factors, drawn)) + leak_l_d * max(0, day - max(before, leak_from))
        left = min(plan.tank.volume_l - lost + error[visit], plan.tank.volume_l)
        rows.append(reading(plan, day, "tank_volume", "tank", left))
        if day != days[-1]:
            rows.append(top_up(plan, day, plan.tank.volume_l - left))
    return rows


def write(folder: Path, *rows: Record) -> None:
    """Write records into the book of a season's folder."""
    with open_book(folder) as book:
        for row in rows:
            add(book, row, now=NOW)


def on_day(plan: Plan, day: int) -> date:
    """Return the date of a day after planting."""
    return plan.crop.planting + timedelta(days=day)
