"""What is lost when a pot splits, a microtube comes out or a float sticks, and what each safeguard saves."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from wetfoot.water.bench_parts import BankLines, Supply
from wetfoot.water.bench_tree import BenchTree, bench_tree
from wetfoot.water.day_course import STEP_H, Course, first_time_h, march, with_floats_stuck
from wetfoot.water.network import Demand
from wetfoot.water.tree import CUT, OUTLET, Tree
from wetfoot.water.valve import full_open_flow_l_h

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Fault:
    """One thing that breaks.

    Attributes:
        kind: a split basin; a microtube that came out of its basin and lies on the board; a stuck float.
        bank, pot: which, counted from 0, pots from the sump outwards.
        hole_m: diameter of the hole in the basin.
        height_m: of the hole, or of the microtube's free end, above the basin's inside bottom.
    """

    kind: Literal["pot split", "microtube out", "float open", "float shut"]
    bank: int = 0
    pot: int = 0
    hole_m: float = 0.005
    height_m: float = 0.0


class FirstDry(NamedTuple):
    """The pot that first lacks water, and when."""

    bank: int
    pot: int
    hours: float


@dataclass(frozen=True)
class LeakCourse:
    """What a fault does by time; arrays of pots, one a bank.

    Attributes:
        hours: from the fault, shape (times,).
        tank_l: litres in the tank.
        lost_l: litres that ran to the ground up to each time, less what a saucer holds back.
        drunk_l: litres that the pots drank.
        dry_h: when each pot first cannot drink what it wants, infinite if never.
        empty_h: when the tank is empty, within a step; infinite if it is not.
        missing_l: water unaccounted for (rounding).
    """

    hours: Array
    tank_l: Array
    lost_l: Array
    drunk_l: Array
    dry_h: tuple[Array, ...]
    empty_h: float
    missing_l: float

    @property
    def first_dry(self) -> FirstDry | None:
        """The pot that runs dry first, None if none does."""
        bank = min(range(len(self.dry_h)), key=lambda b: float(self.dry_h[b].min()))
        pot = int(np.argmin(self.dry_h[bank]))
        hours = float(self.dry_h[bank][pot])
        return FirstDry(bank, pot, hours) if math.isfinite(hours) else None


def leak_course(
    banks: Sequence[BankLines],
    supply: Supply,
    peak_demand_l_h: Demand,
    fault: Fault,
    hours: float,
    start_h: float = 0.0,
    shut_off_h: float = math.inf,
    saucer_l: float = 0.0,
    step_h: float = STEP_H,
) -> LeakCourse:
    """Return what a fault does to tank and pots.

    Args:
        banks, supply, peak_demand_l_h: as in `day_course.day_course`; half-sine demand.
        fault: what breaks, with all pots at rest.
        hours: how long nobody mends it.
        start_h: hour of the day at which it breaks.
        shut_off_h: hours until a visitor shuts the faulty bank off.
        saucer_l: what a saucer under the pot holds back; its back pressure is left out, so the loss is no less than
            computed.
        step_h: longest step.

    Raises:
        ValueError: naming what cannot be.
        NotConvergedError: with the state reached.
    """
    bench = with_fault(bench_tree(banks, supply), fault)
    first = march(bench, peak_demand_l_h, min(hours, shut_off_h), start_h, step_h=step_h)
    legs = [first]
    if shut_off_h < hours:
        shut = with_floats_stuck(bench, 0.0, [fault.bank])
        legs.append(march(shut, peak_demand_l_h, hours - shut_off_h, start_h + shut_off_h, first.end, step_h))
    return _leak_course(bench, legs, saucer_l)


def _leak_course(bench: BenchTree, legs: Sequence[Course], saucer_l: float) -> LeakCourse:
    """Return the legs of a course joined, seen as a leak."""
    starts_h = np.cumsum([0.0, *(leg.hours[-1] for leg in legs)])
    hours = np.concatenate([leg.hours + t for leg, t in zip(legs, starts_h[:-1], strict=True)])
    tank = np.concatenate([leg.tank_l for leg in legs])
    depths = [np.concatenate([leg.depth_m[b] for leg in legs]) for b in range(len(bench.pots))]
    leaked = _running([leg.leaked_l for leg in legs])
    dry_m = [bench.tree.dry_depth_m[pots] for pots in bench.pots]
    return LeakCourse(
        hours=hours,
        tank_l=tank,
        lost_l=np.maximum(0.0, leaked - saucer_l) + _running([leg.overflow_l for leg in legs]),
        drunk_l=_running([leg.drunk_l for leg in legs]),
        dry_h=tuple(first_time_h(hours, d - depth) for d, depth in zip(dry_m, depths, strict=True)),
        empty_h=float(first_time_h(hours, 1e-9 * tank[0] - tank[:, None])[0]),
        missing_l=sum(leg.missing_l for leg in legs),
    )


def _running(legs: Sequence[Array]) -> Array:
    """Return the totals of several legs as one running total."""
    before = np.cumsum([0.0, *(leg[-1] for leg in legs)])
    return np.concatenate([leg + b for leg, b in zip(legs, before[:-1], strict=True)])


def with_fault(bench: BenchTree, fault: Fault) -> BenchTree:
    """Return the bench with something broken.

    Raises:
        ValueError: if there is no such bank or pot, or the hole is not above nothing.
    """
    if not 0 <= fault.bank < len(bench.sumps):
        raise ValueError(f"fault.bank must be 0 to {len(bench.sumps) - 1}, not {fault.bank}")
    if fault.kind in ("float open", "float shut"):
        return with_floats_stuck(bench, 1.0 if fault.kind == "float open" else 0.0, [fault.bank])
    if not 0 <= fault.pot < len(bench.pots[fault.bank]):
        raise ValueError(f"fault.pot must be 0 to {len(bench.pots[fault.bank]) - 1}, not {fault.pot}")
    if not (fault.hole_m > 0 and fault.height_m >= 0):
        raise ValueError(f"fault.hole_m must be > 0, height_m >= 0, not {fault.hole_m} and {fault.height_m}")
    return _with_hole(bench, fault) if fault.kind == "pot split" else _with_loose_end(bench, fault)


def _with_hole(bench: BenchTree, fault: Fault, height_m: float | None = None) -> BenchTree:
    """Return the bench with a hole in one basin, which runs by Torricelli."""
    tree, pot = bench.tree, int(bench.pots[fault.bank][fault.pot])
    heights, sizes = tree.hole_height_m.copy(), tree.hole_l_h_m05.copy()
    heights[pot] = tree.bottom_m[pot] + (fault.height_m if height_m is None else height_m)
    sizes[pot] = full_open_flow_l_h(fault.hole_m, 1.0)
    return bench._replace(tree=tree._replace(hole_height_m=heights, hole_l_h_m05=sizes))


def _with_loose_end(bench: BenchTree, fault: Fault) -> BenchTree:
    """Return the bench with one microtube loose: its basin drains at the bottom, its free end runs on the board.

    The free end is a node of its own, where the tube runs to the ground against the friction in it and at its ends.
    """
    bench = _with_hole(bench, fault, 0.0)
    tree, pot = bench.tree, int(bench.pots[fault.bank][fault.pot])
    end = {name: column[pot] for name, column in tree._asdict().items()}
    end |= {"kind": OUTLET, "storage_l_m": 0.0, "weir_height_m": math.inf, "hole_height_m": math.inf}
    end["bottom_m"] = tree.bottom_m[pot] + fault.height_m
    grown = Tree(**{name: np.append(column, end[name]) for name, column in tree._asdict().items()})
    grown.kind[pot] = CUT
    return bench._replace(tree=grown)


@dataclass(frozen=True)
class Safeguard:
    """A safeguard in words, and the fault's course with it."""

    what: str
    course: LeakCourse


