"""Pots that split as the rhizome fills them, and leak until somebody closes them."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wetfoot.crop.splitting import crowding_index, split_probability
from wetfoot.crop.yields import LN_YIELD_SD, expected_yield_kg
from wetfoot.plan.model import Bank, Plan
from wetfoot.season.bench import Bench
from wetfoot.season.bench_lines import lines_of, supply_of
from wetfoot.water.bench_parts import BankLines
from wetfoot.water.leaks import Fault, leak_course
from wetfoot.water.nest import medium_volume_l

Array = NDArray[np.float64]

GROWTH_HALF_D, GROWTH_SPREAD_D = 170.0, 25.0  # project handbook: a proposal
SETTLED_H, MEASURED_H = 3.0, 6.0
NEVER = -1


@dataclass(frozen=True)
class Splits:
    """How pots split, and what stands between a split and an empty tank.

    Smaller valve seats and shorter visits are changes of the plan. The same seed splits the same pots with any of them.

    Attributes:
        hole_m: a split basin leaks like a round hole of this diameter at its bottom (estimate).
        basin_share: of the pots that split, how many crack the basin they stand in and leak (a guess without data).
        shut_off_h: hours after which somebody shuts a leaking bank off, if no visit comes before; its pots then live
            on what they hold. A visit closes every leak.
        saucer_l: what a saucer under the pot holds back of a leak; it does not stop it.
    """

    hole_m: float = 0.01
    basin_share: float = 0.25
    shut_off_h: float = math.inf
    saucer_l: float = 0.0


def rhizome_growth(day: ArrayLike) -> Array:
    """Return the rhizome on a day after planting over that full grown: W/Wmax = 1 / (1 + exp(-(t - 170) / 25)).

    A proposal of the project handbook (agronomy 1.3), to be replaced by weighings.
    """
    return np.asarray(1.0 / (1.0 + np.exp(-(np.asarray(day, dtype=float) - GROWTH_HALF_D) / GROWTH_SPREAD_D)))


def leak_chance_by_day(plan: Plan, bank: Bank, splits: Splits, yield_z: float = 0.0) -> Array:
    """Return the chance that a pot of a bank has cracked its basin by each day; shape (days,), never falling.

    Args:
        plan: the plan.
        bank: one of its banks.
        splits: how pots split.
        yield_z: how many times its spread (`crop.yields.LN_YIELD_SD`) the season's log yield is off the expected one.
    """
    medium_l = medium_volume_l(plan.nests[bank.nest].shape)
    full_kg = expected_yield_kg(plan.crop.pieces_per_pot, medium_l) * plan.crop.yield_factor
    full_kg *= math.exp(LN_YIELD_SD * yield_z)
    crowding = [crowding_index(float(kg), medium_l) for kg in full_kg * rhizome_growth(np.arange(plan.crop.season_d))]
    return np.array([splits.basin_share * split_probability(index) for index in crowding])


def split_days(plan: Plan, splits: Splits, random: np.random.Generator) -> NDArray[np.int16]:
    """Return the day after planting on which each pot of the plan begins to leak, `NEVER` if it does not.

    Args:
        plan: the plan.
        splits: how pots split.
        random: where the season's yield and each pot's luck come from, in this order.

    Returns:
        Shape (pots,), bank by bank.
    """
    yield_z = float(random.standard_normal())
    luck = random.random(plan.pots)
    chances: dict[str, Array] = {}
    days, start = [], 0
    for bank in plan.banks:
        if bank.nest not in chances:
            chances[bank.nest] = leak_chance_by_day(plan, bank, splits, yield_z)
        day = np.searchsorted(chances[bank.nest], luck[start : start + bank.pots])
        days.append(np.where(day < plan.crop.season_d, day, NEVER))
        start += bank.pots
    return np.concatenate(days).astype(np.int16)


def holes_by_day(plan: Plan, days: NDArray[np.int16]) -> Array:
    """Return how many pots of each bank begin to leak on each day; shape (days, banks)."""
    holes = np.zeros((plan.crop.season_d, len(plan.banks)))
    split = days != NEVER
    np.add.at(holes, (days[split], bank_of_pot(plan)[split]), 1.0)
    return holes


def bank_of_pot(plan: Plan) -> NDArray[np.int64]:
    """Return the bank of each pot, counted from 0."""
    return np.repeat(np.arange(len(plan.banks)), [bank.pots for bank in plan.banks])


def with_leaks(bench: Bench, plan: Plan, splits: Splits) -> Bench:
    """Return the bench with what a split pot of each bank leaks while the supply holds the set level.

    Raises:
        NotConvergedError: if the network of tubes cannot be solved.
    """
    lines, found = lines_of(plan), dict[BankLines, float]()
    for at, bank in enumerate(lines):
        if bank not in found:
            found[bank] = _leak_l_h(plan, lines, at, splits.hole_m)
    return bench._replace(leak_l_h=np.array([found[bank] for bank in lines]))


def _leak_l_h(plan: Plan, lines: tuple[BankLines, ...], bank: int, hole_m: float) -> float:
    """Return what runs from a split pot in the middle of a bank once its basin has drained, with no other draw."""
    fault = Fault("pot split", bank, lines[bank].pots // 2, hole_m)
    course = leak_course(lines, supply_of(plan), 0.0, fault, MEASURED_H)
    lost = np.interp([SETTLED_H, MEASURED_H], course.hours, course.lost_l)
    return float(lost[1] - lost[0]) / (MEASURED_H - SETTLED_H)
