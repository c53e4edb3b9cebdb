"""The season's equations compiled: the same steps as `reference`, in the same order, for any number of banks.

The columns of the results are those of `columns`; numba freezes them as constants.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray

from wetfoot.season import columns as c
from wetfoot.season.bench import Bench
from wetfoot.season.drivers import Drivers

Array = NDArray[np.float64]


def simulate(bench: Bench, drivers: Drivers) -> tuple[Array, Array]:
    """Return the season's daily results as `reference.simulate` does, many times faster."""
    days, banks = len(drivers.rain_mm), len(bench.pots)
    bank_days, tank_days = np.zeros((days, banks, c.BANK_COLUMNS)), np.zeros((days, c.TANK_COLUMNS))
    _simulate(bench, drivers, bank_days, tank_days)
    return bank_days, tank_days


def _compiled(function: Any) -> Any:
    return njit(cache=True, error_model="numpy")(function)


@_compiled
def _row(x, xs):  # type: ignore[no-untyped-def]
    """Return the row below x in a rising table, so that rows and the next bracket it."""
    low, high = 0, len(xs) - 1
    while high - low > 1:
        middle = (low + high) // 2
        if xs[middle] <= x:
            low = middle
        else:
            high = middle
    return low


@_compiled
def _interp(x, xs, ys):  # type: ignore[no-untyped-def]
    """Linear interpolation, flat outside the table as numpy.interp."""
    if x <= xs[0]:
        return ys[0]
    if x >= xs[-1]:
        return ys[-1]
    i = _row(x, xs)
    return ys[i] + (ys[i + 1] - ys[i]) * (x - xs[i]) / (xs[i + 1] - xs[i])


@_compiled
def _inflow_l(bench, b, held, net, hours, tank_l):  # type: ignore[no-untyped-def]
    """Return what the float lets into a pot in one step (see `reference._inflow_l`)."""
    resistance = bench.resistance_m_h_l[b]
    fall = bench.set_level_m[b] - _interp(held, bench.total_l[b], bench.level_m[b])
    storage = (bench.set_l[b] - held) / fall if fall > 0.001 else bench.storage_l_m[b]
    settled = _interp(bench.set_level_m[b] - resistance * net, bench.level_m[b], bench.total_l[b])
    inflow = settled + (held - settled) * math.exp(-hours / (resistance * storage)) - held + net * hours
    last = bench.valve_l_h.shape[1] - 1
    place = min(max(tank_l / bench.tank_full_l, 0.0), 1.0) * last
    i = min(int(place), last - 1)
    valve = bench.valve_l_h[b]
    most = (valve[i] + (valve[i + 1] - valve[i]) * (place - i)) * hours / bench.pots[b]
    return min(max(inflow, 0.0), most)


@_compiled
def _simulate(bench, drivers, bank_days, tank_days):  # type: ignore[no-untyped-def]
    days, steps, banks = len(drivers.rain_mm), len(drivers.demand_share), len(bench.pots)
    stores, wanted, shares = np.empty((banks, 4)), np.empty(banks), np.empty(banks)
    for b in range(banks):
        free = _interp(bench.set_l[b], bench.total_l[b], bench.free_l[b])
        stores[b, 0], stores[b, 1] = free, bench.set_l[b] - free
        stores[b, 2], stores[b, 3] = stores[b, 0] * bench.target_meq_l, stores[b, 1] * bench.target_meq_l
    tank_l, tank_meq = bench.tank_full_l, bench.tank_full_l * bench.target_meq_l
    for day in range(days):
        tank, rows = tank_days[day], bank_days[day]
        rows[:, c.LEVEL_MIN_M], rows[:, c.LEVEL_MAX_M], rows[:, c.LEAST_UPTAKE_SHARE] = np.inf, -np.inf, 1.0
        if drivers.visit[day]:
            tank_l, tank_meq = _visit(bench, stores, tank_l, tank_meq, tank, rows)
        tank[c.TANK_MIN_L] = tank_l
        for step in range(steps):
            drawn = _asked(bench, drivers, stores, day, step, tank_l, shares, wanted)
            usable = max(tank_l - bench.tank_unusable_l, 0.0)
            granted = min(1.0, usable / drawn) if drawn > 0 else 1.0
            strength = tank_meq / tank_l if tank_l > 0 else 0.0
            for b in range(banks):
                _step(bench, drivers, b, day, step, shares[b], wanted[b] * granted, strength, stores[b], rows[b])
            tank_l -= drawn * granted
            tank_meq -= drawn * granted * strength
            tank[c.TANK_MIN_L] = min(tank[c.TANK_MIN_L], tank_l)
            tank[c.DRAWN_L] += drawn * granted
            tank[c.SHORT_L] += drawn * (1.0 - granted)
        tank[c.TANK_END_L], tank[c.TANK_SALT_MEQ] = tank_l, tank_meq
        for b in range(banks):
            rows[b, c.FREE_L], rows[b, c.MEDIUM_L] = stores[b, 0], stores[b, 1]
            rows[b, c.SALT_FREE_MEQ], rows[b, c.SALT_MEDIUM_MEQ] = stores[b, 2], stores[b, 3]
            rows[b, c.LEVEL_END_M] = _interp(stores[b, 0] + stores[b, 1], bench.total_l[b], bench.level_m[b])


