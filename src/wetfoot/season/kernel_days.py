"""What the season's kernel does once a day: planting, visits, the end of a day."""

from __future__ import annotations

import math

import numpy as np
from numba import njit

from wetfoot.season import columns as c
from wetfoot.season.bench import TOP_SPREAD_PER_D
from wetfoot.season.kernel_parts import FREE, MEDIUM, interp, plain


@njit(cache=True, error_model="numpy")
def plant(bench, pots, mmol, tank):  # type: ignore[no-untyped-def]
    """Fill every pot and the tank, and return the tank's litres (see `reference.planted`)."""
    for i in range(len(tank)):
        tank[i] = bench.tank_full_l * bench.start_mmol_l[i]
    for b in range(len(pots)):
        free = interp(bench.set_l[b], bench.total_l[b], bench.free_l[b])
        pots[b].free_l, pots[b].medium_l = free, bench.set_l[b] - free
        pots[b].level_m = interp(bench.set_l[b], bench.total_l[b], bench.level_m[b])
        for i in range(len(tank)):
            mmol[b, FREE, i] = free * bench.start_mmol_l[i]
            mmol[b, MEDIUM, i] = pots[b].medium_l * bench.start_mmol_l[i]
    return bench.tank_full_l


@njit(cache=True, error_model="numpy")
def visit(bench, pots, mmol, tank_l, tank, tank_day, rows, tank_mmol, moved):  # type: ignore[no-untyped-def]
    """Fill the tank, feed rained-out banks, close leaks (see `reference._refill` and `reference._fed`)."""
    room = bench.tank_full_l - tank_l
    pair, source = plain(bench, bench.pair_mmol), plain(bench, bench.source_mmol_l)
    with_source = plain(bench, tank + room * bench.source_mmol_l)
    missing = bench.target_ms_cm * bench.tank_full_l - with_source
    stock = min(max(missing / (pair - 2.0 * source), 0.0), room / 2.0)
    water = room - 2.0 * stock
    tank_mmol[c.FROM_SOURCE] += water * bench.source_mmol_l
    tank_mmol[c.FROM_STOCKS] += stock * bench.pair_mmol
    tank_day[c.WATER_ADDED_L] += water
    tank_day[c.STOCK_ADDED_L] += stock
    tank[:] += water * bench.source_mmol_l + stock * bench.pair_mmol
    for b in range(len(pots)):
        pots[b].holes, pots[b].open_h = 0.0, 0.0
        found = plain(bench, mmol[b, FREE])
        if found < bench.feed_below_ms_cm * pots[b].free_l:
            dose = (bench.target_ms_cm * pots[b].free_l - found) / (pair - 2.0 * bench.target_ms_cm)
            rows[b, c.FED_L] += 2.0 * dose
            moved[b, c.FED] += dose * bench.pair_mmol
            mmol[b, FREE] += dose * bench.pair_mmol
            pots[b].free_l += 2.0 * dose
            held = pots[b].free_l + pots[b].medium_l
            pots[b].level_m = interp(held, bench.total_l[b], bench.level_m[b])
    return bench.tank_full_l


@njit(cache=True, error_model="numpy")
def end_of_tank_day(bench, tank_l, strength, tank, tank_day, tank_mmol):  # type: ignore[no-untyped-def]
    """Take from the tank's species what was drawn in the day, and write its state at the day's end."""
    for i in range(len(tank)):
        tank[i] = strength[i] * tank_l
        tank_mmol[c.TANK_END, i] = tank[i]
    tank_day[c.TANK_END_L] = tank_l
    for e in range(len(bench.elements_mg)):
        tank_day[c.TANK_ELEMENTS_MG_L + e] = (
            np.sum(bench.elements_mg[e] * strength) if tank_l > c.EMPTY_TANK_L else math.nan
        )


@njit(cache=True, error_model="numpy")
def end_of_bank_day(  # type: ignore[no-untyped-def]
    sums, ecs, conductance, acid, elements_mg, top_l, catch_m2, rain_mm, strength, pots, mmol, rows, moved
):
    """Write every bank's state at the day's end, and move salt in the medium's top (see `reference._end_of_day`)."""
    species = len(strength)
    for b in range(len(pots)):
        pot, free, medium = pots[b], 0.0, 0.0
        for i in range(species):
            moved[b, c.TAKEN_IN, i] += rows[b, c.INFLOW_L] * strength[i]
            moved[b, c.FREE_END, i], moved[b, c.MEDIUM_END, i] = mmol[b, FREE, i], mmol[b, MEDIUM, i]
            free += conductance[i] * mmol[b, FREE, i]
            medium += conductance[i] * mmol[b, MEDIUM, i]
        free -= (conductance[species - 1] + acid) * min(mmol[b, FREE, species - 1], 0.0)
        medium -= (conductance[species - 1] + acid) * min(mmol[b, MEDIUM, species - 1], 0.0)
        medium /= pot.medium_l
        left = math.exp(-rain_mm * catch_m2[b] / top_l[b] - TOP_SPREAD_PER_D)
        pot.top_ms_cm = (pot.top_ms_cm + rows[b, c.EVAPORATION_L] * medium / top_l[b]) * left
        rows[b, c.LEVEL_END_M], rows[b, c.FREE_L], rows[b, c.MEDIUM_L] = pot.level_m, pot.free_l, pot.medium_l
        rows[b, c.EC_MEDIUM_MS_CM] = interp(medium, sums, ecs)
        rows[b, c.EC_TOP_MS_CM] = interp(medium + pot.top_ms_cm, sums, ecs)
        wet = pot.free_l > c.LEAST_FREE_L
        rows[b, c.EC_FREE_MS_CM] = interp(free / pot.free_l, sums, ecs) if wet else math.nan
        for e in range(len(elements_mg)):
            mg = 0.0
            for i in range(species):
                mg += elements_mg[e, i] * mmol[b, FREE, i]
            rows[b, c.ELEMENTS_MG_L + e] = mg / pot.free_l if wet else math.nan
