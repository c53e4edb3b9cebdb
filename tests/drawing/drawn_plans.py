"""Plans to be drawn: the example with parts changed. All invented."""

from __future__ import annotations

from functools import cache
from typing import Any

from wetfoot.plan.example import example_text
from wetfoot.plan.file import plan_from_text
from wetfoot.plan.model import Plan, Vessel


@cache
def example() -> Plan:
    return plan_from_text(example_text())


def vessel(bottom_m: float, top_m: float, height_m: float) -> Vessel:
    return Vessel.model_construct(bottom_diameter_m=bottom_m, top_diameter_m=top_m, height_m=height_m)


def with_nest(name: str = "standard", **changes: Any) -> Plan:
    """Return a plan whose one nest is a fixed one, less the changes; its banks use it."""
    fixed: dict[str, Any] = {
        "basin": vessel(0.27, 0.34, 0.30),
        "pot": vessel(0.24, 0.31, 0.32),
        "dome": vessel(0.13, 0.17, 0.15),
        "wall_m": 0.002,
        "set_level_m": 0.05,
        "overflow_height_m": 0.07,
        "fill_height_m": 0.30,
        "medium": "peat-perlite 3:1",
    }
    nest = next(iter(example().nests.values())).model_copy(update=fixed | changes)
    banks = tuple(bank.model_copy(update={"nest": name}) for bank in example().banks[:2])
    return example().model_copy(update={"nests": {name: nest}, "banks": banks})


def with_banks(count: int, **changes: Any) -> Plan:
    """Return a plan with so many banks of the fixed nest, each with the changes."""
    plan = with_nest()
    bank = {"board_height_m": 0.5, "board_slope": 0.0, "lateral_length_m": 6.0, "pots": 10} | changes
    tank = {"volume_l": 1000.0, "water_depth_m": 1.0, "base_height_m": 1.1, "unusable_l": 20.0}
    banks = tuple(plan.banks[0].model_copy(update=bank | {"name": f"Row {i + 1}"}) for i in range(count))
    return plan.model_copy(update={"banks": banks, "tank": plan.tank.model_copy(update=tank)})
