"""What is in the tank on the day of a visit, and what to pour into it."""

from __future__ import annotations

from datetime import date
from typing import NamedTuple

from wetfoot.answers.dose import Dose, dose
from wetfoot.answers.leak_verdict import drawn_at
from wetfoot.answers.learned import Learned
from wetfoot.answers.tank_record import TankRecord, date_of, day_of
from wetfoot.errors import WetfootError
from wetfoot.plan.model import Plan
from wetfoot.quantities import show
from wetfoot.season.ensemble import Ensemble
from wetfoot.season.learn import multiplier

MORNING = 8.0 / 24.0  # when visits are taken to be
CLOSE_FRACTION = 0.01  # of the tank: less is not worth pouring; common practice, no source


class InTank(NamedTuple):
    """What is thought to be in the tank now: litres, and whence that is known."""

    litres: float
    how: str
    read: bool


def in_tank(plan: Plan, record: TankRecord, ensemble: Ensemble, taught: Learned, on: date) -> InTank:
    """Return what is in the tank on the morning of a day, or after what was poured in on it.

    By the day's reading; else the last reading less what was drawn since, leak and all; else the plan's own runs.
    """
    day = (on - plan.crop.planting).days
    known = record.last_known(plan)
    if known is None:
        if day <= 0:
            return InTank(0.0, "before the first filling", read=False)
        middle = ensemble.tank_l.middle[min(day, len(ensemble.dates)) - 1]
        return InTank(float(middle), "as the plan expects, for no reading is written down: read it", read=False)
    at_d, litres = known
    if date_of(plan, at_d) == on:
        return InTank(litres, "as read today", read=True)
    factor = multiplier(taught.belief).middle
    drawn = drawn_at(taught.expected, factor, at_d, day + MORNING)
    leaked = taught.leak.l_d.middle * (day + MORNING - at_d) if taught.leak else 0.0
    left = max(litres - drawn - leaked, 0.0)
    return InTank(left, f"reckoned from {date_of(plan, at_d)}: read it", read=False)


def poured(
    plan: Plan, record: TankRecord, tank: InTank, fill_l: float, on: date
) -> tuple[Dose | None, tuple[str, ...]]:
    """Return what to pour, and what stands in its way or must be measured first.

    By the EC read on the day, else as if the tank were on its target.
    """
    measured = _ec_of(plan, record, on)
    if fill_l < CLOSE_FRACTION * plan.tank.volume_l and not measured:
        return None, ()
    empty = tank.litres == 0.0
    target, source = plan.solution.target_ec_ms_cm, plan.solution.source_ec_ms_cm
    ec, temperature = measured if measured and not empty else (source if empty else target, None)
    try:
        found = dose(plan, tank.litres, ec, temperature, fill_l)
    except WetfootError as error:
        return None, tuple(f"{problem.what}: {problem.fix}." for problem in error.problems)
    if measured or empty:
        return found, ()
    assumed = show(target, "conductivity", plan.units)
    return found, (f"The tank's EC was not read today and is taken as {assumed}: measure it before you pour.",)


def _ec_of(plan: Plan, record: TankRecord, on: date) -> tuple[float, float | None] | None:
    """Return the tank's EC as read on the day, with the temperature if the meter does not correct for it."""
    today = [reading for reading in record.ec if date_of(plan, day_of(plan, reading.at)) == on and not reading.doubt]
    if not today:
        return None
    last = today[-1]
    return last.value, None if last.compensated else last.temperature_c
