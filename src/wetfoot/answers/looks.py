"""Which banks and pots to look at on a visit, and why."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from wetfoot.answers.readings import Point, Readings
from wetfoot.answers.tank_record import TankRecord, date_of, day_of
from wetfoot.answers.water import LEVEL_TOLERANCE
from wetfoot.book.entries import Reading
from wetfoot.plan.feeds import feeds_of
from wetfoot.plan.model import Bank, Plan
from wetfoot.quantities import show, volume_kind
from wetfoot.season.ensemble import Ensemble
from wetfoot.solution.dose import composition_at_ec, dose_into_tank

RECENT_D = 14  # what was read longer ago says nothing of today: common practice, no source
RAIN_STANDS_M = 0.005  # above the set level: more than float and reading err
AGAIN = {
    "leak": "it leaked",
    "split_pot": "it had split",
    "float_stuck": "its float stuck",
    "overflow_seen": "it ran over",
    "pest": "a pest was seen",
    "disease_sign": "a sign of disease was seen",
    "weather_damage": "it was damaged by weather",
}


@dataclass(frozen=True)
class Look:
    """A bank, and a pot of it if one is meant, to look at, and why."""

    bank: str
    pot: int | None
    why: str

    def words(self) -> str:
        """Return it as one line."""
        return f"{self.bank}{f', pot {self.pot}' if self.pot else ''}: {self.why}"


def looks(plan: Plan, record: TankRecord, readings: Readings, ensemble: Ensemble, on: date) -> tuple[Look, ...]:
    """Return what to look at: levels off, EC outside the band, rained-out banks, what happened lately, the lowest bank.

    Before planting and once the supply is shut, only what happened lately.

    Args:
        plan: the plan.
        record: the book up to the day.
        readings: of the book, EC at 25 C.
        ensemble: the season's bands, for banks that were not measured lately.
        on: the day.
    """
    day = (on - plan.crop.planting).days
    if not 0 <= day < plan.crop.tops_cut_d:
        return tuple(_again(plan, record, on))
    found = [look for bank in plan.banks for look in _levels(plan, bank, record, on)]
    for at, bank in enumerate(plan.banks):
        ec, level = (_latest(points.get(bank.name, ()), on) for points in (readings.ec_ms_cm, readings.level_m))
        found += _ec_measured(plan, at, ec, level, ensemble) if ec else _ec_expected(plan, at, ensemble, on)
    return (*found, *_again(plan, record, on), *_lowest(plan, readings, on))


def _latest(points: tuple[Point, ...], on: date) -> Point | None:
    """Return the newest reading of the last days that is not doubtful."""
    recent = [point for point in points if not point.doubtful and timedelta(0) <= on - point.on <= timedelta(RECENT_D)]
    return recent[-1] if recent else None


def _levels(plan: Plan, bank: Bank, record: TankRecord, on: date) -> Iterator[Look]:
    """Yield the pots of a bank whose newest level is off."""
    newest: dict[int | None, Reading] = {}
    for reading in record.by_bank:
        recent = on - date_of(plan, day_of(plan, reading.at)) <= timedelta(RECENT_D)
        if reading.kind == "level" and reading.place == bank.name and reading.doubt is None and recent:
            newest[reading.pot] = reading
    nest, system = plan.nests[bank.nest], plan.units
    for pot, reading in newest.items():
        here = f"{show(reading.value, 'depth', system)} on {date_of(plan, day_of(plan, reading.at))}"
        if reading.value < (1.0 - LEVEL_TOLERANCE) * nest.set_level_m:
            yield Look(bank.name, pot, f"level low, {here}, set to {show(nest.set_level_m, 'depth', system)}: float, "
                                       "blocked tube, or a leak")  # fmt: skip
        elif reading.value > nest.overflow_height_m + RAIN_STANDS_M:
            yield Look(bank.name, pot, f"level above the overflow hole, {here}: clear the hole")


def _ec_measured(plan: Plan, at: int, ec: Point, level: Point | None, ensemble: Ensemble) -> Iterator[Look]:
    bank, solution, system = plan.banks[at], plan.solution, plan.units
    here = f"{show(ec.value, 'conductivity', system)} on {ec.on}"
    set_level = plan.nests[bank.nest].set_level_m
    if ec.value > solution.ec_high_ms_cm:
        yield Look(bank.name, None, f"EC above the band, {here}: measure again, thin it with source water")
    elif ec.value < solution.ec_low_ms_cm:
        rained = level is not None and level.value > set_level + RAIN_STANDS_M
        what = "rained out" if rained else "EC below the band"
        feed = _feed_words(plan, at, ec.value, level.value if level else set_level, ensemble)
        yield Look(bank.name, None, f"{what}, {here}{feed}")


def _feed_words(plan: Plan, at: int, ec_ms_cm: float, level_m: float, ensemble: Ensemble) -> str:
    """Return what to pour into each pot of a thin bank, if the plan feeds banks."""
    if not plan.visits.feed_banks:
        return ": let it drink down"
    bench, feeds, target = ensemble.expected.bench, feeds_of(plan.solution), plan.solution.target_ec_ms_cm
    free_l = float(np.interp(level_m, bench.level_m[at], bench.free_l[at]))
    if free_l <= 0.0:
        return ""
    present = composition_at_ec(ec_ms_cm, feeds.stock_a, feeds.stock_b, feeds.source)
    each = dose_into_tank(free_l, present, feeds.stock_a, feeds.stock_b, target, feeds.source)
    return f": measure again, then {show(each, volume_kind(each, plan.units), plan.units)} of each stock into every pot"


def _ec_expected(plan: Plan, at: int, ensemble: Ensemble, on: date) -> Iterator[Look]:
    """Yield a bank without a recent reading that half of the runs expect below the band."""
    day = min(max((on - plan.crop.planting).days - 1, 0), len(ensemble.dates) - 1)
    middle = float(ensemble.ec_free_ms_cm.middle[day, at])
    if on > plan.crop.planting and middle < plan.solution.ec_low_ms_cm:
        here = show(middle, "conductivity", plan.units)
        yield Look(plan.banks[at].name, None, f"may be rained out: the plan expects about {here}; measure its EC")


def _again(plan: Plan, record: TankRecord, on: date) -> Iterator[Look]:
    for event in record.events:
        day = date_of(plan, day_of(plan, event.at))
        if event.kind in AGAIN and event.place and on - day <= timedelta(RECENT_D):
            yield Look(event.place, event.pot, f"{AGAIN[event.kind]} on {day}: look again")


def _lowest(plan: Plan, readings: Readings, on: date) -> Iterator[Look]:
    """Yield the bank lowest against its set level, and those not measured lately; none on planting day."""
    if on == plan.crop.planting:
        return
    share = {}
    for bank in plan.banks:
        if point := _latest(readings.level_m.get(bank.name, ()), on):
            share[bank.name] = (point.value - plan.nests[bank.nest].set_level_m, point)
    unread = [bank.name for bank in plan.banks if bank.name not in share]
    if share:
        name, (_, point) = min(share.items(), key=lambda item: item[1][0])
        yield Look(
            name,
            None,
            f"lowest of the banks, {show(point.value, 'depth', plan.units)} on {point.on}: look at its far pot",
        )
    for name in unread:
        yield Look(name, None, f"no level read in {RECENT_D} days: measure the far pot")
