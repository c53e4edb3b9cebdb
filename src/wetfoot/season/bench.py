"""The bench as the season's kernel wants it: one array entry a bank, litres per pot, metres, mmol, hours."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from wetfoot.plan.media import nest_medium
from wetfoot.plan.model import Bank, Nest, Plan
from wetfoot.season.feed import EcScale, Feed, ec_scale, feed_of, uptake_ratios
from wetfoot.water.lines import bank_loss_m_per_l_h
from wetfoot.water.medium import Medium, water_content
from wetfoot.water.nest import LevelTable, NestShape, driest_level_m, level_table
from wetfoot.water.valve import full_open_flow_l_h, proportional_band_m, shared_line_flows_l_h

Array = NDArray[np.float64]

# Suction at the middle of the medium between which uptake falls from full to nothing: the end of easily
# available water and of the buffer (De Boodt & Verdonck 1972, from memory).
STRESS_KPA = 5.0
DRY_KPA = 10.0
DRIEST_KPA = 15.0
TANK_STEPS = 33
TOP_LAYER_M = 0.03  # of the medium, in which salt gathers: an estimate
# How far salt of the top layer spreads down in a day, as a share: diffusion over the layer, D t / L^2 with D
# 0.5e-9 m2/s in wet peat (a quarter of that in water; estimate).
TOP_SPREAD_PER_D = 0.5e-9 * 86400.0 / TOP_LAYER_M**2


class Bench(NamedTuple):
    """Everything about the bench that does not change in a season.

    Arrays by bank, tables by bank and row, the last group by species of `feed.Feed`. The tank is mixed to the plain
    sum ``target_ms_cm``; a bank whose free solution is below ``feed_below_ms_cm`` is fed. A split pot leaks
    ``leak_l_h`` while its basin stands at the set level.
    """

    pots: Array
    total_l: Array
    level_m: Array
    free_l: Array
    set_level_m: Array
    set_l: Array
    overflow_l: Array
    stress_l: Array
    dry_l: Array
    storage_l_m: Array
    resistance_m_h_l: Array
    catch_medium_m2: Array
    catch_gap_m2: Array
    valve_l_h: Array
    top_l: Array
    leak_l_h: Array
    tank_full_l: float
    tank_unusable_l: float
    target_ms_cm: float
    feed_below_ms_cm: float
    start_mmol_l: Array
    source_mmol_l: Array
    pair_mmol: Array
    charge: Array
    conductance_ms_cm: Array
    acid_ms_cm: float
    uptake_ratio: Array
    elements_mg: Array
    scale_plain_ms_cm: Array
    scale_ec_ms_cm: Array


def nest_table(plan: Plan, nest: Nest) -> LevelTable:
    """Return what a nest of the plan holds at each level."""
    return _nest_table(nest.shape, nest_medium(plan, nest))


@lru_cache(maxsize=64)  # comparing many changes of a bench asks for the same nests again and again
def _nest_table(shape: NestShape, medium: Medium) -> LevelTable:
    return level_table(shape, medium, DRIEST_KPA)


def bench_arrays(plan: Plan) -> Bench:
    """Return the plan's bench as arrays; no pot leaks (see `splits.with_leaks`)."""
    tables = {name: nest_table(plan, nest) for name, nest in plan.nests.items()}
    rows = [_bank_row(bank, plan.nests[bank.nest], tables[bank.nest], plan) for bank in plan.banks]
    by_bank: dict[str, Any] = {key: np.array([row[key] for row in rows], dtype=float) for key in rows[0]}
    return Bench(
        **by_bank,
        valve_l_h=_valve_flows(plan),
        leak_l_h=np.zeros(len(rows)),
        tank_full_l=plan.tank.volume_l,
        tank_unusable_l=plan.tank.unusable_l,
        **_solution(plan, feed_of(plan), ec_scale(plan)),
    )


