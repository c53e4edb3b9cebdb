"""How many pots the field asks for, and what the bench will give."""

from __future__ import annotations

from dataclasses import dataclass

from wetfoot.answers.trace import Answer, Number, State
from wetfoot.crop.splitting import crowding_index, split_probability
from wetfoot.crop.yields import expected_yield_kg, yield_range_kg
from wetfoot.plan.model import Goal, Plan
from wetfoot.quantities import number_text, show
from wetfoot.stock.supply import (
    Demand,
    clean_seed_kg,
    demand,
    pots_needed,
    seed_for_pots_kg,
    seed_rate_from_spacing_kg_m2,
)
from wetfoot.water.nest import medium_volume_l

YIELD_SOURCE = (
    "constant final yield (Shinozaki & Kira 1956) through one published pot of 4.9 kg (Kratky et al., ASHS 2011); "
    "range: 8 seasons in 10 by the plan's season_spread (35 % is how far published container trials disagree)"
)
LOSSES_SOURCE = "the plan's losses, made good one after the other"


@dataclass(frozen=True)
class Supply:
    """Pots needed if yields are high, as expected or low, and what the bench's pots give."""

    demand: Demand
    yield_kg: float
    yield_low_kg: float
    yield_high_kg: float
    pots_expected: int
    pots_low_yield: int
    pots_high_yield: int
    answer: Answer


def seed_rate_kg_m2(goal: Goal) -> float:
    """Return the seed per area of the field, from the rate or from the spacings."""
    if goal.seed_rate_kg_m2 is not None:
        return goal.seed_rate_kg_m2
    assert goal.row_spacing_m is not None
    assert goal.in_row_spacing_m is not None
    return seed_rate_from_spacing_kg_m2(goal.row_spacing_m, goal.in_row_spacing_m, goal.piece_mass_kg)


def pot_yield_kg(plan: Plan) -> float:
    """Return the expected yield of a pot, the mean over the bench's pots."""
    crop = plan.crop
    total = sum(
        bank.pots * expected_yield_kg(crop.pieces_per_pot, medium_volume_l(plan.nests[bank.nest].shape))
        for bank in plan.banks
    )
    return crop.yield_factor * total / plan.pots


def supply(plan: Plan) -> Supply:
    """Return the pots that the field asks for, from field demand back through every loss to the pot."""
    goal = plan.goal
    wanted = demand(
        goal.field_area_m2,
        seed_rate_kg_m2(goal),
        goal.kept_back_kg,
        goal.loss_cutting,
        goal.loss_storage,
        goal.loss_culling,
    )
    middle = pot_yield_kg(plan)
    low, high = yield_range_kg(middle, goal.season_spread)
    few, expected, many = (pots_needed(wanted.harvest_kg, y, goal.pot_survival) for y in (high, middle, low))
    state: State = "yes" if plan.pots >= many else "watch" if plan.pots >= expected else "no"
    answer = Answer(
        "How many pots does the field ask for?",
        state,
        _words(plan, few, expected, many),
        _numbers(plan, wanted, middle, low, high, (few, expected, many)),
        _warnings(plan),
    )
    return Supply(wanted, middle, low, high, expected, many, few, answer)


def _words(plan: Plan, few: int, expected: int, many: int) -> str:
    start = f"{expected} pots at the expected yield, {few} in a good season, {many} in a poor one; "
    start += f"the bench has {plan.pots}. "
    if plan.pots >= many:
        return start + "Enough even in a poor season."
    if plan.pots >= expected:
        return start + f"Enough in an ordinary season; {many - plan.pots} more pots would also carry a poor one."
    return (
        start + f"{expected - plan.pots} pots short of an ordinary season: part of the field stays without clean seed."
    )


def _numbers(
    plan: Plan, wanted: Demand, middle: float, low: float, high: float, pots: tuple[int, int, int]
) -> tuple[Number, ...]:
    goal, crop, system = plan.goal, plan.crop, plan.units
    few, expected, many = pots
    bench = [
        clean_seed_kg(plan.pots, y, goal.pot_survival, goal.loss_storage, goal.loss_culling)
        for y in (middle, low, high)
    ]
    own = seed_for_pots_kg(plan.pots, crop.pieces_per_pot, goal.piece_mass_kg, goal.loss_cutting)
    area, rate = (
        show(goal.field_area_m2, "field_area", system),
        show(seed_rate_kg_m2(goal), "seed_rate", system),
    )
    return (
        Number("pots needed", expected, "harvest to lift over yield and survival, rounded up", YIELD_SOURCE,
               unit="pots", low=few, high=many),
        Number("pots on the bench", plan.pots, "sum over the banks", "plan", unit="pots"),
        Number("seed to plant in the field", wanted.planted_kg, f"{area} at {rate}", "plan", kind="mass"),
        Number("harvest to lift", wanted.harvest_kg, "seed to plant and to keep back, with losses in cutting, "
               "storage and culling made good", LOSSES_SOURCE, kind="mass"),
        Number("yield of a pot", middle, f"{crop.pieces_per_pot} pieces in the mean medium volume of the bench's nests",
               YIELD_SOURCE, kind="mass", low=low, high=high),
        Number("clean seed from this bench", bench[0], "pots, survival, yield, less storage and culling; uncut",
               LOSSES_SOURCE, kind="mass", low=bench[1], high=bench[2]),
        Number("own seed to plant the pots", own, "pots x pieces x piece mass, over what cutting leaves",
               LOSSES_SOURCE, kind="mass"),
        Number("multiplication", bench[0] / own, "clean seed from the bench over own seed planted", LOSSES_SOURCE,
               unit="to 1", low=bench[1] / own, high=bench[2] / own),
    )  # fmt: skip


def _warnings(plan: Plan) -> tuple[str, ...]:
    warnings = []
    for name, nest in plan.nests.items():
        volume = medium_volume_l(nest.shape)
        crowding = crowding_index(expected_yield_kg(plan.crop.pieces_per_pot, volume) * plan.crop.yield_factor, volume)
        chance = split_probability(crowding)
        if chance >= 0.1:
            warnings.append(
                f"Nest {name!r}: {plan.crop.pieces_per_pot} pieces would fill {number_text(100 * crowding, 2)} % of "
                f"the medium's volume with rhizome; about {number_text(100 * chance, 2)} % of pots may split or be "
                "pressed oval (a guess without data), and a split basin drains the tank. Fewer pieces, larger pots or "
                "an earlier lift help."
            )
    return tuple(warnings)
