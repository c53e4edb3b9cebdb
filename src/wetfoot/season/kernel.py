"""The season's equations compiled: the same steps as `reference`, in the same order, for any number of banks.

The columns of the results are those of `columns`; numba freezes them as constants. Tables are read from the row of
the last time, as water moves little in an hour. What the hourly steps read of a bank, and its state, are records: the
compiler counts no references to them, which would cost more than the arithmetic. Arithmetic is strict: were the
compiler free to take sums in any order, code fresh from it and code from its cache would differ in the last digit.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

from wetfoot.season import columns as c
from wetfoot.season.bench import Bench
from wetfoot.season.days import Days, empty_days
from wetfoot.season.drivers import Drivers
from wetfoot.season.kernel_days import end_of_bank_day, end_of_tank_day, plant, visit
from wetfoot.season.kernel_parts import (
    FREE_HELD,
    FREE_PER_TOTAL,
    LEVEL,
    LEVEL_PER_TOTAL,
    TOTAL,
    TOTAL_PER_LEVEL,
    move_species,
    near,
    read,
    tables_of,
)

# of a bank, as in `Bench`, with what can be divided beforehand; ``floor_l`` is what its nest holds at its driest
FIXED = np.dtype([(name, float) for name in (
    "pots", "set_level_m", "set_l", "overflow_l", "dry_l", "per_stress_l", "decay_at_rest", "resistance_m_h_l",
    "catch_medium_m2", "catch_gap_m2", "leak_l", "floor_l", "per_pot", "hours_per_resistance",
)])  # fmt: skip
# The mean pot of a bank as in `reference.Pot`, then rows of tables, what a step asks for, and what of its stores
# the step moves: drunk from the medium, leaked, risen into the medium (sunk if negative), spilled.
POT = np.dtype([
    *((name, float) for name in ("free_l", "medium_l", "level_m", "top_ms_cm", "holes", "open_h")),
    ("held_row", int),
    ("settled_row", int),
    *((name, float) for name in ("share", "leak_l", "wanted_l")),
    *((name, float) for name in ("inflow_l", "drunk_part", "leak_part", "moved_part", "spill_part")),
])  # fmt: skip


def simulate(bench: Bench, drivers: Drivers, by_day: bool = True) -> Days:
    """Return the season's daily results as `reference.simulate` does, many times faster.

    Args:
        bench: the bench.
        drivers: what drives it.
        by_day: whether species are wanted day by day, or summed over the season (and as they are at its end).
    """
    days, banks, species = len(drivers.rain_mm), len(bench.pots), len(bench.charge)
    slots = np.arange(days) if by_day else np.zeros(days, dtype=np.int64)
    found = empty_days(days, int(slots[-1]) + 1, banks, species)
    pots, mmol, tank_mmol = np.zeros(banks, POT), np.zeros((banks, 2, species)), np.zeros(species)
    fixed = _fixed(bench, 24.0 / len(drivers.demand_share))
    _simulate(bench, drivers, fixed, tables_of(bench), pots, mmol, tank_mmol, slots, *found)
    return found


def _fixed(bench: Bench, hours: float) -> NDArray[np.void]:
    fixed = np.zeros(len(bench.pots), FIXED)
    ready = {
        "per_stress_l": 1.0 / (bench.stress_l - bench.dry_l),
        "decay_at_rest": np.exp(-hours / (bench.resistance_m_h_l * bench.storage_l_m)),
        "leak_l": bench.leak_l_h * hours / bench.pots,
        "floor_l": bench.total_l[:, 0],
        "per_pot": 1.0 / bench.pots,
        "hours_per_resistance": hours / bench.resistance_m_h_l,
    }
    for name in FIXED.names or ():
        fixed[name] = ready[name] if name in ready else getattr(bench, name)
    return fixed


@njit(cache=True, error_model="numpy", nogil=True)
def _simulate(  # type: ignore[no-untyped-def]
    bench, drivers, fixed, tables, pots, mmol, tank, slots, bank_days, tank_days, bank_mmol, tank_mmol
):
    strength = np.zeros_like(tank)
    tank_l = plant(bench, pots, mmol, tank)
    for day in range(len(slots)):
        tank_day, rows, moved = tank_days[day], bank_days[day], bank_mmol[slots[day]]
        rows[:, c.LEVEL_MIN_M], rows[:, c.LEVEL_MAX_M], rows[:, c.LEAST_UPTAKE_SHARE] = np.inf, -np.inf, 1.0
        if drivers.visit[day]:
            tank_l = visit(bench, pots, mmol, tank_l, tank, tank_day, rows, tank_mmol[slots[day]], moved)
        for b in range(len(pots)):
            pots[b].holes += drivers.new_holes[day, b]
        for i in range(len(tank)):  # between visits the tank's solution keeps its strength
            strength[i] = tank[i] / tank_l if tank_l > 0 else 0.0
        tank_l = _day(
            day, fixed, tables, bench.valve_l_h, pots, mmol, tank_l, strength, tank_day, rows, moved,
            drivers.transpiration_l, drivers.evaporation_l, drivers.demand_share,
            drivers.rain_mm[day], drivers.rain_share, drivers.supply_open[day], drivers.shut_off_h,
            (bench.tank_full_l, bench.tank_unusable_l), bench.uptake_ratio, bench.charge,
        )  # fmt: skip
        end_of_tank_day(bench, tank_l, strength, tank, tank_day, tank_mmol[slots[day]])
        end_of_bank_day(
            bench.scale_plain_ms_cm, bench.scale_ec_ms_cm, bench.conductance_ms_cm, bench.acid_ms_cm,
            bench.elements_mg, bench.top_l, bench.catch_medium_m2, drivers.rain_mm[day],
            strength, pots, mmol, rows, moved,
        )  # fmt: skip


@njit(cache=True, error_model="numpy")
def _day(  # type: ignore[no-untyped-def]
    day, fixed, tables, valve_l_h, pots, mmol, tank_l, strength, tank_day, rows, moved,
    transpiration_l, evaporation_l, demand_share, rain_mm, rain_share, supply_open, shut_off_h,
    tank_bounds, uptake_ratio, charge,
):  # fmt: skip
    """Move the whole bench through the steps of a day; return the litres in the tank."""
    steps, full_l, unusable_l = len(demand_share), tank_bounds[0], tank_bounds[1]
    hours, last = 24.0 / steps, valve_l_h.shape[1] - 1
    per_hour = 1.0 / hours
    tank_day[c.TANK_MIN_L] = tank_l
    for step in range(steps):
        demand, rain, drawn = demand_share[step], rain_mm * rain_share[step], 0.0
        place = min(max(tank_l / full_l, 0.0), 1.0) * last
        below = min(int(place), last - 1)
        for b in range(len(pots)):
            bank, pot = fixed[b], pots[b]
            asked = (transpiration_l[day, b] + evaporation_l[day, b]) * demand
            _ask(bank, pot, asked)
            pot.wanted_l = 0.0
            if supply_open and not (pot.holes > 0 and pot.open_h >= shut_off_h):
                rain_l = rain * (bank.catch_medium_m2 + bank.catch_gap_m2)
                net_l = max(0.0, pot.share * asked + pot.leak_l - rain_l)
                inflow = _inflow_l(bank, pot, tables, b, net_l, per_hour) * bank.pots
                low, high = valve_l_h[b, below], valve_l_h[b, below + 1]
                pot.wanted_l = min(max(inflow, 0.0), (low + (high - low) * (place - below)) * hours)
            drawn += pot.wanted_l
        usable = max(tank_l - unusable_l, 0.0)
        granted = min(1.0, usable / drawn) if drawn > 0 else 1.0
        for b in range(len(pots)):
            bank, pot = fixed[b], pots[b]
            inflow = pot.wanted_l * granted * bank.per_pot
            thirst, drying = transpiration_l[day, b] * demand, evaporation_l[day, b] * demand
            _step(bank, pot, tables, rows, b, inflow, rain, thirst, drying)
            if pot.holes > 0:
                pot.open_h += hours
        move_species(mmol, strength, uptake_ratio, charge, moved, pots)
        tank_l -= drawn * granted
        tank_day[c.TANK_MIN_L] = min(tank_day[c.TANK_MIN_L], tank_l)
        tank_day[c.DRAWN_L] += drawn * granted
        tank_day[c.SHORT_L] += drawn * (1.0 - granted)
    return tank_l


@njit(cache=True, error_model="numpy", forceinline=True)
def _ask(bank, pot, demand_l):  # type: ignore[no-untyped-def]
    """Set a bank's share of full uptake and its leak (see `reference._flows`)."""
    held = pot.free_l + pot.medium_l
    share = min(max((held - bank.dry_l) * bank.per_stress_l, 0.0), 1.0)
    there = max(held - bank.floor_l, 0.0)
    if share * demand_l > there:
        share = there / demand_l
    pot.share, pot.leak_l = share, 0.0
    if pot.holes > 0:
        pot.leak_l = pot.holes * bank.leak_l * min(max(pot.level_m / bank.set_level_m, 0.0), 1.0)


