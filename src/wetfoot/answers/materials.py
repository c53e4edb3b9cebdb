"""What to buy: every part with its size and count, and what it costs where a price is given."""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass

from wetfoot.answers.solution import Mix
from wetfoot.answers.trace import Number
from wetfoot.crop.calendar import visit_days
from wetfoot.plan.model import Nest, Plan, Vessel
from wetfoot.quantities import System, convert, mass_kind, show, unit_label
from wetfoot.stock.supply import seed_for_pots_kg
from wetfoot.water.nest import medium_volume_l

SPARE_TUBE = 0.10  # of each tube's length, for cuts and mistakes: common practice, no source
SPARE_MEDIUM = 0.15  # for settling and for topping up: common practice, no source


@dataclass(frozen=True)
class Item:
    """One line of the bill: what, its size, how many of which unit, price of one, and the cost if priced.

    ``amount`` is in the base unit of ``kind``, or a count where ``kind`` is empty.
    """

    group: str
    name: str
    size: str
    amount: float
    kind: str
    price: float | None

    @property
    def cost(self) -> float | None:
        """Amount times price, where there is a price."""
        return None if self.price is None else self.price * self.amount

    def amount_text(self, system: System) -> str:
        """Return the amount with its unit."""
        return show(self.amount, self.kind, system) if self.kind else f"{self.amount:,.0f}"

    def price_text(self, system: System, currency: str) -> str:
        """Return the price of one unit, of the unit that people buy by (the plan has it per litre, metre, kilogram)."""
        if self.price is None:
            return "no price given"
        if not self.kind:
            return f"{self.price:,.2f} {currency}"
        bought_by = "mass" if self.kind in ("small_mass", "fine_mass") else self.kind
        price = self.price / float(convert(1.0, bought_by, system))
        return f"{price:,.2f} {currency}/{unit_label(bought_by, system)}"


@dataclass(frozen=True)
class Bill:
    """The items, and what those with a price cost together."""

    items: tuple[Item, ...]
    total: Number
    unpriced: tuple[str, ...]


def bill(plan: Plan, mix: Mix) -> Bill:
    """Return what the bench and its season need."""
    items = (*_nests(plan), *_plumbing(plan), *_season(plan, mix))
    total = sum(item.cost or 0.0 for item in items)
    unpriced = tuple(item.name for item in items if item.price is None)
    how = "sum of amount times price over the priced items" + (f"; {len(unpriced)} without a price" if unpriced else "")
    return Bill(
        items,
        Number("cost of bench and season", total, how, "prices of the plan", unit=plan.costs.currency),
        unpriced,
    )


def _nests(plan: Plan) -> list[Item]:
    costs, system, pots = plan.costs, plan.units, defaultdict[str, int](int)
    for bank in plan.banks:
        pots[bank.nest] += bank.pots
    items = []
    for name, count in pots.items():
        nest = plan.nests[name]
        group = f"Nests ({name})" if len(pots) > 1 else "Nests"
        items += [
            Item(group, "basin, no holes but the overflow", _size(nest.basin, system), count, "", costs.basin),
            Item(group, "growing pot with holes", _size(nest.pot, system), count, "", costs.pot),
        ]
        if nest.dome:
            items.append(Item(group, "pot for the dome, with holes", _size(nest.dome, system), count, "", costs.dome))
        items.append(_medium(group, nest, count, costs.medium_per_litre))
    wrapped = sum(bank.pots for bank in plan.banks if bank.wrap != "none")
    if wrapped:
        items.append(Item("Nests", "white wrap or shade for a pot", "", wrapped, "", costs.wrap_per_pot))
    return items


def _medium(group: str, nest: Nest, count: int, price: float | None) -> Item:
    litres = medium_volume_l(nest.shape) * count * (1.0 + SPARE_MEDIUM)
    return Item(
        group,
        f"medium: {nest.medium}",
        f"{100 * SPARE_MEDIUM:.0f} % for settling and topping up",
        litres,
        "volume",
        price,
    )


def _size(vessel: Vessel, system: System) -> str:
    top, bottom, height = (
        show(value, "depth", system) for value in (vessel.top_diameter_m, vessel.bottom_diameter_m, vessel.height_m)
    )
    return f"inside {bottom} bottom, {top} top, {height} high"


def _plumbing(plan: Plan) -> list[Item]:
    costs, system, tank = plan.costs, plan.units, plan.tank
    valves, laterals, micro = (
        defaultdict[float, int](int),
        defaultdict[float, float](float),
        defaultdict[float, float](float),
    )
    for bank in plan.banks:
        valves[bank.valve_seat_m] += 1
        laterals[bank.lateral_bore_m] += bank.lateral_length_m * (1.0 + SPARE_TUBE)
        micro[bank.microtube_bore_m] += bank.microtube_length_m * bank.pots * (1.0 + SPARE_TUBE)
    line = plan.supply_line
    pots = plan.pots

    def tube(name: str, bore_m: float, length_m: float, price: float | None) -> Item:
        size = f"inside {show(bore_m, 'bore', system)}, opaque"
        return Item("Plumbing", name, size, math.ceil(length_m), "distance", price)

    full = f"{show(tank.volume_l, 'volume', system)}, lid and screen"
    return [
        Item("Plumbing", "tank, opaque", full, 1, "", costs.tank),
        tube("supply line", line.bore_m, line.length_m * (1.0 + SPARE_TUBE), costs.supply_line_per_metre),
        *[tube("lateral", bore, length, costs.lateral_per_metre) for bore, length in laterals.items()],
        *[tube("microtube", bore, length, costs.microtube_per_metre) for bore, length in micro.items()],
        *[
            Item("Plumbing", "float valve with sump, one spare", f"seat {show(seat, 'bore', system)}", count + 1, "",
                 costs.float_valve)
            for seat, count in valves.items()
        ],
        Item("Plumbing", "shut-off valve", "each bank, and the tank", len(plan.banks) + 1, "", costs.shut_off_valve),
        Item("Plumbing", "screen filter, 120 mesh", "at the tank's outlet", 1, "", None),
        Item("Plumbing", "microtube fitting", "one a pot and a tenth spare", math.ceil(pots * 1.1), "", None),
    ]  # fmt: skip


def _season(plan: Plan, mix: Mix) -> list[Item]:
    costs, goal, crop = plan.costs, plan.goal, plan.crop
    seed = seed_for_pots_kg(plan.pots, crop.pieces_per_pot, goal.piece_mass_kg, goal.loss_cutting)
    visits = len(visit_days(plan.visits.every_d, crop.season_d))
    hours = visits * plan.visits.minutes / 60.0
    salts = [
        Item(
            "Season",
            name,
            "for the stocks",
            kg,
            mass_kind(kg, plan.units),
            costs.salts_per_kg.get(name),
        )
        for name, kg in mix.salts_kg.items()
    ]
    return [
        Item("Season", "clean seed", f"{crop.pieces_per_pot} pieces a pot", seed, "mass", costs.seed_per_kg),
        *salts,
        Item(
            "Season",
            "labour of visits, hours",
            f"{visits} visits of {plan.visits.minutes:g} minutes",
            hours,
            "",
            costs.labour_per_hour,
        ),
    ]
