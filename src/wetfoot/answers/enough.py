"""How many pots for the certainty that is wanted, what too few and too many cost, and pots that share one water."""

from __future__ import annotations

from wetfoot.answers.money import money_text, pot_cost
from wetfoot.answers.supply import YIELD_SOURCE, Supply, pot_yield_kg
from wetfoot.answers.trace import Answer, Number, State
from wetfoot.plan.model import Plan
from wetfoot.quantities import number_text
from wetfoot.stock.bank_size import cheapest_bank, pots_lost
from wetfoot.stock.enough import best_pots, chance_enough, pots_for_service, stake
from wetfoot.stock.generations import Losses
from wetfoot.stock.money import yearly_cost

ENOUGH_SOURCE = (
    "lognormal season common to all pots, pots that die and differ (random common yield, closed forms and quadrature); "
    "spreads are the plan's"
)
VALVE_MINUTES = 1.0  # to look at a float at a visit: common practice, no source
BANK_SOURCE = "1 - (1 - pi)^(n m), one infected piece taken to cost its whole bank (careful case)"


def losses_of(plan: Plan) -> Losses:
    """Return the plan's losses between lifting and planting."""
    return Losses(plan.goal.loss_culling, plan.goal.loss_storage, plan.goal.loss_cutting)


def enough(plan: Plan, supply: Supply) -> Answer:
    """Return whether the bench's pots are enough with the certainty that the plan asks for."""
    goal, costs = plan.goal, plan.costs
    need, mean = supply.demand.harvest_kg, supply.yield_kg
    chance = chance_enough(plan.pots, need, mean, goal.pot_survival, goal.pot_spread, goal.season_spread)
    wanted = pots_for_service(goal.certainty, need, mean, goal.pot_survival, goal.pot_spread, goal.season_spread)
    state: State = "yes" if chance >= goal.certainty else "watch" if chance >= 0.5 else "no"
    sure, have = f"{100 * goal.certainty:.0f} %", f"{100 * chance:.0f} %"
    words = f"The bench's {plan.pots} pots are enough in {have} of seasons; {wanted} pots would be in {sure}."
    numbers = [
        Number("chance that the seed is enough", 100 * chance, "pots, survival, yield and their spread",
               f"{ENOUGH_SOURCE}; {YIELD_SOURCE}", unit="% of seasons"),
        Number(f"pots for {sure} certainty", wanted or float("inf"), "fewest pots that reach it", ENOUGH_SOURCE,
               unit="pots"),
    ]  # fmt: skip
    if costs.short_per_kg is not None and (one := pot_cost(plan)) is not None:
        words += _cheapest(plan, need, mean, one.value, numbers)
    else:
        words += " With prices for pots, seed short and seed over, the cheapest number of pots is told as well."
    return Answer("Are there enough pots for a poor season too?", state, words, tuple(numbers))


def _cheapest(plan: Plan, need: float, mean: float, one_pot: float, numbers: list[Number]) -> str:
    """Return the words of the number of pots that costs least, and add its numbers."""
    goal, costs = plan.goal, plan.costs
    assert costs.short_per_kg is not None
    kept = losses_of(plan).kept
    short, over = costs.short_per_kg * kept, -(costs.surplus_per_kg or 0.0) * kept
    alive = mean * goal.pot_survival
    try:
        best = best_pots(need, alive, max(goal.season_spread, 0.01), one_pot, short, over)
    except ValueError:
        return " At these prices surplus seed pays for its pots: grow as many as you can sell."
    if best is None:
        return " At these prices a pot costs more than the seed it saves: buying seed is cheaper."
    stakes = [stake(pots, need, alive, max(goal.season_spread, 0.01), one_pot, short, over) for pots in
              (plan.pots, round(best))]  # fmt: skip
    numbers.append(
        Number("pots that cost least", best, f"pot {money_text(plan, one_pot)}, short {costs.short_per_kg:g} and over "
               f"{costs.surplus_per_kg or 0:g} {costs.currency} a kg of seed", ENOUGH_SOURCE, unit="pots")
    )  # fmt: skip
    for name, found in (("mean cost with the bench's pots", stakes[0]), ("mean cost with the cheapest", stakes[1])):
        numbers.append(Number(name, found.cost, "pots, expected shortage and surplus", ENOUGH_SOURCE,
                              unit=costs.currency))  # fmt: skip
    return f" Money alone would plant {number_text(best, 2)} pots."


def bank_size(plan: Plan) -> Answer:
    """Return how many pots may share one water, as a decision about clean stock."""
    goal = plan.goal
    pieces, pi = plan.crop.pieces_per_pot, goal.infected_pieces
    have = [bank.pots for bank in plan.banks]
    lost, single = pots_lost(have, pieces, pi), pots_lost([1] * plan.pots, pieces, pi)
    numbers = [
        Number("pots lost to infection, expected", lost.expected,
               f"{100 * pi:g} % of pieces infected, banks of {min(have)} to {max(have)} pots", BANK_SOURCE,
               unit="pots"),
        Number("spread of that between seasons", lost.sd, "standard deviation", BANK_SOURCE, unit="pots"),
        Number("the same if no pots shared water", single.expected, "each pot a bank of its own", BANK_SOURCE,
               unit="pots"),
    ]  # fmt: skip
    words = (
        f"Expect {number_text(lost.expected, 2)} pots lost a season to an infection of {100 * pi:g} % of pieces, "
        f"{number_text(single.expected, 2)} if no pots shared water."
    )
    valve, loss = _valve_cost(plan), _pot_loss(plan)
    best = cheapest_bank(pieces, pi, valve, loss) if valve is not None and loss is not None else None
    if best is not None and valve is not None and loss is not None:
        words += f" Valves and losses together cost least at about {best} pots a bank."
        how = (
            f"one more valve costs {money_text(plan, valve)} a season with a minute's look at every visit, a lost pot "
            f"{money_text(plan, loss)}"
        )
        numbers.append(Number("pots a bank that cost least", best, how, BANK_SOURCE, unit="pots"))
    state: State = "watch" if max(have) > 2 * (best or 10) else "yes"
    if state == "watch":
        words += " The largest bank is far over that: one piece can cost all of it. Part it with one more valve."
    return Answer("How many pots may share one water?", state, words, tuple(numbers))


def _valve_cost(plan: Plan) -> float | None:
    """Return what one more bank costs a season: its two valves, and the time to look at them."""
    costs = plan.costs
    if costs.float_valve is None:
        return None
    bought = costs.float_valve + (costs.shut_off_valve or 0.0)
    minutes = VALVE_MINUTES * plan.crop.tops_cut_d / plan.visits.every_d
    return yearly_cost(bought, costs.interest, costs.plumbing_years) + (costs.labour_per_hour or 0.0) * minutes / 60.0


def _pot_loss(plan: Plan) -> float | None:
    """Return what a lost pot costs: the clean seed that it would have given."""
    price = plan.costs.seed_per_kg
    return None if price is None else price * pot_yield_kg(plan) * losses_of(plan).kept
