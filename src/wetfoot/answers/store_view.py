"""What is left of each lot by date: what came in and went out, each weighing, what storage takes until planting."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from wetfoot import __version__
from wetfoot.answers.stock_records import StockState, stock_state
from wetfoot.answers.supply import supply
from wetfoot.answers.trace import Answer, Number, State
from wetfoot.plan.model import Plan
from wetfoot.quantities import show
from wetfoot.stock.balance import Entry, ledger
from wetfoot.stock.generations import stored_kg
from wetfoot.stock.lots import day_of

STORE_SOURCE = (
    "W = W0 exp(-k t) (1 - r)^t from the last weighing; k and r together so that the plan's storage loss is reached "
    "at planting. In brackets k 0.03 to 0.11 and r 0.01 to 0.05 a month (handbook, agronomy 1.4: a proposal there, "
    "0.11 from 28 % in 3 months, Chittaragi et al. 2022)"
)
LOW_LOSS, HIGH_LOSS = (0.03, 0.01), (0.11, 0.05)
DAYS_PER_MONTH = 365.25 / 12.0
STEP_D = 7
TELLING = {
    "in": "came in",
    "planted": "planted",
    "sold": "sent",
    "culled": "culled",
    "passed on": "passed on",
    "check": "weighed",
}


@dataclass(frozen=True)
class StoreRow:
    """Something that happened to a lot: how many kg, and how many were expected to be left after it."""

    on: date
    what: str
    kg: float
    expected_kg: float


@dataclass(frozen=True)
class StorePoint:
    """What is expected of a lot on a day, and the range of likely storage losses since the last weighing."""

    on: date
    kg: float
    low_kg: float
    high_kg: float


@dataclass(frozen=True)
class LotInStore:
    """A lot: what happened to it, its course to the day that is asked for, and whether it may be used."""

    lot: str
    rows: tuple[StoreRow, ...]
    course: tuple[StorePoint, ...]
    held: bool

    @property
    def left(self) -> StorePoint:
        """What is expected on the last day."""
        return self.course[-1]


@dataclass(frozen=True)
class StoreView:
    """All lots with a mass, up to a day."""

    plan: Plan
    on: date
    lots: tuple[LotInStore, ...]
    answer: Answer

    def record(self) -> dict[str, Any]:
        """Return the store for machines."""
        lots = [
            {"lot": lot.lot, "held": lot.held, "left": vars(lot.left), "rows": [vars(row) for row in lot.rows]}
            for lot in self.lots
        ]
        answer = {**self.answer.record(self.plan.units), "on": self.on, "lots": lots}
        trace = {"plan": self.plan.title, "wetfoot": __version__}
        return {"answer": answer, "units": self.plan.units, "trace": trace, "warnings": list(self.answer.warnings)}


def store_view(plan: Plan, folder: Path, on: date | None = None, state: StockState | None = None) -> StoreView:
    """Return what is left of each lot by date, and how much there will be on a day.

    Args:
        plan: the plan.
        folder: the season's folder.
        on: the day; the field's planting if not given.
        state: what the book tells, if it was read already.
    """
    state = state or stock_state(plan, folder)
    until = on or plan.goal.field_planting
    entries, _ = ledger(state.records)
    checks = {check.id for check in state.records.store_checks}
    held, days = {hold.lot for hold in state.held}, _days(state)
    lots = tuple(
        found
        for name in dict.fromkeys([*state.lots, *entries])
        if (found := _lot(plan, name, entries.get(name, ()), checks, until, name in held, days))
    )
    return StoreView(plan, until, lots, _answer(plan, until, lots, state))


def _lot(
    plan: Plan,
    name: str,
    entries: Iterable[Entry],
    checks: set[str],
    until: date,
    held: bool,
    days: Mapping[str, date],
) -> LotInStore | None:
    """Return a lot's course; None of a lot without a mass. Rot that a check tells is in the loss it finds."""
    own = [each for each in entries if not (each.account == "culled" and each.id in checks)]
    order = ("in", "planted", "sold", "culled", "passed on", "check")
    dated = sorted(((days[each.id], each) for each in own), key=lambda pair: (pair[0], order.index(pair[1].account)))
    dated = [(day, each) for day, each in dated if day <= until]
    if not dated:
        return None
    rows, points = _course(plan, dated, until)
    return LotInStore(name, tuple(rows), tuple(points), held)


