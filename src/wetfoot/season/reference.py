"""The season's equations written to be read; the fast kernel is held to this by tests.

Each nest of a bank has two stores of water and of every dissolved species: free solution (in the gap and the
dome) and the medium. The medium is taken to be at rest with the solution at every step, so that the water in both
follows from their sum. Uptake and evaporation leave from the medium, rain falls on both, the float lets
in solution from the tank, split pots leak, and what stands above the overflow hole spills.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from wetfoot.season import columns as c
from wetfoot.season.bench import TOP_SPREAD_PER_D, Bench
from wetfoot.season.days import Days, empty_days
from wetfoot.season.drivers import Drivers
from wetfoot.season.feed import ELEMENTS

Array = NDArray[np.float64]


class Pot(NamedTuple):
    """The mean pot of a bank: litres and mmol of free solution and medium, and its bank's leak.

    ``top_ms_cm`` is by how much the plain sum of the top layer exceeds that of the medium; ``holes`` are the
    split pots of the bank, ``open_h`` the hours since the first of them.
    """

    free_l: float
    medium_l: float
    free: Array
    medium: Array
    top_ms_cm: float
    holes: float
    open_h: float


class Flows(NamedTuple):
    """What a step brings to a pot and takes from it, in litres; ``share`` is that of full uptake."""

    rain_medium: float
    rain_gap: float
    uptake: float
    evaporation: float
    leak: float
    share: float


def simulate(bench: Bench, drivers: Drivers) -> Days:
    """Return the season's daily results, with species by day."""
    days, banks, steps = len(drivers.rain_mm), len(bench.pots), len(drivers.demand_share)
    found = empty_days(days, days, banks, len(bench.charge))
    pots = planted(bench)
    tank_l, tank_mmol = bench.tank_full_l, bench.tank_full_l * bench.start_mmol_l
    for day in range(days):
        today, tank, mmol = found.banks[day], found.tank[day], found.bank_mmol[day]
        today[:, c.LEVEL_MIN_M], today[:, c.LEVEL_MAX_M] = np.inf, -np.inf
        today[:, c.LEAST_UPTAKE_SHARE] = 1.0
        if drivers.visit[day]:
            tank_l, tank_mmol = _refill(bench, tank_l, tank_mmol, tank, found.tank_mmol[day])
            pots = [_fed(bench, pot, today[b], mmol[b])._replace(holes=0.0, open_h=0.0) for b, pot in enumerate(pots)]
        pots = [pot._replace(holes=pot.holes + drivers.new_holes[day, b]) for b, pot in enumerate(pots)]
        tank[c.TANK_MIN_L] = tank_l
        for step in range(steps):
            flows = [_flows(bench, drivers, pots[b], b, day, step) for b in range(banks)]
            wanted = [_inflow_l(bench, drivers, pots[b], flows[b], b, day, tank_l) for b in range(banks)]
            drawn = float(np.dot(wanted, bench.pots))
            there = max(tank_l - bench.tank_unusable_l, 0.0)
            share = min(1.0, there / drawn) if drawn > 0 else 1.0
            strength = tank_mmol / tank_l if tank_l > 0 else np.zeros_like(tank_mmol)
            for b in range(banks):
                pots[b] = _step(bench, pots[b], flows[b], wanted[b] * share, strength, b, today[b], mmol[b])
                if pots[b].holes > 0:
                    pots[b] = pots[b]._replace(open_h=pots[b].open_h + 24.0 / steps)
            tank_l, tank_mmol = tank_l - drawn * share, tank_mmol - drawn * share * strength
            tank[c.TANK_MIN_L] = min(tank[c.TANK_MIN_L], tank_l)
            tank[c.DRAWN_L] += drawn * share
            tank[c.SHORT_L] += drawn * (1.0 - share)
        tank[c.TANK_END_L], found.tank_mmol[day, c.TANK_END] = tank_l, tank_mmol
        tank[c.TANK_ELEMENTS_MG_L :] = bench.elements_mg @ tank_mmol / tank_l if tank_l > c.EMPTY_TANK_L else np.nan
        pots = [_end_of_day(bench, drivers, pots[b], b, day, today[b], mmol[b]) for b in range(banks)]
    return found


def planted(bench: Bench) -> list[Pot]:
    """Return a pot of each bank at planting, full of the solution that the tank is mixed to."""
    return [_planted_pot(bench, b) for b in range(len(bench.pots))]


def _planted_pot(bench: Bench, b: int) -> Pot:
    free = float(np.interp(bench.set_l[b], bench.total_l[b], bench.free_l[b]))
    medium = float(bench.set_l[b]) - free
    return Pot(free, medium, free * bench.start_mmol_l, medium * bench.start_mmol_l, 0.0, 0.0, 0.0)


