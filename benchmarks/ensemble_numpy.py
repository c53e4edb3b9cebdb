"""The season's equations in vectorised numpy: all years and banks at once, as one would write them without a compiler.

The same steps as `wetfoot.season.reference`, for seasons in which no pot splits. All banks must have the same nest, so
that one call reads the tables for all of them: numpy's best case.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from wetfoot.season.bench import Bench
from wetfoot.season.drivers import Drivers

Array = NDArray[np.float64]


def numpy_seasons(bench: Bench, driven: list[Drivers]) -> tuple[Array, Array, Array, Array]:
    """Return litres in free solution and medium (years, banks), and their mmol (years, banks, species), at the end."""
    years, banks, species = len(driven), len(bench.pots), len(bench.charge)
    transpiration = np.array([each.transpiration_l for each in driven])
    evaporation = np.array([each.evaporation_l for each in driven])
    rain_mm = np.array([each.rain_mm for each in driven])[:, :, None]
    first, days = driven[0], transpiration.shape[1]
    free_set = np.interp(bench.set_l, bench.total_l[0], bench.free_l[0])
    free_l = np.tile(free_set, (years, 1))
    medium_l = np.tile(bench.set_l, (years, 1)) - free_l
    free, medium = free_l[..., None] * bench.start_mmol_l, medium_l[..., None] * bench.start_mmol_l
    tank_l = np.full(years, bench.tank_full_l)
    tank = np.tile(bench.tank_full_l * bench.start_mmol_l, (years, 1))
    moved = np.zeros((4, years, banks, species))  # what the kernel sums up too: in, spilled, taken, fed
    litres = np.zeros((5, years, banks))
    least, most = np.full((years, banks), np.inf), np.full((years, banks), -np.inf)
    for day in range(days):
        if first.visit[day]:
            tank_l, tank, free_l, free = _visit(bench, tank_l, tank, free_l, free, moved)
        for step in range(len(first.demand_share)):
            share_of_day = first.demand_share[step]
            rain = rain_mm[:, day] * first.rain_share[step]
            drink, dry = transpiration[:, day] * share_of_day, evaporation[:, day] * share_of_day
            held = free_l + medium_l
            share = np.clip((held - bench.dry_l) / (bench.stress_l - bench.dry_l), 0.0, 1.0)
            there = np.maximum(held - bench.total_l[:, 0], 0.0)
            asked = share * (drink + dry)
            with np.errstate(divide="ignore", invalid="ignore"):
                share = np.where(asked > there, there / (drink + dry), share)
            uptake, evaporated = share * drink, share * dry
            rain_medium, rain_gap = rain * bench.catch_medium_m2, rain * bench.catch_gap_m2
            inflow = np.zeros_like(held)
            if first.supply_open[day]:
                net = np.maximum(0.0, uptake + evaporated - rain_medium - rain_gap)
                inflow = _inflow_l(bench, held, net, tank_l)
            drawn = inflow @ bench.pots
            with np.errstate(divide="ignore", invalid="ignore"):
                granted = np.where(
                    drawn > 0, np.minimum(1.0, np.maximum(tank_l - bench.tank_unusable_l, 0.0) / drawn), 1.0
                )
            inflow = inflow * granted[:, None]
            strength = tank / tank_l[:, None]
            given = drawn * granted
            tank_l, tank = tank_l - given, tank - given[:, None] * strength
            taken = medium * np.minimum(bench.uptake_ratio * (uptake / medium_l)[..., None], 1.0)
            taken[..., -1] = taken[..., :-1] @ bench.charge[:-1]
            came = inflow[..., None] * strength[:, None, :]
            free_l, free = free_l + inflow + rain_gap, free + came
            medium_l, medium = medium_l + rain_medium - uptake - evaporated, medium - taken
            before = free_l + medium_l
            held = np.minimum(before, bench.overflow_l)
            spilled_l = before - held
            free_end = np.interp(held, bench.total_l[0], bench.free_l[0])
            upward = held - free_end - medium_l
            up, down = np.maximum(upward, 0.0) / free_l, np.minimum(upward, 0.0) / medium_l
            flow = free * up[..., None] + medium * down[..., None]
            free, medium = free - flow, medium + flow
            spilled = free * (spilled_l / (free_end + spilled_l))[..., None]
            free_l, medium_l, free = free_end, held - free_end, free - spilled
            level = np.interp(held, bench.total_l[0], bench.level_m[0])
            least, most = np.minimum(least, level), np.maximum(most, level)
            for sums, flows in ((litres, (inflow, rain_medium + rain_gap, spilled_l, uptake, evaporated)),
                                (moved, (came, spilled, taken))):  # fmt: skip
                for at, value in enumerate(flows):
                    sums[at] += value
    return free_l, medium_l, free, medium


def _inflow_l(bench: Bench, held: Array, net: Array, tank_l: Array) -> Array:
    """Return what the floats let in within an hour (see `wetfoot.season.reference`)."""
    level = np.interp(held, bench.total_l[0], bench.level_m[0])
    fall = bench.set_level_m - level
    with np.errstate(divide="ignore", invalid="ignore"):
        storage = np.where(fall > 0.001, (bench.set_l - held) / fall, bench.storage_l_m)
    settled = np.interp(bench.set_level_m - bench.resistance_m_h_l * net, bench.level_m[0], bench.total_l[0])
    inflow = settled + (held - settled) * np.exp(-1.0 / (bench.resistance_m_h_l * storage)) - held + net
    last = bench.valve_l_h.shape[1] - 1
    place = np.clip(tank_l / bench.tank_full_l, 0.0, 1.0) * last
    i = np.minimum(place.astype(int), last - 1)
    valve = bench.valve_l_h.T
    widest = valve[i] + (valve[i + 1] - valve[i]) * (place - i)[:, None]
    return np.clip(inflow, 0.0, widest / bench.pots)


def _visit(
    bench: Bench, tank_l: Array, tank: Array, free_l: Array, free: Array, moved: Array
) -> tuple[Array, Array, Array, Array]:
    """Fill the tanks and feed rained-out banks."""
    room = bench.tank_full_l - tank_l
    pair, source = _plain(bench, bench.pair_mmol), _plain(bench, bench.source_mmol_l)
    missing = bench.target_ms_cm * bench.tank_full_l - _plain(bench, tank + room[:, None] * bench.source_mmol_l)
    stock = np.clip(missing / (pair - 2.0 * source), 0.0, room / 2.0)
    tank = tank + (room - 2.0 * stock)[:, None] * bench.source_mmol_l + stock[:, None] * bench.pair_mmol
    found = _plain(bench, free)
    dose = (bench.target_ms_cm * free_l - found) / (pair - 2.0 * bench.target_ms_cm)
    dose = np.where(found < bench.feed_below_ms_cm * free_l, dose, 0.0)
    fed = dose[..., None] * bench.pair_mmol
    moved[3] += fed
    return np.full_like(tank_l, bench.tank_full_l), tank, free_l + 2.0 * dose, free + fed


def _plain(bench: Bench, mmol: Array) -> Array:
    acid = np.minimum(mmol[..., -1], 0.0)
    return np.asarray(mmol @ bench.conductance_ms_cm - acid * (bench.conductance_ms_cm[-1] + bench.acid_ms_cm))
