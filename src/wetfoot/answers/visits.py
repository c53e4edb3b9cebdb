"""How often to come and with what tank: the cheapest pair that keeps the chance of a dry-out below what is accepted."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from wetfoot.answers.odds import SOURCE, outcome, with_tank, with_visits
from wetfoot.answers.trace import SEED, Answer, Number, State
from wetfoot.crop.calendar import visit_days
from wetfoot.plan.model import Plan
from wetfoot.quantities import show
from wetfoot.season.ensemble import run_ensemble
from wetfoot.stock.money import yearly_cost
from wetfoot.stock.sampling import prevalence_bounds
from wetfoot.weather.seasons import Seasons

RUNS = 60
INTERVALS_D = (2, 3, 5, 7, 10, 14, 21)
TANKS = (0.5, 0.75, 1.0, 1.5, 2.0)
SIZE_EXPONENT = 0.6  # cost of a vessel goes with its volume to this power: a rule of plant cost estimating, from memory
LONGEST_D = 14  # a leak, a stuck float or a disease is found too late beyond it: common practice, no source
QUESTION = "How often must I come, and with what tank?"


@dataclass(frozen=True)
class Pair:
    """A visit interval and a tank, with the chance of a dry season (`odds.Outcome`), and what a season costs."""

    every_d: int
    tank_l: float
    chance: float
    cost: float | None


@dataclass(frozen=True)
class Frontier:
    """All pairs that were tried, the plan's own, and the one to take; none if no pair keeps within what is accepted."""

    pairs: tuple[Pair, ...]
    own: Pair
    best: Pair | None
    accepted: float
    answer: Answer


def frontier(plan: Plan, seasons: Seasons, runs: int = RUNS, progress: Callable[[int], None] | None = None) -> Frontier:
    """Return the frontier of visit interval and tank, every pair on the same seasons and draws.

    Pairs are tried from the largest tank down and stop where the chance is certain, for a smaller tank or a longer
    interval is never better.

    Args:
        plan: the plan.
        seasons: the weather's years.
        runs: of each pair.
        progress: called with the number of pairs done.
    """
    intervals = sorted({*INTERVALS_D, plan.visits.every_d})
    found: list[Pair] = []
    for factor in sorted(TANKS, reverse=True):
        tank = with_tank(plan, factor)
        for every_d in intervals:
            certain = any(p.chance >= 1.0 and p.every_d <= every_d and p.tank_l >= tank.tank.volume_l for p in found)
            clear = any(p.chance <= 0.0 and p.every_d >= every_d and p.tank_l <= tank.tank.volume_l for p in found)
            chance = 1.0 if certain else 0.0 if clear else _chance(with_visits(tank, every_d), seasons, runs)
            found.append(Pair(every_d, tank.tank.volume_l, chance, _cost(plan, factor, every_d)))
            if progress:
                progress(len(found))
    pairs = tuple(sorted(found, key=lambda pair: (pair.tank_l, pair.every_d)))
    own = next(p for p in pairs if p.every_d == plan.visits.every_d and abs(p.tank_l - plan.tank.volume_l) < 1e-6)
    accepted = plan.visits.accepted_dry
    best = min(
        (pair for pair in pairs if pair.chance <= accepted and pair.every_d <= LONGEST_D),
        key=lambda pair: (pair.cost if pair.cost is not None else -pair.every_d, pair.tank_l),
        default=None,
    )
    return Frontier(pairs, own, best, accepted, _answer(plan, seasons, own, best, runs))


def _chance(plan: Plan, seasons: Seasons, runs: int) -> float:
    return outcome(run_ensemble(plan, seasons, runs, SEED)).dry


def _cost(plan: Plan, factor: float, every_d: int) -> float | None:
    """Return what visits and tank cost a season; None without a price of labour."""
    costs = plan.costs
    if costs.labour_per_hour is None:
        return None
    visits = sum(1 for day in visit_days(every_d, plan.crop.season_d) if day < plan.crop.tops_cut_d)
    work = visits * plan.visits.minutes / 60.0 * costs.labour_per_hour
    tank = yearly_cost((costs.tank or 0.0) * factor**SIZE_EXPONENT, costs.interest, costs.plumbing_years)
    return work + tank


def _answer(plan: Plan, seasons: Seasons, own: Pair, best: Pair | None, runs: int) -> Answer:
    accepted = f"{100 * plan.visits.accepted_dry:g} %"
    bounds = prevalence_bounds(round(own.chance * runs), runs, 0.8, "both")
    words = f"As planned, {_pair(own, plan)}, something runs dry in {100 * own.chance:.0f} % of seasons."
    state: State = "yes" if own.chance <= plan.visits.accepted_dry else "watch"
    if best is None:
        state = "no"
        words += f" No pair that was tried keeps it within {accepted}: a larger tank, or somebody who looks in between."
    elif best == own:
        words += f" That is the cheapest pair within the {accepted} that you accept."
    else:
        less = own.cost - best.cost if own.cost is not None and best.cost is not None else 0.0
        saves = f", {less:,.0f} {plan.costs.currency} a season less" if less >= 1.0 else ""
        words += f" The cheapest within the {accepted} that you accept: {_pair(best, plan)} "
        words += f"({100 * best.chance:.0f} %){saves}."
    words += f" No pair beyond {LONGEST_D} days is advised: leaks, stuck floats and disease are then found too late."
    if seasons.composed:
        words += " One typical year of weather holds no drought: leave a margin."
    numbers = [
        Number("chance of a dry-out as planned", 100 * own.chance, f"tank empty or a pot thirsty, {runs} runs", SOURCE,
               unit="% of seasons", low=100 * bounds.low, high=100 * bounds.high),
    ]  # fmt: skip
    if best is not None:
        numbers += [
            Number("visit every", best.every_d, "cheapest pair within what is accepted", SOURCE, unit="days"),
            Number("tank", best.tank_l, "cheapest pair within what is accepted", SOURCE, kind="volume"),
        ]
    if own.cost is not None:
        how = f"labour of visits, and the tank over {plan.costs.plumbing_years:g} years"
        source = f"prices of the plan; tank by volume to the power {SIZE_EXPONENT:g}"
        numbers.append(Number("cost of visits and tank as planned", own.cost, how, source, unit=plan.costs.currency))
    return Answer(QUESTION, state, words, tuple(numbers))


def _pair(pair: Pair, plan: Plan) -> str:
    return f"every {pair.every_d} days with {show(pair.tank_l, 'volume', plan.units)}"