def plain_ms_cm(bench: Bench, mmol: Array) -> float:
    """Return the plain sum of what the ions conduct; free acid in the place of negative alkalinity."""
    alkalinity = mmol[-1]
    last = bench.conductance_ms_cm[-1] * alkalinity if alkalinity > 0 else -bench.acid_ms_cm * alkalinity
    return float(np.dot(bench.conductance_ms_cm[:-1], mmol[:-1]) + last)


def _refill(bench: Bench, tank_l: float, tank_mmol: Array, tank: Array, rows: Array) -> tuple[float, Array]:
    """Fill the tank with source water and equal volumes of both stocks, so that it has the target's EC again."""
    room = bench.tank_full_l - tank_l
    with_source = plain_ms_cm(bench, tank_mmol + room * bench.source_mmol_l)
    gain = plain_ms_cm(bench, bench.pair_mmol) - 2.0 * plain_ms_cm(bench, bench.source_mmol_l)
    stock = min(max((bench.target_ms_cm * bench.tank_full_l - with_source) / gain, 0.0), room / 2.0)
    water = room - 2.0 * stock
    rows[c.FROM_SOURCE] += water * bench.source_mmol_l
    rows[c.FROM_STOCKS] += stock * bench.pair_mmol
    tank[c.WATER_ADDED_L] += water
    tank[c.STOCK_ADDED_L] += stock
    return bench.tank_full_l, tank_mmol + water * bench.source_mmol_l + stock * bench.pair_mmol


def _fed(bench: Bench, pot: Pot, day: Array, rows: Array) -> Pot:
    """Bring the free solution to the target's EC with equal volumes of both stocks if it is found below the band."""
    found = plain_ms_cm(bench, pot.free)
    if not found < bench.feed_below_ms_cm * pot.free_l:
        return pot
    gain = plain_ms_cm(bench, bench.pair_mmol) - 2.0 * bench.target_ms_cm
    stock = (bench.target_ms_cm * pot.free_l - found) / gain
    day[c.FED_L] += 2.0 * stock
    rows[c.FED] += stock * bench.pair_mmol
    return pot._replace(free_l=pot.free_l + 2.0 * stock, free=pot.free + stock * bench.pair_mmol)


def _flows(bench: Bench, drivers: Drivers, pot: Pot, b: int, day: int, step: int) -> Flows:
    """Return what rain brings in one step and what roots, air and holes take."""
    held = pot.free_l + pot.medium_l
    share = (held - bench.dry_l[b]) / (bench.stress_l[b] - bench.dry_l[b])
    share = min(max(share, 0.0), 1.0)
    transpiration = drivers.transpiration_l[day, b] * drivers.demand_share[step]
    evaporation = drivers.evaporation_l[day, b] * drivers.demand_share[step]
    there = max(held - bench.total_l[b, 0], 0.0)
    if share * (transpiration + evaporation) > there:
        share = there / (transpiration + evaporation)
    rain_mm = drivers.rain_mm[day] * drivers.rain_share[step]
    hours = 24.0 / len(drivers.demand_share)
    level = float(np.interp(held, bench.total_l[b], bench.level_m[b]))
    full = min(max(level / bench.set_level_m[b], 0.0), 1.0)
    return Flows(
        rain_mm * bench.catch_medium_m2[b],
        rain_mm * bench.catch_gap_m2[b],
        share * transpiration,
        share * evaporation,
        pot.holes * bench.leak_l_h[b] * full * hours / bench.pots[b],
        share,
    )


def _inflow_l(bench: Bench, drivers: Drivers, pot: Pot, flows: Flows, b: int, day: int, tank_l: float) -> float:
    """Return what the float lets into a pot in one step.

    Inflow is the fall of level over the tubes' resistance, (set level - level) / R, so the level decays towards
    set level - R x net draw with the time constant R x storage: solved exactly over the step, then cut to what
    the valve passes wide open. A bank that is shut off after a split gets nothing until the next visit.
    """
    if not drivers.supply_open[day] or (pot.holes > 0 and pot.open_h >= drivers.shut_off_h):
        return 0.0
    hours = 24.0 / len(drivers.demand_share)
    held = pot.free_l + pot.medium_l
    level = float(np.interp(held, bench.total_l[b], bench.level_m[b]))
    net_l = flows.uptake + flows.evaporation + flows.leak - flows.rain_medium - flows.rain_gap
    net = max(0.0, net_l / hours)
    fall = bench.set_level_m[b] - level
    storage = (bench.set_l[b] - held) / fall if fall > 0.001 else bench.storage_l_m[b]
    settled_level = bench.set_level_m[b] - bench.resistance_m_h_l[b] * net
    settled = float(np.interp(settled_level, bench.level_m[b], bench.total_l[b]))
    left = math.exp(-hours / (bench.resistance_m_h_l[b] * storage))
    inflow = settled + (held - settled) * left - held + net * hours
    tank_levels = np.linspace(0.0, bench.tank_full_l, bench.valve_l_h.shape[1])
    most = float(np.interp(tank_l, tank_levels, bench.valve_l_h[b])) * hours / bench.pots[b]
    return float(min(max(inflow, 0.0), most))