def _days(state: StockState) -> dict[str, date]:
    stock = state.records
    kinds = (stock.lots, stock.cuttings, stock.plantings, stock.harvests, stock.store_checks, stock.shipments)
    return {record.id: day_of(record) for records in kinds for record in records}


def _course(plan: Plan, dated: list[tuple[date, Entry]], until: date) -> tuple[list[StoreRow], list[StorePoint]]:
    rates = (usual_loss(plan), LOW_LOSS, HIGH_LOSS)
    have, last = [0.0, 0.0, 0.0], dated[0][0]
    rows: list[StoreRow] = []
    points: list[StorePoint] = []
    for day, entry in dated:
        points += _falling(have, rates, last, day)
        have = [_left(kg, rate, (day - last).days) for kg, rate in zip(have, rates, strict=True)]
        expected = have[0]
        if entry.account == "check":
            have = [entry.kg] * 3
        else:
            have = [max(kg + (entry.kg if entry.account == "in" else -entry.kg), 0.0) for kg in have]
            expected = have[0]
        rows.append(StoreRow(day, TELLING[entry.account], entry.kg, expected))
        points.append(_point(day, have))
        last = day
    points += _falling(have, rates, last, until)
    return rows, [
        *points,
        _point(until, [_left(kg, rate, (until - last).days) for kg, rate in zip(have, rates, strict=True)]),
    ]


_Rate = tuple[float, float]


def _falling(have: list[float], rates: tuple[_Rate, ...], last: date, day: date) -> Iterator[StorePoint]:
    """Yield the course between two days, the last one too, before anything happens on it."""
    for days in [*range(STEP_D, (day - last).days, STEP_D), (day - last).days]:
        if days > 0:
            yield _point(
                last + timedelta(days=days), [_left(kg, rate, days) for kg, rate in zip(have, rates, strict=True)]
            )


def _left(kg: float, rate: _Rate, days: int) -> float:
    return stored_kg(kg, days / DAYS_PER_MONTH, *rate)


def _point(day: date, have: list[float]) -> StorePoint:
    return StorePoint(day, have[0], min(have), max(have))


def usual_loss(plan: Plan) -> _Rate:
    """Return shrink and rot a month (all as shrink) so that the plan's loss is reached from harvest to planting."""
    months = max((plan.goal.field_planting - plan.crop.harvest).days, 1) / DAYS_PER_MONTH
    return -math.log(1.0 - plan.goal.loss_storage) / months, 0.0


def _answer(plan: Plan, on: date, lots: tuple[LotInStore, ...], state: StockState) -> Answer:
    usable = [lot for lot in lots if not lot.held]
    left, low, high = (sum(getattr(lot.left, name) for lot in usable) for name in ("kg", "low_kg", "high_kg"))
    need = supply(plan).demand.uncut_kg
    growing = not any(harvest.cause is None for harvest in state.records.harvests)
    verdict: State = "yes" if low >= need else "watch" if left >= need or growing else "no"
    system = plan.units
    words = f"On {on} expect {show(left, 'mass', system)} of seed that is not on hold, from {len(usable)} lots; "
    words += f"the field and what is kept back ask for {show(need, 'mass', system)}."
    if growing:
        words += " No harvest is written yet: what still grows in the pots is not in it."
    numbers = (
        Number("seed left", left, f"all lots not on hold, on {on}", STORE_SOURCE, kind="mass", low=low, high=high),
        Number("seed asked for, uncut", need, "field, losses in cutting, what is kept back", "plan", kind="mass"),
        Number("on hold", sum(lot.left.kg for lot in lots if lot.held), f"lots on hold, on {on}", STORE_SOURCE,
               kind="mass"),
    )  # fmt: skip
    flagged = [name for name, balance in state.balances.items() if balance.flagged or balance.overdrawn]
    warnings = [f"The balance of lot {name!r} does not close: weigh it before you count on it." for name in flagged]
    return Answer("How much seed will be left at planting?", verdict, words, numbers, tuple(warnings))
