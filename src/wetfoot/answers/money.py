"""What a kilogram of clean seed costs, what decides it, and what one more piece in a pot is worth."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from wetfoot.answers.supply import LOSSES_SOURCE, YIELD_SOURCE, pot_yield_kg
from wetfoot.answers.trace import Answer, Number, State
from wetfoot.crop.yields import expected_yield_kg, yield_range_kg
from wetfoot.plan.model import Plan
from wetfoot.quantities import convert, show, unit_label
from wetfoot.stock.money import (
    Option,
    Step,
    Swing,
    break_even_yield_kg,
    partial_budget,
    recommended,
    swings,
    yearly_cost,
)
from wetfoot.water.nest import medium_volume_l

MONEY_SOURCE = "equivalent annual cost P i / (1 - (1 + i)^-k); prices and lives of the plan"
BUDGET_SOURCE = "partial budget with dominance and marginal returns (CIMMYT 1988)"
MOST_PIECES = 6
LEAST_RETURN = 1.0  # 100 % on the last money spent: the usual rule for a crop cycle (CIMMYT 1988)
# How far the main inputs reach to either side, for the picture of what matters: estimates.
SPREADS = {"yield": 0.36, "labour": 0.3, "medium": 0.2, "seed planted": 0.3, "culling and storage": 0.2, "pots": 0.3}


@dataclass(frozen=True)
class Money:
    """Costs of a pot by item, what decides the cost of seed, and the pieces as a partial budget."""

    items: Mapping[str, float]
    swings: tuple[Swing, ...]
    pieces: tuple[Step, ...]
    answer: Answer


def money_text(plan: Plan, amount: float) -> str:
    """Return an amount with the plan's currency."""
    return f"{amount:,.2f} {plan.costs.currency}"


def pot_cost(plan: Plan) -> Number | None:
    """Return what a pot costs in a season; None if nothing has a price."""
    items = pot_items(plan)
    if not items:
        return None
    return Number("cost of a pot in a season", sum(items.values()), "sum of its items", MONEY_SOURCE,
                  unit=plan.costs.currency)  # fmt: skip


def pot_items(plan: Plan) -> dict[str, float]:
    """Return the costs of the mean pot in a season by item; what has no price is left out."""
    costs, crop = plan.costs, plan.crop
    pots, years, rate = plan.pots, costs.pot_years, costs.interest
    visits = crop.tops_cut_d / plan.visits.every_d * plan.visits.minutes / 60.0 / pots
    medium = sum(bank.pots * medium_volume_l(plan.nests[bank.nest].shape) for bank in plan.banks) / pots
    vessels = [price for price in (costs.pot, costs.basin, costs.dome if _domes(plan) else None) if price is not None]
    plumbing = [(costs.tank, 1.0 / pots), (costs.float_valve, len(plan.banks) / pots),
                (costs.shut_off_valve, (len(plan.banks) + 1) / pots)]  # fmt: skip
    found = {
        "pots": sum(yearly_cost(price, rate, years) for price in vessels),
        "plumbing": sum(yearly_cost(p * share, rate, costs.plumbing_years) for p, share in plumbing if p is not None),
        "medium": (costs.medium_per_litre or 0.0) * medium,
        "seed planted": (costs.seed_per_kg or 0.0) * seed_kg_per_pot(plan, crop.pieces_per_pot),
        "labour": (costs.labour_per_hour or 0.0) * (costs.minutes_per_pot / 60.0 + visits),
        "tests": costs.tests_per_pot,
    }
    return {name: value for name, value in found.items() if value > 0}


def seed_kg_per_pot(plan: Plan, pieces: int) -> float:
    """Return the own seed that a pot takes, with what cutting loses."""
    return pieces * plan.goal.piece_mass_kg / (1.0 - plan.goal.loss_cutting)


def _domes(plan: Plan) -> bool:
    return any(plan.nests[bank.nest].dome for bank in plan.banks)


