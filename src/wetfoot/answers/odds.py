"""Will water and EC hold under the weather's years, how often must I come, and what does each change buy."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wetfoot.answers.trace import SEED, Answer, Number, State
from wetfoot.crop.calendar import visit_days
from wetfoot.plan.model import Plan
from wetfoot.quantities import number_text, show
from wetfoot.season.ensemble import Ensemble, run_ensemble
from wetfoot.season.feed import ELEMENTS
from wetfoot.season.splits import Splits
from wetfoot.stock.sampling import prevalence_bounds
from wetfoot.weather.seasons import Seasons

Array = NDArray[np.float64]

RUNS = 100
SURE_DRY = 0.5  # a chance of a dry season from which the verdict is no
YIELD_RESPONSE = 1.1  # yield lost over water not had, for potato: Doorenbos & Kassam (1979), FAO 33, from memory
SHUT_OFF_H, SAUCER_L, SMALL_SEAT_M = 24.0, 15.0, 0.0016
YIELD_SOURCE = "Doorenbos & Kassam (1979), FAO 33; an estimate"
SOURCE = "season simulation over the weather's years, water use, rain catch and salt uptake drawn (estimates)"
SPLIT_SOURCE = (
    f"{SOURCE}; pots split by the crowding index (prior without data), one split in four cracks a basin (guess)"
)


@dataclass(frozen=True)
class Outcome:
    """What a bench comes to over many seasons; chances and means over the runs.

    Attributes:
        empty: chance that the tank runs empty at some time.
        thirsty: chance that some pot cannot drink its fill on some day.
        dry: chance of a dry season: that either happens.
        thirsty_days: such days of the bank that is worst off, in the mean.
        spilled_l: litres over the overflow a pot, in the mean.
        ec_low_days: days of the worst bank below the EC band, in the mean; ``ec_high_days`` above it.
        lost_n_g: grams of nitrogen to the ground by overflow and leaks, whole bench, in the mean.
    """

    empty: float
    thirsty: float
    dry: float
    thirsty_days: float
    spilled_l: float
    ec_low_days: float
    ec_high_days: float
    lost_n_g: float


@dataclass(frozen=True)
class Lever:
    """One change of the bench with what it comes to; the same seasons and draws as without it."""

    name: str
    after: Outcome


@dataclass(frozen=True)
class Odds:
    """The verdict, what the bench comes to with and without splits, and what single changes buy."""

    answer: Answer
    base: Outcome
    with_splits: Outcome
    levers: tuple[Lever, ...]
    safeguards: tuple[Lever, ...]


def dry_seasons(runs: Ensemble) -> NDArray[np.bool_]:
    """Return in which runs the tank ran empty or some pot went thirsty at some time."""
    totals = runs.totals
    return np.asarray((totals.tank_empty_days > 0) | (totals.stress_days > 0).any(axis=1))


def dry_state(chance: float, plan: Plan, composed: bool) -> State:
    """Return the verdict on a chance of a dry season; a typical year holds no drought, so that it cannot say yes."""
    state: State = "yes" if chance <= plan.visits.accepted_dry else "watch" if chance < SURE_DRY else "no"
    return "watch" if composed and state == "yes" else state


def outcome(runs: Ensemble) -> Outcome:
    """Return what an ensemble comes to."""
    totals = runs.totals
    lost = runs.element_g(totals.overflow_mmol + totals.leaked_mmol)[:, ELEMENTS.index("N")]
    return Outcome(
        float((totals.tank_empty_days > 0).mean()),
        float((totals.stress_days > 0).any(axis=1).mean()),
        float(dry_seasons(runs).mean()),
        float(totals.stress_days.max(axis=1).mean()),
        float(totals.overflow_l.mean()),
        float(totals.ec_low_days.max(axis=1).mean()),
        float(totals.ec_high_days.max(axis=1).mean()),
        float(lost.mean()),
    )


def odds(
    plan: Plan, seasons: Seasons, ensemble: Ensemble, runs: int = RUNS, progress: Callable[[int], None] | None = None
) -> Odds:
    """Return the odds of the season, and what each lever changes, all on the same draws.

    Args:
        plan: the plan.
        seasons: the weather's years.
        ensemble: the season over many draws, without splits.
        runs: of each comparison.
        progress: called with the number of comparisons done.
    """
    count = 0

    def compared(changed: Plan, splits: Splits | None) -> Ensemble:
        nonlocal count
        found = run_ensemble(changed, seasons, runs, SEED, splits=splits)
        count += 1
        if progress:
            progress(count)
        return found

    split = compared(plan, Splits())
    base = outcome(compared(plan, None))
    levers = tuple(Lever(name, outcome(compared(changed, None))) for name, changed in _levers(plan))
    guarded = tuple(Lever(name, outcome(compared(changed, splits))) for name, changed, splits in _safeguards(plan))
    return Odds(_answer(plan, seasons, ensemble, split), base, outcome(split), levers, guarded)


def _levers(plan: Plan) -> Iterator[tuple[str, Plan]]:
    system, every = plan.units, plan.visits.every_d
    for factor in (0.5, 1.5, 2.0):
        yield f"a tank of {show(factor * plan.tank.volume_l, 'volume', system)}", with_tank(plan, factor)
    for days in sorted({max(1, every // 2), every * 2}):
        yield f"a visit every {days} days", with_visits(plan, days)
    for share in (0.0, 0.33, 0.66):
        if any(abs(bank.gutter_fraction - share) > 0.05 for bank in plan.banks):
            yield f"gutters that take {100 * share:.0f} % of the rain", _banks(plan, gutter_fraction=share)
    for name, by_m in (("lower", -0.01), ("higher", 0.01)):
        if changed := _levels(plan, by_m, 0.0):
            yield f"a set level {show(abs(by_m), 'depth', system)} {name}", changed
    if changed := _levels(plan, 0.0, 0.01):
        yield f"an overflow {show(0.01, 'depth', system)} higher", changed
    if plan.visits.feed_banks:
        yield (
            "banks not fed after rain",
            plan.model_copy(update={"visits": plan.visits.model_copy(update={"feed_banks": False})}),
        )


def _safeguards(plan: Plan) -> Iterator[tuple[str, Plan, Splits]]:
    system = plan.units
    yield f"somebody shuts a leaking bank off within {SHUT_OFF_H:.0f} hours", plan, Splits(shut_off_h=SHUT_OFF_H)
    yield f"saucers that hold {show(SAUCER_L, 'volume', system)}", plan, Splits(saucer_l=SAUCER_L)
    if any(bank.valve_seat_m > SMALL_SEAT_M for bank in plan.banks):
        small = _banks(plan, valve_seat_m=SMALL_SEAT_M)
        yield f"valve seats of {show(SMALL_SEAT_M, 'bore', system)}", small, Splits()
    half = max(1, plan.visits.every_d // 2)
    yield f"a visit every {half} days", with_visits(plan, half), Splits()
    if plan.crop.pieces_per_pot > 1:
        fewer = plan.model_copy(update={"crop": plan.crop.model_copy(update={"pieces_per_pot": 1})})
        yield "one piece a pot", fewer, Splits()


def with_tank(plan: Plan, factor: float) -> Plan:
    """Return the plan with a wider tank of the same depth."""
    tank = plan.tank.model_copy(
        update={"volume_l": plan.tank.volume_l * factor, "unusable_l": plan.tank.unusable_l * factor}
    )
    return plan.model_copy(update={"tank": tank})


def with_visits(plan: Plan, every_d: int) -> Plan:
    """Return the plan with visits at another interval."""
    return plan.model_copy(update={"visits": plan.visits.model_copy(update={"every_d": every_d})})


def _banks(plan: Plan, **changes: float) -> Plan:
    return plan.model_copy(update={"banks": tuple(bank.model_copy(update=changes) for bank in plan.banks)})


def _levels(plan: Plan, level_m: float, overflow_m: float) -> Plan | None:
    """Return the plan with other levels in every nest; None where they would not fit."""
    nests = {}
    for name, nest in plan.nests.items():
        level, overflow = nest.set_level_m + level_m, nest.overflow_height_m + overflow_m
        if not 0.01 <= level < overflow < nest.basin.height_m:
            return None
        nests[name] = nest.model_copy(update={"set_level_m": level, "overflow_height_m": overflow})
    return plan.model_copy(update={"nests": nests})


def _answer(plan: Plan, seasons: Seasons, ensemble: Ensemble, split: Ensemble) -> Answer:
    totals, runs = ensemble.totals, ensemble.runs
    empty = int((totals.tank_empty_days > 0).sum())
    thirsty = int((totals.stress_days > 0).any(axis=1).sum())
    supplied = plan.crop.tops_cut_d
    visits = sum(1 for day in visit_days(plan.visits.every_d, plan.crop.season_d) if day < supplied)
    split_empty = int((split.totals.tank_empty_days > 0).sum())
    lost = ensemble.element_g(totals.overflow_mmol) / 1000.0
    stress = totals.stress_days.max(axis=1) / supplied
    yield_lost = 100.0 * YIELD_RESPONSE * float(np.quantile(stress, 0.9))
    dry = int(dry_seasons(ensemble).sum())
    words = (
        f"With {show(plan.tank.volume_l, 'volume', plan.units)} and a visit every {plan.visits.every_d} days the tank "
        f"runs empty in {empty} of {runs} seasons and a pot goes thirsty in {thirsty}. If pots may split, it runs "
        f"empty in {split_empty} of {split.runs}, for a cracked basin drains it."
    )
    if seasons.composed:
        words += " The weather is one typical year: these odds hold no drought and no storm."
    n, p = ELEMENTS.index("N"), ELEMENTS.index("P")
    numbers = (
        _chance("chance that the tank runs empty", empty, runs, SOURCE),
        _chance("chance that a pot goes thirsty", thirsty, runs, SOURCE),
        _chance("chance of a dry season: either of these", dry, runs, SOURCE),
        _chance("chance of an empty tank if pots may split", split_empty, split.runs, SPLIT_SOURCE),
        _spread("thirsty days of the bank worst off", totals.stress_days.max(axis=1), "while supplied", "days"),
        _spread("spilled by rain, a pot", totals.overflow_l.mean(axis=1), "over the overflow", "", "volume"),
        _spread("nitrogen lost to the ground", lost[:, n], "in what spills, whole bench", "", "mass"),
        _spread("phosphorus lost to the ground", lost[:, p], "in what spills, whole bench", "", "mass"),
        _spread("lowest level of the mean pot", totals.lowest_level_m.min(axis=1), "bank worst off", "", "depth"),
        Number("yield lost to thirst, at most", yield_lost, "thirsty days of one season in ten over the season, as if "
               f"nothing were drunk on them, times {YIELD_RESPONSE:g}", YIELD_SOURCE, unit="% of the yield"),
        Number("visits in the season", visits, f"every {plan.visits.every_d} days until the tops are cut", "plan",
               unit="visits"),
        Number("work of the visits", visits * plan.visits.minutes / 60.0, f"{plan.visits.minutes:g} minutes each",
               "plan", unit="hours"),
    )  # fmt: skip
    state = dry_state(dry / runs, plan, seasons.composed)
    return Answer("Will the water hold, and how often must I come?", state, words, numbers)


def _chance(name: str, count: int, runs: int, source: str) -> Number:
    """Return a chance with the bounds that so many runs allow."""
    bounds = prevalence_bounds(count, runs, 0.8, "both")
    return Number(name, 100.0 * count / runs, f"{count} of {runs} runs; bounds by Clopper & Pearson, 80 %", source,
                  unit="%", low=100.0 * bounds.low, high=100.0 * bounds.high)  # fmt: skip


def _spread(name: str, values: Array, how: str, unit: str, kind: str = "") -> Number:
    low, middle, high = (float(each) for each in np.quantile(values, (0.1, 0.5, 0.9)))
    return Number(name, middle, how, SOURCE, kind=kind, unit=unit, low=low, high=high)


def lever_rows(plan: Plan, found: Odds) -> list[list[str]]:
    """Return the levers as rows to print, the bench as it is first."""
    return [_row(plan, "as planned", found.base), *(_row(plan, lever.name, lever.after) for lever in found.levers)]


def safeguard_rows(plan: Plan, found: Odds) -> list[list[str]]:
    """Return the safeguards against splits as rows to print, the bench as it is first."""
    rows = [_row(plan, "as planned", found.with_splits)]
    return rows + [_row(plan, lever.name, lever.after) for lever in found.safeguards]


def _row(plan: Plan, name: str, each: Outcome) -> list[str]:
    return [
        name,
        f"{100 * each.empty:.0f} %",
        f"{100 * each.thirsty:.0f} %",
        number_text(each.thirsty_days, 2),
        show(each.spilled_l, "volume", plan.units),
        f"{each.ec_low_days:.0f}",
        f"{each.ec_high_days:.0f}",
        show(each.lost_n_g / 1000.0, "small_mass" if each.lost_n_g < 450 else "mass", plan.units),
    ]


HEADS = ("", "tank empty", "a pot thirsty", "thirsty days", "spilled a pot", "days EC low", "days EC high", "N lost")
