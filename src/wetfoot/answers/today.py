"""What to do at this visit: what to pour, where to look, what is due, when to come again."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from wetfoot import __version__
from wetfoot.answers.calendar import Entry
from wetfoot.answers.dose import Dose
from wetfoot.answers.in_tank import MORNING, InTank, in_tank, poured
from wetfoot.answers.learned import Learned, learned
from wetfoot.answers.looks import RECENT_D, Look, looks
from wetfoot.answers.readings import season_readings
from wetfoot.answers.tank_record import TankRecord, date_of, tank_record
from wetfoot.answers.trace import Answer, Number, State
from wetfoot.plan.model import Plan
from wetfoot.quantities import number_text, show
from wetfoot.season.ensemble import Ensemble
from wetfoot.season.next_visit import chance_empty, days_within_risk
from wetfoot.weather.seasons import Seasons

ACCEPTED = 0.05
LATE = 1.5  # of the visit interval
NEXT_QUESTION = "When must I come again?"
RISK_SOURCE = "season simulation over the weather's years; water use as learned from the readings"


@dataclass(frozen=True)
class Today:
    """What to do at a visit.

    Attributes:
        plan: what it was computed from.
        on: the day of the visit.
        tank: what is in the tank before it is filled.
        fill_l: litres to add, stocks among them; nothing once the supply is shut.
        dose: what to pour; None if nothing is to be poured, or nothing can be said (then an alert says why).
        looks: which banks and pots to look at, and why.
        due: the calendar's work since the last regular visit and until the next.
        next_visit: when to come again.
        latest: last day on which the chance of an empty tank is within what is accepted.
        empty_chance: that the tank is empty by the next visit.
        alerts: what cannot wait, with the evidence.
        learned: what the readings have taught.
        visit: the answer on the next visit.
    """

    plan: Plan
    on: date
    tank: InTank
    fill_l: float
    dose: Dose | None
    looks: tuple[Look, ...]
    due: tuple[Entry, ...]
    next_visit: date
    latest: date
    empty_chance: float
    alerts: tuple[str, ...]
    learned: Learned
    visit: Answer

    def lines(self) -> list[str]:
        """Return the visit as lines to read: alerts first."""
        lines = [f"Alert: {alert}" for alert in self.alerts]
        lines.append(f"Tank: {show(self.tank.litres, 'volume', self.plan.units)}, {self.tank.how}.")
        lines.append(self.dose.answer.words if self.dose else "Pour nothing into the tank.")
        lines += [f"Look at {look.words()}." for look in self.looks]
        lines += [f"{entry.on}: {entry.title}. {entry.words}" for entry in self.due]
        return [*lines, self.visit.words]

    def record(self) -> dict[str, Any]:
        """Return the visit for machines: answer, units, trace, warnings."""
        system = self.plan.units
        answer = {
            "on": self.on.isoformat(),
            "tank_l": self.tank.litres,
            "tank_from": self.tank.how,
            "fill_l": self.fill_l,
            "dose": self.dose.record()["answer"] if self.dose else None,
            "looks": [{"bank": look.bank, "pot": look.pot, "why": look.why} for look in self.looks],
            "due": [{"on": entry.on.isoformat(), "title": entry.title, "words": entry.words} for entry in self.due],
            "next_visit": self.next_visit.isoformat(),
            "latest": self.latest.isoformat(),
            "empty_chance": self.empty_chance,
            "visit": self.visit.record(system),
        }
        trace = {"plan": self.plan.title, "stretches": len(self.learned.found), "wetfoot": __version__}
        return {"answer": answer, "units": system, "trace": trace, "warnings": list(self.alerts)}


def today(
    plan: Plan,
    folder: Path,
    on: date,
    seasons: Seasons,
    ensemble: Ensemble,
    entries: tuple[Entry, ...],
    accepted: float = ACCEPTED,
) -> Today:
    """Return what to do at a visit.

    Args:
        plan: the plan.
        folder: the season's, in which its book is; the book may be empty or not there.
        on: the day of the visit; what was written for later days does not count.
        seasons: the weather's years.
        ensemble: the season's runs.
        entries: the season's calendar (`answers.calendar.calendar`).
        accepted: chance of an empty tank that is accepted between visits.

    Raises:
        WetfootError: if the book is not one, or is of a newer version.
        ValueError: if the accepted chance is not between 0 and 1.
    """
    record = tank_record(plan, folder, on)
    lately = season_readings(plan, folder, on - timedelta(days=RECENT_D))
    taught = learned(plan, folder, seasons, ensemble, on)
    tank = in_tank(plan, record, ensemble, taught, on)
    supplied = plan.crop.planting <= on < plan.crop.planting + timedelta(days=plan.crop.tops_cut_d)
    fill_l = max(plan.tank.volume_l - tank.litres, 0.0) if supplied else 0.0
    to_pour, trouble = poured(plan, record, tank, fill_l, on) if supplied else (None, ())
    latest, chance, visit = _next_visit(plan, taught, on, accepted)
    coming = visit_after(plan, on, latest)
    since = on - timedelta(days=plan.visits.every_d)
    return Today(
        plan=plan,
        on=on,
        tank=tank,
        fill_l=fill_l,
        dose=to_pour,
        looks=looks(plan, record, lately, ensemble, on),
        due=tuple(entry for entry in entries if not entry.visit and since < entry.on < max(coming, on + timedelta(1))),
        next_visit=coming,
        latest=latest,
        empty_chance=chance,
        alerts=(*trouble, *_alerts(plan, record, tank, taught, visit, on, supplied)),
        learned=taught,
        visit=visit,
    )


def visit_after(plan: Plan, on: date, latest: date) -> date:
    """Return when to come again: after the plan's interval, or earlier for the tank's sake; planting day before it."""
    if on < plan.crop.planting:
        return plan.crop.planting
    regular = min(on + timedelta(days=plan.visits.every_d), max(plan.crop.harvest, on))
    return max(min(regular, latest), min(on + timedelta(days=1), max(plan.crop.harvest, on)))


def _next_visit(plan: Plan, taught: Learned, on: date, accepted: float) -> tuple[date, float, Answer]:
    """Return the last day within the accepted risk, the chance of an empty tank at the next visit, and the answer."""
    start = (on - plan.crop.planting).days + MORNING
    usable = plan.tank.volume_l - plan.tank.unusable_l
    leak_l_d = taught.leak.l_d.high if taught.leak else 0.0
    days = days_within_risk(taught.expected, taught.belief, usable, max(start, 0.0), accepted, leak_l_d)
    latest = max(on, plan.crop.planting) + timedelta(days=days)
    coming = visit_after(plan, on, latest)
    end = (coming - plan.crop.planting).days + MORNING
    chance = chance_empty(taught.expected, taught.belief, usable, max(start, 0.0), max(end, 0.0), leak_l_d)
    state: State = "no" if chance > accepted else "watch" if latest < on + timedelta(plan.visits.every_d) else "yes"
    words = _visit_words(plan, taught, on, coming, latest, chance, accepted)
    how = f"from a full tank on {on} to the morning of the next visit"
    number = Number("chance of an empty tank", chance, how, RISK_SOURCE, kind="fraction")
    lasts = Number("days within the accepted chance", float(days), how, RISK_SOURCE, unit="days")
    return latest, chance, Answer(NEXT_QUESTION, state, words, (number, lasts))


def _visit_words(
    plan: Plan, taught: Learned, on: date, coming: date, latest: date, chance: float, accepted: float
) -> str:
    if on >= plan.crop.harvest:
        return "The season is over: nothing hangs on the tank any more."
    if on < plan.crop.planting:
        return f"Come on {coming} to plant and fill."
    if (on - plan.crop.planting).days >= plan.crop.tops_cut_d:
        return f"Come again on {coming}: the supply is shut, so that the tank does not matter."
    use = "as learned" if taught.found else "as the plan expects it"
    leak = " and the leak, taken at its high end," if taught.leak else ""
    holds = "to the end of the season" if latest >= plan.crop.harvest else f"until {latest}"
    return (
        f"Come again on {coming}: filled up today, the tank is empty by then with a chance of {_percent(chance)}. By "
        f"water use {use}{leak} it holds {holds} within the accepted {number_text(100.0 * accepted)} %."
    )


def _percent(chance: float) -> str:
    return "less than 1 %" if chance < 0.01 else f"{number_text(100.0 * chance, 2)} %"


def _alerts(
    plan: Plan, record: TankRecord, tank: InTank, taught: Learned, visit: Answer, on: date, supplied: bool
) -> tuple[str, ...]:
    words = [
        f"Today's tank reading is not used: {why}. Read it again."
        for at_d, why in record.doubtful(plan)
        if date_of(plan, at_d) == on
    ]
    if taught.verdict.state == "no" or (taught.found and taught.verdict.state == "watch"):
        words.append(taught.verdict.words)
    if supplied and on > plan.crop.planting and tank.litres <= plan.tank.unusable_l:
        may = "is" if tank.read else "may be"
        words.append(f"The tank {may} empty, {tank.how}. Fill it, then look at every pot's level.")
    if supplied and visit.state == "no":
        words.append("Even tomorrow the tank may be empty: a larger tank, a smaller valve seat, or two visits a day.")
    days = (on - plan.crop.planting).days
    last = max((reading.at_d for reading in record.readings), default=0.0)
    if supplied and days - last > LATE * plan.visits.every_d:
        words.append(f"The tank was not read for {number_text(days - last, 2)} days: a leak would not have been seen.")
    return tuple(words)
