"""The season's equations written to be read; the fast kernel is held to this by tests.

Each nest of a bank has two stores of water and of salt: free solution (in the gap and the dome) and the
medium. The medium is taken to be at rest with the solution at every step, so that the water in both
follows from their sum. Uptake and evaporation leave from the medium, rain falls on both, the float lets
in solution from the tank, and what stands above the overflow hole spills.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from wetfoot.season import columns as c
from wetfoot.season.bench import Bench
from wetfoot.season.drivers import Drivers

Array = NDArray[np.float64]


def simulate(bench: Bench, drivers: Drivers) -> tuple[Array, Array]:
    """Return the season's daily results: by day, bank and column, and by day and tank column (see `columns`)."""
    days, banks, steps = len(drivers.rain_mm), len(bench.pots), len(drivers.demand_share)
    bank_days, tank_days = np.zeros((days, banks, c.BANK_COLUMNS)), np.zeros((days, c.TANK_COLUMNS))
    pots = [_planted_pot(bench, b) for b in range(banks)]
    tank_l, tank_meq = bench.tank_full_l, bench.tank_full_l * bench.target_meq_l
    for day in range(days):
        today, tank = bank_days[day], tank_days[day]
        today[:, c.LEVEL_MIN_M], today[:, c.LEVEL_MAX_M], today[:, c.LEAST_UPTAKE_SHARE] = (
            np.inf,
            -np.inf,
            1.0,
        )
        if drivers.visit[day]:
            tank_l, tank_meq = _refill(bench, tank_l, tank_meq, tank)
            pots = [_fed(bench, pot, today[b]) for b, pot in enumerate(pots)]
        tank[c.TANK_MIN_L] = tank_l
        for step in range(steps):
            flows = [_flows(bench, drivers, pots[b], b, day, step) for b in range(banks)]
            wanted = [_inflow_l(bench, drivers, pots[b], flows[b], b, day, tank_l) for b in range(banks)]
            drawn = float(np.dot(wanted, bench.pots))
            there = max(tank_l - bench.tank_unusable_l, 0.0)
            share = min(1.0, there / drawn) if drawn > 0 else 1.0
            strength = tank_meq / tank_l if tank_l > 0 else 0.0
            for b in range(banks):
                pots[b] = _step(bench, pots[b], flows[b], wanted[b] * share, strength, b, today[b])
            tank_l, tank_meq = tank_l - drawn * share, tank_meq - drawn * share * strength
            tank[c.TANK_MIN_L] = min(tank[c.TANK_MIN_L], tank_l)
            tank[c.DRAWN_L] += drawn * share
            tank[c.SHORT_L] += drawn * (1.0 - share)
        tank[c.TANK_END_L], tank[c.TANK_SALT_MEQ] = tank_l, tank_meq
        for b in range(banks):
            today[b, c.FREE_L : c.SALT_MEDIUM_MEQ + 1] = pots[b]
            today[b, c.LEVEL_END_M] = np.interp(pots[b][0] + pots[b][1], bench.total_l[b], bench.level_m[b])
    return bank_days, tank_days


def planted(bench: Bench) -> Array:
    """Return the stores of a pot of each bank at planting (free L, medium L, free meq, medium meq)."""
    return np.array([_planted_pot(bench, b) for b in range(len(bench.pots))])


def _planted_pot(bench: Bench, b: int) -> tuple[float, float, float, float]:
    free = float(np.interp(bench.set_l[b], bench.total_l[b], bench.free_l[b]))
    medium = float(bench.set_l[b]) - free
    return free, medium, free * bench.target_meq_l, medium * bench.target_meq_l


def _refill(bench: Bench, tank_l: float, tank_meq: float, tank: Array) -> tuple[float, float]:
    """Fill the tank with source water, and add stock until it has the target's strength again."""
    added = bench.tank_full_l - tank_l
    with_source = tank_meq + added * bench.source_meq_l
    stock = max(0.0, bench.target_meq_l * bench.tank_full_l - with_source)
    tank[c.WATER_ADDED_L] += added
    tank[c.SOURCE_SALT_MEQ] += added * bench.source_meq_l
    tank[c.STOCK_SALT_MEQ] += stock
    return bench.tank_full_l, with_source + stock


def _fed(bench: Bench, pot: tuple[float, float, float, float], day: Array) -> tuple[float, float, float, float]:
    """Bring the free solution to the target strength with stock if it is found below the band."""
    free, medium, salt_free, salt_medium = pot
    if salt_free < bench.feed_below_meq_l * free:
        day[c.SALT_FED_MEQ] = bench.target_meq_l * free - salt_free
    return free, medium, salt_free + day[c.SALT_FED_MEQ], salt_medium


