"""The parts of a bench that water runs through, tank, supply line and banks, and what cannot be about them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

# Loss at both ends of a tube in laminar flow, in velocity heads: one to set the water in motion, lost where the tube
# ends, and 1.25 to 1.33 while the profile forms (Shah & London 1978, Laminar Flow Forced Convection, from memory).
LAMINAR_ENDS = 2.3


@dataclass(frozen=True)
class Supply:
    """The tank, a cylinder, and the line from it.

    Attributes:
        floor_height_m: height above the ground below which the tank gives no more water.
        water_depth_m: depth of a full tank above that.
        volume_l: litres in that depth.
        line_bore_m, line_length_m: the supply line that all valves share.
        fill: share of the full depth that stands in the tank at the start, 0 to 1.
        temperature_c: of all water, 0 to 40.
        roughness_m: of all tubes; drawn plastic from memory (any handbook of hydraulics).
    """

    floor_height_m: float
    water_depth_m: float
    volume_l: float
    line_bore_m: float
    line_length_m: float
    fill: float = 1.0
    temperature_c: float = 20.0
    roughness_m: float = 1.5e-6

    @property
    def full_height_m(self) -> float:
        """Height of a full tank's water above the ground."""
        return self.floor_height_m + self.water_depth_m

    @property
    def height_m(self) -> float:
        """Height of the tank's water above the ground at the start."""
        return self.floor_height_m + self.fill * self.water_depth_m


@dataclass(frozen=True)
class BankLines:
    """The tubes, valve and pots of one bank; pots evenly spaced, the first one spacing from the sump.

    Attributes:
        pots: how many.
        set_level_m: depth at which the float shuts, in a pot that stands as high as the sump.
        board_height_m: height of the board at the sump above the ground.
        lateral_bore_m, lateral_length_m, microtube_bore_m, microtube_length_m: inside measures.
        valve_seat_m, float_diameter_m, lever_ratio: of the float valve.
        storage_l_m: litres that one pot takes up per metre of level near the set level.
        board_m: height of the board at each pot above that at the sump; empty for a level board.
        adjusted_head_m: head on the valve when the float was set; None for a full tank.
        overflow_height_m: lower edge of the overflow above the basin's bottom, infinite for none.
        overflow_width_m: its width, taken as a weir.
        overflow_at: in every pot, or one in the sump.
        dry_depth_m: depth below which a pot drinks less than it wants (estimate).
        sump_storage_l_m: litres in the sump per metre of level.
        microtube_ends: loss at a microtube's ends in velocity heads.
    """

    pots: int
    set_level_m: float
    board_height_m: float
    lateral_bore_m: float
    lateral_length_m: float
    microtube_bore_m: float
    microtube_length_m: float
    valve_seat_m: float
    storage_l_m: float
    float_diameter_m: float = 0.06
    lever_ratio: float = 6.0
    board_m: tuple[float, ...] = ()
    adjusted_head_m: float | None = None
    overflow_height_m: float = math.inf
    overflow_width_m: float = 0.02
    overflow_at: Literal["pots", "sump"] = "pots"
    dry_depth_m: float = 0.005
    sump_storage_l_m: float = 20.0
    microtube_ends: float = LAMINAR_ENDS

    @property
    def seat_height_m(self) -> float:
        """Height above the ground at which the float shuts at its adjusted head."""
        return self.board_height_m + self.set_level_m

    @property
    def profile_m(self) -> Array:
        """Height of the board at each pot above that at the sump; shape (pots,)."""
        return np.array(self.board_m, dtype=float) if self.board_m else np.zeros(self.pots)


def sloping_board_m(pots: int, rise_m: float) -> tuple[float, ...]:
    """Return the board's height at each pot when it rises evenly from the sump to the far pot by `rise_m`."""
    return tuple(float(x) for x in rise_m * np.arange(1, pots + 1) / pots)


def bench_problems(banks: Sequence[BankLines], supply: Supply) -> list[str]:
    """Return all that cannot be about a bench, each naming the measure and its value; empty if nothing."""
    problems = _supply_problems(supply)
    for index, bank in enumerate(banks):
        problems += _bank_problems(f"banks[{index}]", bank, supply)
    return problems if banks else [*problems, "banks must hold at least one bank"]


def _supply_problems(supply: Supply) -> list[str]:
    """Return what is wrong with the tank and its line."""
    problems = [
        f"supply.{name} must be > 0, not {getattr(supply, name)}"
        for name in ("water_depth_m", "volume_l", "line_bore_m")
        if not getattr(supply, name) > 0
    ]
    if not math.isfinite(supply.floor_height_m):
        problems.append(f"supply.floor_height_m must be a height, not {supply.floor_height_m}")
    if not supply.line_length_m >= 0:
        problems.append(f"supply.line_length_m must be >= 0, not {supply.line_length_m}")
    if not 0 <= supply.fill <= 1:
        problems.append(f"supply.fill must lie between 0 and 1, not {supply.fill}")
    if not 0 <= supply.temperature_c <= 40:
        problems.append(f"supply.temperature_c must lie between 0 and 40, not {supply.temperature_c}")
    return problems


_POSITIVE = (
    "set_level_m", "lateral_bore_m", "lateral_length_m", "microtube_bore_m", "microtube_length_m", "valve_seat_m",
    "storage_l_m", "float_diameter_m", "lever_ratio", "dry_depth_m", "sump_storage_l_m", "overflow_height_m",
    "overflow_width_m",
)  # fmt: skip


def _bank_problems(name: str, bank: BankLines, supply: Supply) -> list[str]:
    """Return what is wrong with a bank."""
    values = {key: getattr(bank, key) for key in _POSITIVE}
    problems = [f"{name}.{key} must be > 0, not {value}" for key, value in values.items() if not value > 0]
    if bank.pots < 1:
        problems.append(f"{name}.pots must be at least 1, not {bank.pots}")
    if not bank.microtube_ends >= 0:
        problems.append(f"{name}.microtube_ends must be >= 0, not {bank.microtube_ends}")
    if bank.board_m and len(bank.board_m) != bank.pots:
        problems.append(f"{name}.board_m must give {bank.pots} heights, one a pot, not {len(bank.board_m)}")
    if not math.isfinite(bank.board_height_m):
        problems.append(f"{name}.board_height_m must be a height, not {bank.board_height_m}")
    if bank.adjusted_head_m is not None and not math.isfinite(bank.adjusted_head_m):
        problems.append(f"{name}.adjusted_head_m must be a head or None, not {bank.adjusted_head_m}")
    if not all(math.isfinite(x) for x in bank.board_m):
        problems.append(f"{name}.board_m must hold finite heights")
    if bank.overflow_height_m <= bank.set_level_m:
        problems.append(f"{name}.overflow_height_m must lie above the set level, not at {bank.overflow_height_m}")
    if bank.seat_height_m >= supply.full_height_m:
        problems.append(
            f"{name}: its level at {bank.seat_height_m:g} m lies above the full tank's water at "
            f"{supply.full_height_m:g} m"
        )
    return problems
