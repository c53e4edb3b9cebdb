"""The plan's tank, tubes, valves and boards as the network solver wants them."""

from __future__ import annotations

from wetfoot.plan.model import Bank, Plan
from wetfoot.season.bench import nest_table
from wetfoot.water.bench_parts import BankLines, Supply, sloping_board_m
from wetfoot.water.nest import solution_per_mm_l


def supply_of(plan: Plan, temperature_c: float = 20.0) -> Supply:
    """Return the plan's tank and supply line; what stays below the outlet counts as floor."""
    tank, line = plan.tank, plan.supply_line
    dead_m = tank.water_depth_m * tank.unusable_l / tank.volume_l
    return Supply(
        floor_height_m=tank.base_height_m + dead_m,
        water_depth_m=tank.water_depth_m - dead_m,
        volume_l=tank.volume_l - tank.unusable_l,
        line_bore_m=line.bore_m,
        line_length_m=line.length_m,
        temperature_c=temperature_c,
    )


def board_profile_m(bank: Bank) -> tuple[float, ...]:
    """Return the height of the board at each pot above that at the sump: measured, or from the slope."""
    if bank.board_heights_m is not None:
        return bank.board_heights_m
    return sloping_board_m(bank.pots, bank.board_slope * bank.lateral_length_m)


def lines_of(plan: Plan) -> tuple[BankLines, ...]:
    """Return each bank's tubes, valve and pots."""
    storage = {
        name: 1000.0 * solution_per_mm_l(nest_table(plan, nest), nest.set_level_m) for name, nest in plan.nests.items()
    }
    return tuple(_lines(plan, bank, storage[bank.nest]) for bank in plan.banks)


def _lines(plan: Plan, bank: Bank, storage_l_m: float) -> BankLines:
    nest = plan.nests[bank.nest]
    return BankLines(
        pots=bank.pots,
        set_level_m=nest.set_level_m,
        board_height_m=bank.board_height_m,
        lateral_bore_m=bank.lateral_bore_m,
        lateral_length_m=bank.lateral_length_m,
        microtube_bore_m=bank.microtube_bore_m,
        microtube_length_m=bank.microtube_length_m,
        valve_seat_m=bank.valve_seat_m,
        storage_l_m=storage_l_m,
        float_diameter_m=bank.float_diameter_m,
        lever_ratio=bank.lever_ratio,
        board_m=board_profile_m(bank),
        overflow_height_m=nest.overflow_height_m,
    )