def money(plan: Plan) -> Money | None:
    """Return the money of a season; None if nothing has a price."""
    items = pot_items(plan)
    if not items:
        return None
    goal, costs = plan.goal, plan.costs
    kept = (1.0 - goal.loss_culling) * (1.0 - goal.loss_storage)
    grown, cost = pot_yield_kg(plan) * goal.pot_survival, sum(items.values())
    per_kg = cost / (grown * kept)
    poor, good = yield_range_kg(grown * kept, goal.season_spread)
    numbers = [
        Number("cost of a pot in a season", cost, ", ".join(f"{name} {value:.2f}" for name, value in items.items()),
               MONEY_SOURCE, unit=costs.currency),
        _per_mass(plan, "cost of clean seed", per_kg, "cost of a pot over its clean seed", cost / good, cost / poor),
    ]  # fmt: skip
    state, words = _verdict(plan, numbers, cost, per_kg, kept, grown)
    steps = pieces_budget(plan) if costs.seed_per_kg is not None else ()
    if steps:
        best = recommended(steps, LEAST_RETURN).option
        words += f" By money alone, {best.name} a pot: up to there each piece more brings in at least twice its cost."
    return Money(items, tuple(_swings(plan, items, grown, kept)), steps, Answer(
        "What does a kilogram of clean seed cost?", state, words, tuple(numbers)))  # fmt: skip


def _verdict(
    plan: Plan, numbers: list[Number], cost: float, per_kg: float, kept: float, grown: float
) -> tuple[State, str]:
    """Return state and words, and add the numbers that need a price of seed."""
    costs, price = plan.costs, plan.costs.seed_per_kg
    unit = unit_label("mass", plan.units)
    shown = per_kg / float(convert(1.0, "mass", plan.units))
    words = f"About {shown:,.2f} {costs.currency} a {unit}."
    if price is None:
        return "yes", words
    even = break_even_yield_kg(cost, price, kept * plan.goal.pot_survival)
    numbers += [
        Number("margin of a pot", price * grown * kept - cost, f"clean seed at {price:g} {costs.currency}/kg less cost",
               MONEY_SOURCE, unit=costs.currency),
        Number("harvest of a living pot that just pays", even, "cost over price, survival and losses", MONEY_SOURCE,
               kind="mass"),
    ]  # fmt: skip
    bought = price / float(convert(1.0, "mass", plan.units))
    words += (
        f" Bought, it costs {bought:,.2f}. A pot pays from a harvest of {show(even, 'mass', plan.units)} on; "
        f"{pot_yield_kg(plan) / even:.1f} times that is expected."
    )
    return ("yes" if per_kg < price else "no"), words


def _per_mass(plan: Plan, name: str, per_kg: float, how: str, low: float, high: float) -> Number:
    """Return a price per mass in the plan's units."""
    size = float(convert(1.0, "mass", plan.units))
    unit = f"{plan.costs.currency}/{unit_label('mass', plan.units)}"
    source = f"{MONEY_SOURCE}; {LOSSES_SOURCE}; {YIELD_SOURCE}"
    return Number(name, per_kg / size, how, source, unit=unit, low=low / size, high=high / size)


def pieces_budget(plan: Plan) -> tuple[Step, ...]:
    """Return 1 to `MOST_PIECES` pieces a pot as choices: what the seed costs and what the clean seed is worth."""
    goal, costs = plan.goal, plan.costs
    kept = (1.0 - goal.loss_culling) * (1.0 - goal.loss_storage) * goal.pot_survival
    price = costs.seed_per_kg or 0.0

    def mean_yield(pieces: int) -> float:
        total = sum(b.pots * expected_yield_kg(pieces, medium_volume_l(plan.nests[b.nest].shape)) for b in plan.banks)
        return plan.crop.yield_factor * total / plan.pots

    options = [
        Option(
            f"{pieces} piece{'s' if pieces > 1 else ''}",
            price * seed_kg_per_pot(plan, pieces),
            price * kept * mean_yield(pieces),
        )
        for pieces in range(1, MOST_PIECES + 1)
    ]
    return tuple(partial_budget(options))


def _swings(plan: Plan, items: Mapping[str, float], grown: float, kept: float) -> list[Swing]:
    """Return how far each input alone moves the cost of clean seed."""

    def per_kg(factors: Mapping[str, float]) -> float:
        cost = sum(value * factors.get(name, 1.0) for name, value in items.items())
        lost = (1.0 - kept) * factors["culling and storage"]
        return cost / (grown * factors["yield"] * (1.0 - lost))

    middle = {name: 1.0 for name in SPREADS if name in ("yield", "culling and storage") or name in items}
    ranges = {name: (1.0 - SPREADS[name], 1.0 + SPREADS[name]) for name in middle}
    return swings(per_kg, middle, ranges)