def _flows(
    bench: Bench, drivers: Drivers, pot: tuple[float, ...], b: int, day: int, step: int
) -> tuple[float, float, float, float, float]:
    """Return rain on the medium, rain on the gap, uptake, evaporation and the share of full uptake, in one step."""
    held = pot[0] + pot[1]
    share = (held - bench.dry_l[b]) / (bench.stress_l[b] - bench.dry_l[b])
    share = min(max(share, 0.0), 1.0)
    transpiration = drivers.transpiration_l[day, b] * drivers.demand_share[step]
    evaporation = drivers.evaporation_l[day, b] * drivers.demand_share[step]
    there = max(held - bench.total_l[b, 0], 0.0)
    if share * (transpiration + evaporation) > there:
        share = there / (transpiration + evaporation)
    uptake, evaporation = share * transpiration, share * evaporation
    rain_mm = drivers.rain_mm[day] * drivers.rain_share[step]
    return rain_mm * bench.catch_medium_m2[b], rain_mm * bench.catch_gap_m2[b], uptake, evaporation, share


def _inflow_l(
    bench: Bench,
    drivers: Drivers,
    pot: tuple[float, ...],
    flows: tuple[float, ...],
    b: int,
    day: int,
    tank_l: float,
) -> float:
    """Return what the float lets into a pot in one step.

    Inflow is the fall of level over the tubes' resistance, (set level - level) / R, so the level decays towards
    set level - R x net draw with the time constant R x storage: solved exactly over the step, then cut to what
    the valve passes wide open.
    """
    if not drivers.supply_open[day]:
        return 0.0
    hours = 24.0 / len(drivers.demand_share)
    held = pot[0] + pot[1]
    level = float(np.interp(held, bench.total_l[b], bench.level_m[b]))
    net = max(0.0, (flows[2] + flows[3] - flows[0] - flows[1]) / hours)
    fall = bench.set_level_m[b] - level
    storage = (bench.set_l[b] - held) / fall if fall > 0.001 else bench.storage_l_m[b]
    settled_level = bench.set_level_m[b] - bench.resistance_m_h_l[b] * net
    settled = float(np.interp(settled_level, bench.level_m[b], bench.total_l[b]))
    left = math.exp(-hours / (bench.resistance_m_h_l[b] * storage))
    inflow = settled + (held - settled) * left - held + net * hours
    tank_levels = np.linspace(0.0, bench.tank_full_l, bench.valve_l_h.shape[1])
    most = float(np.interp(tank_l, tank_levels, bench.valve_l_h[b])) * hours / bench.pots[b]
    return float(min(max(inflow, 0.0), most))


def _step(
    bench: Bench,
    pot: tuple[float, float, float, float],
    flows: tuple[float, float, float, float, float],
    inflow: float,
    strength: float,
    b: int,
    day: Array,
) -> tuple[float, float, float, float]:
    """Return the stores after one step, and add its flows to the day's row."""
    free, medium, salt_free, salt_medium = pot
    rain_medium, rain_gap, uptake, evaporation, share = flows
    salt_uptake = min(salt_medium, uptake * bench.salt_uptake_fraction * salt_medium / medium)
    free, salt_free = free + inflow + rain_gap, salt_free + inflow * strength
    medium, salt_medium = medium + rain_medium - uptake - evaporation, salt_medium - salt_uptake
    before_spill = free + medium
    held = min(before_spill, bench.overflow_l[b])
    spilled = before_spill - held
    free_end = float(np.interp(held, bench.total_l[b], bench.free_l[b]))
    upward = held - free_end - medium
    moved = upward * (salt_free / free if upward > 0 else salt_medium / medium)
    salt_free, salt_medium = salt_free - moved, salt_medium + moved
    salt_spilled = salt_free * spilled / (free_end + spilled) if spilled > 0 else 0.0
    level = float(np.interp(held, bench.total_l[b], bench.level_m[b]))
    day[c.LEVEL_MIN_M], day[c.LEVEL_MAX_M] = min(day[c.LEVEL_MIN_M], level), max(day[c.LEVEL_MAX_M], level)
    day[c.LEAST_UPTAKE_SHARE] = min(day[c.LEAST_UPTAKE_SHARE], share)
    day[c.INFLOW_L : c.EVAPORATION_L + 1] += (inflow, rain_medium + rain_gap, spilled, uptake, evaporation)
    day[c.SALT_IN_MEQ : c.SALT_UPTAKE_MEQ + 1] += (inflow * strength, salt_spilled, salt_uptake)
    return free_end, held - free_end, salt_free - salt_spilled, salt_medium
