"""The bench as the season's kernel wants it: one array entry a bank, litres per pot, metres, meq/L, hours."""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from wetfoot.plan.media import nest_medium
from wetfoot.plan.model import Bank, Nest, Plan
from wetfoot.solution.dose import ec_curve, source_water_from_ec
from wetfoot.solution.salts import composition_mmol_l
from wetfoot.water.lines import bank_loss_m_per_l_h
from wetfoot.water.nest import LevelTable, driest_level_m, level_table
from wetfoot.water.valve import full_open_flow_l_h, proportional_band_m, shared_line_flows_l_h

Array = NDArray[np.float64]

# Suction at the middle of the medium between which uptake falls from full to nothing: the end of easily
# available water and of the buffer (De Boodt & Verdonck 1972, from memory).
STRESS_KPA = 5.0
DRY_KPA = 10.0
DRIEST_KPA = 15.0
TANK_STEPS = 33


class Bench(NamedTuple):
    """Everything about the bench that does not change in a season; arrays by bank, tables by bank and row."""

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
    tank_full_l: float
    tank_unusable_l: float
    target_meq_l: float
    source_meq_l: float
    feed_below_meq_l: float
    salt_uptake_fraction: float


class EcScale(NamedTuple):
    """EC of the feed against its strength in meq/L of cations, rising."""

    meq_l: Array
    ec_ms_cm: Array

    def ec(self, meq_l: Array | float) -> Array:
        """Return the EC at a strength."""
        return np.asarray(np.interp(meq_l, self.meq_l, self.ec_ms_cm))

    def meq(self, ec_ms_cm: float) -> float:
        """Return the strength at an EC."""
        return float(np.interp(ec_ms_cm, self.ec_ms_cm, self.meq_l))


def ec_scale(plan: Plan) -> EcScale:
    """Return the scale between EC and strength for the plan's stocks in its source water."""
    stock_a, stock_b = composition_mmol_l(plan.solution.stock_a), composition_mmol_l(plan.solution.stock_b)
    return EcScale(*ec_curve(stock_a, stock_b, source_water_from_ec(plan.solution.source_ec_ms_cm)))


def nest_table(plan: Plan, nest: Nest) -> LevelTable:
    """Return what a nest of the plan holds at each level."""
    return level_table(nest.shape, nest_medium(plan, nest), DRIEST_KPA)


def bench_arrays(plan: Plan) -> Bench:
    """Return the plan's bench as arrays."""
    scale = ec_scale(plan)
    tables = {name: nest_table(plan, nest) for name, nest in plan.nests.items()}
    rows = [_bank_row(bank, plan.nests[bank.nest], tables[bank.nest], plan) for bank in plan.banks]
    by_bank = {key: np.array([row[key] for row in rows], dtype=float) for key in rows[0]}
    return Bench(
        **by_bank,
        valve_l_h=_valve_flows(plan),
        tank_full_l=plan.tank.volume_l,
        tank_unusable_l=plan.tank.unusable_l,
        target_meq_l=scale.meq(plan.solution.target_ec_ms_cm),
        source_meq_l=scale.meq(plan.solution.source_ec_ms_cm),
        feed_below_meq_l=scale.meq(plan.solution.ec_low_ms_cm) if plan.visits.feed_banks else 0.0,
        salt_uptake_fraction=plan.crop.salt_uptake_fraction,
    )


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
    }


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
