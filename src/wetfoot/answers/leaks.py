"""What happens if something breaks: litres lost, hours to an empty tank, which pots go dry first, what would help."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, isfinite

from wetfoot.answers.trace import Answer, Number, State
from wetfoot.answers.water import PeakBench
from wetfoot.plan.model import Plan
from wetfoot.quantities import System, number_text, show
from wetfoot.water.day_course import recovery
from wetfoot.water.leaks import Fault, LeakCourse, Safeguard, leak_course, safeguards
from wetfoot.water.network import NotConvergedError
from wetfoot.water.tank import drain_through_line_h, fill_h

SPLIT_HOLE_M = 0.01  # a split passes what a hole of 10 mm does: an estimate
SMALLEST_SEAT_M = 0.0016
SHUT_AFTER_H = 24.0
SAUCER_L = 15.0
SPELL_H = 24.0
HOSE_L_H = 900.0
SOURCE = (
    "network of tank, valves, tubes and pots (laminar and Darcy-Weisbach losses, Torricelli at valve and hole) marched "
    "through the day's half-sine draw; a split counts as a 10 mm hole (estimate)"
)
QUESTION = "What if something breaks?"
FAULTS = {
    "a basin splits": Fault("pot split", hole_m=SPLIT_HOLE_M),
    "a microtube pulls out": Fault("microtube out"),
    "a float sticks open": Fault("float open"),
    "a float sticks shut": Fault("float shut"),
}


@dataclass(frozen=True)
class Leaks:
    """The verdict, each fault's course until the next visit, and the split with each safeguard."""

    answer: Answer
    courses: dict[str, LeakCourse]
    guarded: tuple[Safeguard, ...]


def leaks(plan: Plan, peak: PeakBench) -> Leaks:
    """Return what breaks what, on days of highest draw, with a full tank and nobody there until the next visit.

    Where the network cannot be solved, the answer says so, with the state that was reached, and holds no numbers.
    """
    try:
        return _leaks(plan, peak)
    except NotConvergedError as error:
        return Leaks(Answer(QUESTION, "watch", f"This could not be computed: {error}.", ()), {}, ())


def _leaks(plan: Plan, peak: PeakBench) -> Leaks:
    banks, supply, draw = peak.banks, peak.supply, max(peak.draws_l_h)
    hours = 24.0 * plan.visits.every_d
    widest = max(range(len(banks)), key=lambda bank: banks[bank].valve_seat_m)
    faults = {what: Fault(each.kind, widest, 0, each.hole_m, each.height_m) for what, each in FAULTS.items()}
    courses = {what: leak_course(banks, supply, draw, fault, hours) for what, fault in faults.items()}
    seat = max(SMALLEST_SEAT_M, banks[widest].valve_seat_m / 2.0)
    guarded = safeguards(banks, supply, draw, faults["a basin splits"], hours, seat, SHUT_AFTER_H, SAUCER_L)
    back = recovery(banks, supply, draw, SPELL_H).slowest_h
    empties = min(course.empty_h for course in courses.values())
    state: State = "no" if empties < 12.0 else "watch" if empties < hours else "yes"
    return Leaks(Answer(QUESTION, state, _words(plan, courses, guarded, hours),
                        (*_numbers(courses), *_tank_numbers(plan, back))), courses, guarded)  # fmt: skip


def _words(plan: Plan, courses: dict[str, LeakCourse], guarded: tuple[Safeguard, ...], hours: float) -> str:
    system = plan.units
    worst = min(courses, key=lambda what: courses[what].empty_h)
    if isfinite(courses[worst].empty_h):
        start = f"If {worst}, a full tank is empty in {hours_text(courses[worst].empty_h)}"
    else:
        start = f"No single fault empties a full tank before the next visit in {hours_text(hours)}"
    dry = first_dry_text(plan, courses[worst])
    now = guarded[0].course
    best = max(guarded[1:], key=lambda guard: (min(guard.course.empty_h, hours), -float(guard.course.lost_l[-1])))
    helps = (
        f"If a basin splits, {show(float(now.lost_l[-1]), 'volume', system)} run out until then; {best.what}: "
        f"{show(float(best.course.lost_l[-1]), 'volume', system)}"
    )
    return f"{start}; {dry}. {helps}."


def first_dry_text(plan: Plan, course: LeakCourse) -> str:
    """Return which pot lacks water first, and when."""
    first = course.first_dry
    if first is None:
        return "no pot runs dry"
    bank = plan.banks[first.bank]
    return f"pot {first.pot + 1} of bank {bank.name} lacks water first, after {hours_text(first.hours)}"


def hours_text(hours: float) -> str:
    """Return a time as a person says it: minutes, hours up to two days, then days."""
    if not isfinite(hours):
        return "never before the visit"
    if hours < 1.0:
        return f"{number_text(60.0 * hours, 2)} minutes"
    return f"{number_text(hours, 2)} hours" if hours < 48.0 else f"{number_text(hours / 24.0, 2)} days"


def _numbers(courses: dict[str, LeakCourse]) -> tuple[Number, ...]:
    numbers = [
        Number(f"lost if {what}", float(course.lost_l[-1]), "to the ground until the next visit, full tank, days of "
               "highest draw", SOURCE, kind="volume")
        for what, course in courses.items()
    ]  # fmt: skip
    empty = [
        Number(f"full tank empty if {what}", course.empty_h, "the same", SOURCE, unit="hours")
        for what, course in courses.items()
        if course.empty_h < inf
    ]
    return (*numbers, *empty)


def _tank_numbers(plan: Plan, back_h: float) -> tuple[Number, ...]:
    """Return how long the pots take to come back after a dry day, and how long the tank drains and fills."""
    tank, line = plan.tank, plan.supply_line
    area_m2 = tank.volume_l / 1000.0 / tank.water_depth_m
    low = tank.base_height_m  # the line's open end lies on the ground
    drain = drain_through_line_h(
        area_m2, line.bore_m, line.bore_m, line.length_m, low + tank.water_depth_m, max(low, 0.05)
    )
    fill = fill_h(tank.volume_l, HOSE_L_H)
    return (
        Number(f"until all pots are back after {SPELL_H:g} hours without supply", back_h,
               "to nine tenths of their depth at rest, days of highest draw", SOURCE, unit="hours"),
        Number("to drain a full tank through its line", drain, "open end on the ground, pipe and orifice losses",
               "Torricelli and Darcy-Weisbach", unit="hours"),
        Number("to fill the empty tank with a hose", fill, f"at {show(HOSE_L_H, 'flow', plan.units)}, a garden hose "
               "(common practice, no source)", "volume over flow", unit="hours"),
    )  # fmt: skip


def fault_rows(plan: Plan, found: Leaks) -> list[list[str]]:
    """Return each fault as a row: what, litres lost, time to an empty tank, which pot goes dry first."""
    return [_row(plan, what, course) for what, course in found.courses.items()]


def guard_rows(plan: Plan, found: Leaks) -> list[list[str]]:
    """Return the split basin with each safeguard, as rows like `fault_rows`."""
    return [_row(plan, guard.what, guard.course) for guard in found.guarded]


def _row(plan: Plan, what: str, course: LeakCourse) -> list[str]:
    system: System = plan.units
    lost = show(float(course.lost_l[-1]), "volume", system)
    return [what, lost, hours_text(course.empty_h), first_dry_text(plan, course)]