@_compiled
def _visit(bench, stores, tank_l, tank_meq, tank, rows):  # type: ignore[no-untyped-def]
    """Fill the tank to its target and feed rained-out banks (see `reference._refill` and `reference._fed`)."""
    added = bench.tank_full_l - tank_l
    with_source = tank_meq + added * bench.source_meq_l
    stock = max(0.0, bench.target_meq_l * bench.tank_full_l - with_source)
    tank[c.WATER_ADDED_L] += added
    tank[c.SOURCE_SALT_MEQ] += added * bench.source_meq_l
    tank[c.STOCK_SALT_MEQ] += stock
    for b in range(len(stores)):
        if stores[b, 2] < bench.feed_below_meq_l * stores[b, 0]:
            rows[b, c.SALT_FED_MEQ] = bench.target_meq_l * stores[b, 0] - stores[b, 2]
            stores[b, 2] += rows[b, c.SALT_FED_MEQ]
    return bench.tank_full_l, with_source + stock


@_compiled
def _asked(bench, drivers, stores, day, step, tank_l, shares, wanted):  # type: ignore[no-untyped-def]
    """Set each bank's share of full uptake and the inflow its floats ask for; return the litres asked of the tank."""
    hours = 24.0 / len(drivers.demand_share)
    drawn = 0.0
    for b in range(len(stores)):
        held = stores[b, 0] + stores[b, 1]
        share = (held - bench.dry_l[b]) / (bench.stress_l[b] - bench.dry_l[b])
        share = min(max(share, 0.0), 1.0)
        demand = (drivers.transpiration_l[day, b] + drivers.evaporation_l[day, b]) * drivers.demand_share[step]
        there = max(held - bench.total_l[b, 0], 0.0)
        if share * demand > there:
            share = there / demand
        shares[b], wanted[b] = share, 0.0
        if drivers.supply_open[day]:
            rain = drivers.rain_mm[day] * drivers.rain_share[step]
            rain *= bench.catch_medium_m2[b] + bench.catch_gap_m2[b]
            wanted[b] = _inflow_l(bench, b, held, max(0.0, (share * demand - rain) / hours), hours, tank_l)
        drawn += wanted[b] * bench.pots[b]
    return drawn


@_compiled
def _step(bench, drivers, b, day, step, share, inflow, strength, store, row):  # type: ignore[no-untyped-def]
    """Move one pot through one step and add its flows to the day's row (see `reference._step`)."""
    rain_mm = drivers.rain_mm[day] * drivers.rain_share[step]
    rain_medium, rain_gap = rain_mm * bench.catch_medium_m2[b], rain_mm * bench.catch_gap_m2[b]
    uptake = share * drivers.transpiration_l[day, b] * drivers.demand_share[step]
    evaporation = share * drivers.evaporation_l[day, b] * drivers.demand_share[step]
    salt_uptake = min(store[3], uptake * bench.salt_uptake_fraction * store[3] / store[1])
    free, salt_free = store[0] + inflow + rain_gap, store[2] + inflow * strength
    medium, salt_medium = store[1] + rain_medium - uptake - evaporation, store[3] - salt_uptake
    held = min(free + medium, bench.overflow_l[b])
    spilled = free + medium - held
    free_end = _interp(held, bench.total_l[b], bench.free_l[b])
    upward = held - free_end - medium
    moved = upward * (salt_free / free if upward > 0 else salt_medium / medium)
    salt_free, salt_medium = salt_free - moved, salt_medium + moved
    salt_spilled = salt_free * spilled / (free_end + spilled) if spilled > 0 else 0.0
    store[0], store[1] = free_end, held - free_end
    store[2], store[3] = salt_free - salt_spilled, salt_medium
    level = _interp(held, bench.total_l[b], bench.level_m[b])
    row[c.LEVEL_MIN_M], row[c.LEVEL_MAX_M] = min(row[c.LEVEL_MIN_M], level), max(row[c.LEVEL_MAX_M], level)
    row[c.LEAST_UPTAKE_SHARE] = min(row[c.LEAST_UPTAKE_SHARE], share)
    row[c.INFLOW_L] += inflow
    row[c.RAIN_L] += rain_medium + rain_gap
    row[c.OVERFLOW_L] += spilled
    row[c.UPTAKE_L] += uptake
    row[c.EVAPORATION_L] += evaporation
    row[c.SALT_IN_MEQ] += inflow * strength
    row[c.SALT_OVERFLOW_MEQ] += salt_spilled
    row[c.SALT_UPTAKE_MEQ] += salt_uptake