def safeguards(
    banks: Sequence[BankLines],
    supply: Supply,
    peak_demand_l_h: float,
    fault: Fault,
    hours: float,
    smaller_seat_m: float,
    visit_h: float,
    saucer_l: float,
    step_h: float = STEP_H,
) -> tuple[Safeguard, ...]:
    """Return the fault's course as the bench is, then with each safeguard by itself.

    Args:
        banks, supply, fault, hours, step_h: as in `leak_course`.
        peak_demand_l_h: one rate for every pot.
        smaller_seat_m: seat of smaller valves in all banks.
        visit_h: hours until a visitor shuts the bank off.
        saucer_l: what a saucer under each pot holds back.
    """

    def course(to_banks: Sequence[BankLines], to: Supply, broken: Fault, **more: float) -> LeakCourse:
        return leak_course(to_banks, to, peak_demand_l_h, broken, hours, step_h=step_h, **more)

    small = [replace(bank, valve_seat_m=smaller_seat_m) for bank in banks]
    half, half_fault = _half_of_banks(banks, fault)
    half_tank = replace(supply, volume_l=supply.volume_l / 2.0)
    found = [
        Safeguard("as it is", course(banks, supply, fault)),
        Safeguard(f"valve seats of {1e3 * smaller_seat_m:g} mm", course(small, supply, fault)),
        Safeguard(f"bank shut off after {visit_h:g} h", course(banks, supply, fault, shut_off_h=visit_h)),
        Safeguard("tank split in two, half of the banks on each", course(half, half_tank, half_fault)),
    ]
    if fault.kind in ("pot split", "microtube out"):
        saucers = course(banks, supply, fault, saucer_l=saucer_l)
        found.append(Safeguard(f"saucers that hold {saucer_l:g} L", saucers))
    return tuple(found)


def _half_of_banks(banks: Sequence[BankLines], fault: Fault) -> tuple[list[BankLines], Fault]:
    """Return the faulty half of the banks, and the fault with its bank counted among them."""
    half = math.ceil(len(banks) / 2)
    first = 0 if fault.bank < half else len(banks) - half
    return list(banks[first : first + half]), replace(fault, bank=fault.bank - first)