def _step(bench: Bench, pot: Pot, flows: Flows, inflow: float, strength: Array, b: int, day: Array, rows: Array) -> Pot:
    """Return the pot after one step, and add its flows to the day's row and to those of the species."""
    taken = _taken(bench, pot, flows.uptake)
    free_l = pot.free_l + inflow + flows.rain_gap
    leak_l = min(flows.leak, free_l)
    free = pot.free + inflow * strength
    leaked = free * (leak_l / free_l) if leak_l > 0 else np.zeros_like(free)
    free_l, free = free_l - leak_l, free - leaked
    medium_l = pot.medium_l + flows.rain_medium - flows.uptake - flows.evaporation
    medium = pot.medium - taken
    before_spill = free_l + medium_l
    held = min(before_spill, bench.overflow_l[b])
    spilled_l = before_spill - held
    free_end = float(np.interp(held, bench.total_l[b], bench.free_l[b]))
    upward = held - free_end - medium_l
    moved = upward * (free / free_l if upward > 0 else medium / medium_l)
    free, medium = free - moved, medium + moved
    spilled = free * (spilled_l / (free_end + spilled_l)) if spilled_l > 0 else np.zeros_like(free)
    level = float(np.interp(held, bench.total_l[b], bench.level_m[b]))
    day[c.LEVEL_MIN_M], day[c.LEVEL_MAX_M] = min(day[c.LEVEL_MIN_M], level), max(day[c.LEVEL_MAX_M], level)
    day[c.LEAST_UPTAKE_SHARE] = min(day[c.LEAST_UPTAKE_SHARE], flows.share)
    rain_l = flows.rain_medium + flows.rain_gap
    day[c.INFLOW_L : c.EVAPORATION_L + 1] += (inflow, rain_l, spilled_l, flows.uptake, flows.evaporation)
    day[c.LEAKED_L] += leak_l
    for row, moved_out in ((c.TAKEN_IN, inflow * strength), (c.OVERFLOW, spilled), (c.UPTAKE, taken),
                           (c.LEAKED, leaked)):  # fmt: skip
        rows[row] += moved_out
    return pot._replace(free_l=free_end, medium_l=held - free_end, free=free - spilled, medium=medium)


def _taken(bench: Bench, pot: Pot, drunk_l: float) -> Array:
    """Return what the plant takes of each species with the water it drinks; alkalinity closes the charge.

    In proportion to what the water in the medium holds, at most all of it.
    """
    taken = pot.medium * np.minimum(bench.uptake_ratio * (drunk_l / pot.medium_l), 1.0)
    taken[-1] = float(np.dot(bench.charge[:-1], taken[:-1]))
    return np.asarray(taken)


def _end_of_day(bench: Bench, drivers: Drivers, pot: Pot, b: int, day: int, today: Array, rows: Array) -> Pot:
    """Write the day's end into its row, and let salt gather in the medium's top or be washed from it.

    What evaporates leaves its salt in the top layer's water; rain on the medium drives it down like a stirred
    tank, and it spreads down by itself.
    """
    held = pot.free_l + pot.medium_l
    today[c.LEVEL_END_M] = np.interp(held, bench.total_l[b], bench.level_m[b])
    today[c.FREE_L], today[c.MEDIUM_L] = pot.free_l, pot.medium_l
    rows[c.FREE_END], rows[c.MEDIUM_END] = pot.free, pot.medium
    medium_ms_cm = plain_ms_cm(bench, pot.medium) / pot.medium_l
    rain_l = drivers.rain_mm[day] * bench.catch_medium_m2[b]
    left = math.exp(-rain_l / bench.top_l[b] - TOP_SPREAD_PER_D)
    top = (pot.top_ms_cm + today[c.EVAPORATION_L] * medium_ms_cm / bench.top_l[b]) * left
    scale = bench.scale_plain_ms_cm, bench.scale_ec_ms_cm
    today[c.EC_MEDIUM_MS_CM], today[c.EC_TOP_MS_CM] = np.interp([medium_ms_cm, medium_ms_cm + top], *scale)
    wet = pot.free_l > c.LEAST_FREE_L
    today[c.EC_FREE_MS_CM] = np.interp(plain_ms_cm(bench, pot.free) / pot.free_l, *scale) if wet else np.nan
    elements = slice(c.ELEMENTS_MG_L, c.ELEMENTS_MG_L + len(ELEMENTS))
    today[elements] = bench.elements_mg @ pot.free / pot.free_l if wet else np.nan
    return pot._replace(top_ms_cm=top)
