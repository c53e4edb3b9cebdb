"""A bench described by its tank, supply line and banks, laid out as a tree of tubes for the solver."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from wetfoot.water.bench_parts import BankLines, Supply, bench_problems
from wetfoot.water.lines import (
    GRAVITY_M_S2,
    M3_S_PER_L_H,
    laminar_loss_m_per_l_h,
    water_density_kg_m3,
    water_viscosity_pa_s,
)
from wetfoot.water.tree import CUT, PIPE, VALVE, Tree
from wetfoot.water.valve import (
    DISCHARGE_COEFFICIENT,
    closing_shift_m_per_m,
    full_open_flow_l_h,
    proportional_band_m,
)

Array = NDArray[np.float64]

WEIR_COEFFICIENT = 0.6


class BenchTree(NamedTuple):
    """A bench as a tree, with the nodes of each bank's sump, lateral joints and pots."""

    tree: Tree
    tank_height_m: float
    sumps: tuple[int, ...]
    joints: tuple[NDArray[np.int64], ...]
    pots: tuple[NDArray[np.int64], ...]


def bench_tree(banks: Sequence[BankLines], supply: Supply) -> BenchTree:
    """Return the bench as a tree of tubes, valves and vessels.

    Raises:
        ValueError: naming every measure that cannot be, with its value.
    """
    problems = bench_problems(banks, supply)
    if problems:
        raise ValueError("; ".join(problems))
    blocks = [_trunk(supply), *(_bank_block(bank, supply) for bank in banks)]
    starts = np.cumsum([0, *(len(block["kind"]) for block in blocks)])
    parents = [np.array([-1, 0])]
    for start, bank in zip(starts[1:-1], banks, strict=True):
        local = np.arange(1, 2 * bank.pots + 1)
        local = np.where(local % 2 == 0, local - 1, np.maximum(local - 2, 0))
        parents.append(np.concatenate([[1], start + local]))
    columns = {key: np.concatenate([block[key] for block in blocks]) for key in blocks[0]}
    sumps = tuple(int(start) for start in starts[1:-1])
    return BenchTree(
        tree=Tree(parent=np.concatenate(parents).astype(np.int64), **columns),
        tank_height_m=supply.height_m,
        sumps=sumps,
        joints=tuple(s + 1 + 2 * np.arange(bank.pots) for s, bank in zip(sumps, banks, strict=True)),
        pots=tuple(s + 2 + 2 * np.arange(bank.pots) for s, bank in zip(sumps, banks, strict=True)),
    )


def _blank(nodes: int) -> dict[str, NDArray[Any]]:
    """Return the columns of nodes that are joints on links without loss."""
    columns: dict[str, NDArray[Any]] = {
        name: np.zeros(nodes) for name in Tree._fields if name not in ("parent", "kind")
    }
    columns["kind"] = np.full(nodes, PIPE, dtype=np.int64)
    columns |= {name: np.full(nodes, math.inf) for name in ("weir_height_m", "hole_height_m")}
    columns |= {name: np.ones(nodes) for name in ("band_m", "dry_depth_m")}
    columns["stuck"] = np.full(nodes, math.nan)
    return columns


def _lay_tube(
    columns: dict[str, NDArray[Any]], at: slice, bore_m: float, length_m: float, ends: float, supply: Supply
) -> None:
    """Make the links of some nodes tubes."""
    nu = water_viscosity_pa_s(supply.temperature_c) / water_density_kg_m3(supply.temperature_c)
    area = math.pi * bore_m**2 / 4.0
    columns["laminar_m_per_l_h"][at] = laminar_loss_m_per_l_h(bore_m, length_m, supply.temperature_c)
    columns["reynolds_per_l_h"][at] = M3_S_PER_L_H * bore_m / (area * nu)
    columns["roughness"][at] = supply.roughness_m / bore_m
    columns["kinetic_m_per_l2_h2"][at] = ends * (M3_S_PER_L_H / area) ** 2 / (2.0 * GRAVITY_M_S2)


def _trunk(supply: Supply) -> dict[str, NDArray[Any]]:
    """Return the tank and the foot of the supply line."""
    columns = _blank(2)
    columns["kind"][0] = CUT
    columns["bottom_m"][0] = supply.floor_height_m
    columns["storage_l_m"][0] = supply.volume_l / supply.water_depth_m
    _lay_tube(columns, slice(1, 2), supply.line_bore_m, supply.line_length_m, 0.0, supply)
    return columns


def _bank_block(bank: BankLines, supply: Supply) -> dict[str, NDArray[Any]]:
    """Return a bank's nodes: its sump, then joint and pot in turn outwards."""
    columns = _blank(1 + 2 * bank.pots)
    joints, pots = slice(1, None, 2), slice(2, None, 2)
    reach_m = bank.lateral_length_m / bank.pots
    _lay_tube(columns, joints, bank.lateral_bore_m, reach_m, 0.0, supply)
    _lay_tube(columns, pots, bank.microtube_bore_m, bank.microtube_length_m, bank.microtube_ends, supply)
    _set_valve(columns, bank, supply)
    columns["bottom_m"][0], columns["bottom_m"][pots] = bank.board_height_m, bank.board_height_m + bank.profile_m
    columns["storage_l_m"][0], columns["storage_l_m"][pots] = bank.sump_storage_l_m, bank.storage_l_m
    columns["dry_depth_m"][pots] = bank.dry_depth_m
    over = pots if bank.overflow_at == "pots" else slice(0, 1)
    columns["weir_height_m"][over] = columns["bottom_m"][over] + bank.overflow_height_m
    columns["weir_l_h_m15"][over] = weir_flow_l_h(bank.overflow_width_m, 1.0)
    return columns


def _set_valve(columns: dict[str, NDArray[Any]], bank: BankLines, supply: Supply) -> None:
    """Make the link of a bank's first node its float valve."""
    full_head = supply.full_height_m - bank.seat_height_m
    columns["kind"][0] = VALVE
    columns["seat_l_h_m05"][0] = full_open_flow_l_h(bank.valve_seat_m, 1.0, DISCHARGE_COEFFICIENT)
    columns["seat_height_m"][0] = bank.seat_height_m
    columns["shift_m_per_m"][0] = closing_shift_m_per_m(bank.valve_seat_m, bank.float_diameter_m, bank.lever_ratio)
    columns["adjusted_head_m"][0] = full_head if bank.adjusted_head_m is None else bank.adjusted_head_m
    columns["band_m"][0] = proportional_band_m(bank.valve_seat_m, bank.lever_ratio)


def weir_flow_l_h(width_m: float, head_m: float) -> float:
    """Return the flow over a sharp edge: 2/3 Cd w sqrt(2 g) h^1.5 with Cd 0.6 (any handbook of hydraulics)."""
    flow = 2.0 / 3.0 * WEIR_COEFFICIENT * width_m * math.sqrt(2.0 * GRAVITY_M_S2) * max(head_m, 0.0) ** 1.5
    return float(flow / M3_S_PER_L_H)