def _solution(plan: Plan, known: Feed, scale: EcScale) -> dict[str, Any]:
    """Return what `Bench` holds of the solution, by name."""
    return {
        "target_ms_cm": float(known.plain_ms_cm(known.target_mmol_l)),
        "feed_below_ms_cm": scale.plain(plan.solution.ec_low_ms_cm) if plan.visits.feed_banks else 0.0,
        "start_mmol_l": known.target_mmol_l,
        "source_mmol_l": known.source_mmol_l,
        "pair_mmol": known.pair_mmol,
        "charge": known.charge,
        "conductance_ms_cm": known.conductance_ms_cm,
        "acid_ms_cm": known.acid_ms_cm,
        "uptake_ratio": uptake_ratios(known, known.target_mmol_l, plan.crop.salt_uptake_fraction),
        "elements_mg": known.elements_mg,
        "scale_plain_ms_cm": scale.plain_ms_cm,
        "scale_ec_ms_cm": scale.ec_ms_cm,
    }


def _bank_row(bank: Bank, nest: Nest, table: LevelTable, plan: Plan) -> dict[str, Any]:
    """Return a bank's entries of `Bench`, by name."""

    def held(level_m: float) -> float:
        return float(np.interp(level_m, table.level_m, table.total_l))

    level = nest.set_level_m
    half = min(0.005, level)
    mouth, rim = mouth_area_m2(nest), catch_area_m2(nest)
    passed = 1.0 - bank.gutter_fraction
    return {
        "pots": bank.pots,
        "total_l": table.total_l,
        "level_m": table.level_m,
        "free_l": table.free_l,
        "set_level_m": level,
        "set_l": held(level),
        "overflow_l": held(nest.overflow_height_m),
        "stress_l": held(driest_level_m(nest.shape, STRESS_KPA)),
        "dry_l": held(driest_level_m(nest.shape, DRY_KPA)),
        "storage_l_m": (held(level + half) - held(level - half)) / (2.0 * half),
        "resistance_m_h_l": bank_resistance_m_h_l(bank, plan),
        "catch_medium_m2": mouth * passed,
        "catch_gap_m2": (rim - mouth) * passed,
        "top_l": top_layer_l(plan, nest),
    }


def top_layer_l(plan: Plan, nest: Nest) -> float:
    """Return the water in the top layer of the medium when it is at rest with the set level."""
    wet = water_content(nest.fill_height_m - TOP_LAYER_M / 2.0 - nest.set_level_m, nest_medium(plan, nest))
    return 1000.0 * mouth_area_m2(nest) * TOP_LAYER_M * float(wet)


def mouth_area_m2(nest: Nest) -> float:
    """Return the area of the pot's mouth."""
    return math.pi * nest.pot.top_diameter_m**2 / 4.0


def catch_area_m2(nest: Nest) -> float:
    """Return the area on which rain falls into a nest: the wider of the basin's and the pot's rim."""
    widest = max(nest.basin.top_diameter_m, nest.pot.top_diameter_m)
    return math.pi * widest**2 / 4.0


def tank_head_m(plan: Plan, bank: Bank, tank_l: float) -> float:
    """Return the head on a bank's valve when the tank holds so much."""
    water = plan.tank.water_depth_m * tank_l / plan.tank.volume_l
    return plan.tank.base_height_m + water - bank.board_height_m - plan.nests[bank.nest].set_level_m


def bank_resistance_m_h_l(bank: Bank, plan: Plan) -> float:
    """Return how far the mean pot's level sags per litre an hour that each pot draws: tubes and float together."""
    tubes = bank_loss_m_per_l_h(
        bank.pots, bank.lateral_bore_m, bank.lateral_length_m, bank.microtube_bore_m, bank.microtube_length_m
    )
    full_open = full_open_flow_l_h(bank.valve_seat_m, tank_head_m(plan, bank, plan.tank.volume_l / 2.0))
    return float(tubes.mean()) + proportional_band_m(bank.valve_seat_m, bank.lever_ratio) * bank.pots / full_open


def _valve_flows(plan: Plan) -> Array:
    """Return what each valve passes, all wide open, from an empty to a full tank; shape (banks, TANK_STEPS)."""
    seats = [bank.valve_seat_m for bank in plan.banks]
    columns = [
        shared_line_flows_l_h(
            seats,
            [tank_head_m(plan, bank, tank_l) for bank in plan.banks],
            plan.supply_line.bore_m,
            plan.supply_line.length_m,
        )
        for tank_l in np.linspace(0.0, plan.tank.volume_l, TANK_STEPS)
    ]
    return np.array(columns, dtype=float).T.copy()