@njit(cache=True, error_model="numpy", forceinline=True)
def _inflow_l(bank, pot, tables, b, net_l, per_hour):  # type: ignore[no-untyped-def]
    """Return what a float with a valve of any size lets into a pot in one step (see `reference._inflow_l`)."""
    held = pot.free_l + pot.medium_l
    fall, missing = bank.set_level_m - pot.level_m, bank.set_l - held
    left = bank.decay_at_rest
    if fall > 0.001:
        left = math.exp(-bank.hours_per_resistance * fall / missing)
    settled_level = bank.set_level_m - bank.resistance_m_h_l * (net_l * per_hour)
    pot.settled_row = near(settled_level, tables, b, LEVEL, pot.settled_row)
    settled = read(settled_level, tables, b, LEVEL, TOTAL, TOTAL_PER_LEVEL, pot.settled_row)
    return (settled - held) * (1.0 - left) + net_l


@njit(cache=True, error_model="numpy", forceinline=True)
def _step(bank, pot, tables, rows, b, inflow, rain_mm, thirst_l, drying_l):  # type: ignore[no-untyped-def]
    """Move the water of one pot through one step, and note what of its stores moves (see `reference._step`)."""
    rain_medium, rain_gap = rain_mm * bank.catch_medium_m2, rain_mm * bank.catch_gap_m2
    uptake, evaporation = pot.share * thirst_l, pot.share * drying_l
    free = pot.free_l + inflow + rain_gap
    leak = min(pot.leak_l, free)
    pot.leak_part = leak / free if leak > 0 else 0.0
    free -= leak
    pot.inflow_l = inflow
    pot.drunk_part = uptake / pot.medium_l if uptake > 0 else 0.0
    medium = pot.medium_l + rain_medium - uptake - evaporation
    held = min(free + medium, bank.overflow_l)
    spilled = free + medium - held
    pot.held_row = near(held, tables, b, TOTAL, pot.held_row)
    free_end = read(held, tables, b, TOTAL, FREE_HELD, FREE_PER_TOTAL, pot.held_row)
    level = read(held, tables, b, TOTAL, LEVEL, LEVEL_PER_TOTAL, pot.held_row)
    upward = held - free_end - medium
    pot.moved_part = upward / (free if upward > 0 else medium)
    pot.spill_part = spilled / (free_end + spilled) if spilled > 0 else 0.0
    pot.free_l, pot.medium_l, pot.level_m = free_end, held - free_end, level
    rows[b, c.LEVEL_MIN_M] = min(rows[b, c.LEVEL_MIN_M], level)
    rows[b, c.LEVEL_MAX_M] = max(rows[b, c.LEVEL_MAX_M], level)
    rows[b, c.LEAST_UPTAKE_SHARE] = min(rows[b, c.LEAST_UPTAKE_SHARE], pot.share)
    rows[b, c.INFLOW_L] += inflow
    rows[b, c.UPTAKE_L] += uptake
    rows[b, c.EVAPORATION_L] += evaporation
    if rain_mm > 0 or spilled > 0 or leak > 0:
        rows[b, c.RAIN_L] += rain_medium + rain_gap
        rows[b, c.OVERFLOW_L] += spilled
        rows[b, c.LEAKED_L] += leak
