"""The years from a first set of clean pots: what is planted, lifted and stored, and what is left for the field."""

from __future__ import annotations

import calendar
import math
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

from wetfoot.answers.enough import losses_of
from wetfoot.answers.supply import pot_yield_kg, supply
from wetfoot.plan.model import Plan
from wetfoot.stock.generations import chain, stored_kg
from wetfoot.water.nest import medium_volume_l

DAYS_PER_MONTH = 365.25 / 12.0
LARGEST_POTS = 1_000_000


@dataclass(frozen=True)
class Start:
    """What there is to begin with: clean pots, what such a pot gives if not the usual yield, and how far to look."""

    pots: int = 12
    pot_yield_kg: float | None = None
    years: int = 5


@dataclass(frozen=True)
class Year:
    """One generation.

    Attributes:
        planted: the day; ``lifted`` and ``ready``, when its seed is planted, likewise.
        pots: how many; ``pieces`` and ``planted_kg`` what goes into them, cut; ``medium_l`` their medium.
        harvest_kg: lifted; ``stored_kg`` after culling; ``left_kg`` after storage; ``seed_kg`` after cutting.
        kept_kg: of the seed, for the pots of the next year.
        field_kg: of the seed, for the field.
        field_share: of what the field asks for.
    """

    planted: date
    lifted: date
    ready: date
    pots: int
    pieces: int
    planted_kg: float
    medium_l: float
    harvest_kg: float
    stored_kg: float
    left_kg: float
    seed_kg: float
    kept_kg: float
    field_kg: float
    field_share: float


def years_of(plan: Plan, start: Start, pots: int, yield_kg: float | None = None) -> tuple[Year, ...]:
    """Return the generations with at most so many pots from the second on, each with its days and its medium.

    Args:
        plan: losses, pieces and days are the plan's.
        start: the first pots.
        pots: the most there are.
        yield_kg: of a pot that lives; the plan's expected one if not given.
    """
    goal, crop = plan.goal, plan.crop
    usual = yield_kg if yield_kg is not None else pot_yield_kg(plan)
    first = start.pot_yield_kg if start.pot_yield_kg is not None else usual * goal.pot_survival
    losses, mass = losses_of(plan), goal.piece_mass_kg
    found = chain(start.pots, first, usual, goal.pot_survival, losses, crop.pieces_per_pot, mass, start.years + 1, pots)
    need, medium = supply(plan).demand.planted_kg, _medium_l(plan)
    years = []
    for index, (each, after) in enumerate(pairwise(found)):
        kept = after.pots * crop.pieces_per_pot * mass
        field = max(each.seed_kg - kept, 0.0)
        stored = each.harvest_kg * (1.0 - goal.loss_culling)
        pieces = each.pots * crop.pieces_per_pot
        years.append(
            Year(
                in_later_year(crop.planting, index), in_later_year(crop.harvest, index),
                in_later_year(goal.field_planting, index),
                each.pots, pieces, pieces * mass, each.pots * medium, each.harvest_kg, stored,
                stored * (1.0 - goal.loss_storage), each.seed_kg, kept, field, min(field / need, 1.0) if need else 1.0,
            )
        )  # fmt: skip
    return tuple(years)


def _medium_l(plan: Plan) -> float:
    """Return the medium of a pot, the mean over the bench."""
    return sum(bank.pots * medium_volume_l(plan.nests[bank.nest].shape) for bank in plan.banks) / plan.pots


def most_pots(plan: Plan, start: Start) -> int:
    """Return the pots whose seed plants the field and the same pots again: more than these would grow for nobody."""
    goal, crop = plan.goal, plan.crop
    a_pot = pot_yield_kg(plan) * goal.pot_survival * losses_of(plan).kept
    own = crop.pieces_per_pot * goal.piece_mass_kg
    need = supply(plan).demand.planted_kg + goal.kept_back_kg * (1.0 - goal.loss_cutting)
    return max(math.ceil(need / (a_pot - own)), 1) if a_pot > own else LARGEST_POTS


def in_later_year(day: date, years: int) -> date:
    """Return the same day of a later year; of 29 February the last of the month."""
    year = day.year + years
    return day.replace(year=year, day=min(day.day, calendar.monthrange(year, day.month)[1]))


def reached(years: tuple[Year, ...]) -> int | None:
    """Return the first year, from 1, whose seed plants the whole field; None if none does."""
    return next((number for number, year in enumerate(years, start=1) if year.field_share >= 1.0 - 1e-9), None)


def in_store(plan: Plan, years: tuple[Year, ...]) -> list[tuple[date, float]]:
    """Return the kilograms in store, from lifting to planting month by month, for all years."""
    found: list[tuple[date, float]] = []
    for year in years:
        days = max((year.ready - year.lifted).days, 1)
        rate = -math.log(1.0 - plan.goal.loss_storage) / (days / DAYS_PER_MONTH)
        steps = [*range(0, days, 15), days]
        found += [(year.lifted + timedelta(days=d), stored_kg(year.stored_kg, d / DAYS_PER_MONTH, rate, 0.0))
                  for d in steps]  # fmt: skip
    return found
