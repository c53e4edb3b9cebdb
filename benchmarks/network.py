"""Levels of a whole bench: time per pot from 200 to 20,000 pots, and the ratio to scipy's dense solver at 200.

Prints a Markdown table and writes it into docs/network.md: median and range of repeated runs,
side by side in one run. The dense solver gets the same unknowns as ours (the head of every node), and then a system
half as large with the tree worked out by hand (each pot's inflow and each sump's level); both are written in numpy
arrays without loops over pots.
"""

from __future__ import annotations

import statistics
from collections.abc import Callable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import fsolve
from timing import middle_and_range_ms, seconds

from wetfoot.water.bench_parts import BankLines, Supply, sloping_board_m
from wetfoot.water.bench_tree import bench_tree
from wetfoot.water.lines import laminar_loss_m_per_l_h, pipe_loss_m
from wetfoot.water.network import bench_levels, levels_of, steady_heads
from wetfoot.water.valve import closing_shift_m_per_m, full_open_flow_l_h, proportional_band_m

Array = NDArray[np.float64]
PAGE, MARK = Path(__file__).parents[1] / "docs" / "network.md", "## Measured"
DEMAND_L_H = 0.35
BANK = BankLines(
    pots=50, set_level_m=0.05, board_height_m=0.0, lateral_bore_m=0.02, lateral_length_m=25.0, microtube_bore_m=0.003,
    microtube_length_m=0.3, valve_seat_m=0.0048, storage_l_m=60.0, board_m=sloping_board_m(50, 0.005),
)  # fmt: skip


def supply(banks: int) -> Supply:
    """Return a tank and line that grow with the bench, so that every size works at the same losses."""
    return Supply(0.55, 1.0, 1000.0 * banks, 0.019 * banks**0.5, 8.0)


class Dense:
    """The same equations for scipy: unknown are each bank's level in the sump and each pot's inflow."""

    def __init__(self, banks: int) -> None:
        self.banks, self.pots, self.supply = banks, BANK.pots, supply(banks)
        area = np.pi * BANK.microtube_bore_m**2 / 4
        self.tube = laminar_loss_m_per_l_h(BANK.microtube_bore_m, BANK.microtube_length_m)
        self.ends = BANK.microtube_ends / (2 * 9.80665) / (area * 3.6e6) ** 2
        reach = laminar_loss_m_per_l_h(BANK.lateral_bore_m, BANK.lateral_length_m / BANK.pots)
        order = np.arange(1, BANK.pots + 1)
        self.lateral = reach * np.minimum.outer(order, order)
        self.board = BANK.profile_m
        self.full = full_open_flow_l_h(BANK.valve_seat_m, 1.0)
        self.band = proportional_band_m(BANK.valve_seat_m, BANK.lever_ratio)
        self.shift = closing_shift_m_per_m(BANK.valve_seat_m, BANK.float_diameter_m, BANK.lever_ratio)

    def start(self) -> Array:
        return np.concatenate([np.full(self.banks, 0.049), np.full(self.banks * self.pots, DEMAND_L_H)])

    def depth(self, level: Array, inflow: Array) -> Array:
        losses = inflow @ self.lateral + self.tube * inflow + self.ends * inflow * np.abs(inflow)
        return level[:, None] - losses - self.board

    def line_loss(self, flow: float) -> float:
        return pipe_loss_m(flow, self.supply.line_bore_m, self.supply.line_length_m)

    def head(self, inflow: Array) -> float:
        return self.supply.height_m - self.line_loss(float(inflow.sum())) - BANK.seat_height_m

    def residual(self, unknown: Array) -> Array:
        level, inflow = unknown[: self.banks], unknown[self.banks :].reshape(self.banks, self.pots)
        head = self.head(inflow)
        shuts = BANK.set_level_m + self.shift * (head - (self.supply.full_height_m - BANK.seat_height_m))
        passed = np.clip((shuts - level) / self.band, 0, 1) * self.full * np.sqrt(max(head, 0.0))
        x = np.clip(self.depth(level, inflow) / BANK.dry_depth_m, 0, 1)
        return np.concatenate([passed - inflow.sum(axis=1), (DEMAND_L_H * x * (2 - x) - inflow).ravel()])

    def all_heads(self, unknown: Array) -> Array:
        """Return the balance of every node; unknown are the tank's flow, and heads of sumps, joints and pots."""
        n, m = self.banks, self.pots
        flow, level = unknown[0], unknown[1 : n + 1]
        joints, pots = unknown[n + 1 :].reshape(2, n, m)
        drop = joints - pots
        tube = np.sign(drop) * (np.sqrt(self.tube**2 + 4 * self.ends * np.abs(drop)) - self.tube) / (2 * self.ends)
        reach = -np.diff(joints, axis=1, prepend=level[:, None]) / self.lateral[0, 0]
        head = self.supply.height_m - self.line_loss(float(flow)) - BANK.seat_height_m
        shuts = BANK.set_level_m + self.shift * (head - (self.supply.full_height_m - BANK.seat_height_m))
        passed = np.clip((shuts - level) / self.band, 0, 1) * self.full * np.sqrt(max(head, 0.0))
        x = np.clip((pots - self.board) / BANK.dry_depth_m, 0, 1)
        on = np.concatenate([reach[:, 1:], np.zeros((n, 1))], axis=1)
        return np.concatenate(
            [[passed.sum() - flow], passed - reach[:, 0], (reach - on - tube).ravel(),
             (tube - DEMAND_L_H * x * (2 - x)).ravel()]
        )  # fmt: skip

    def solve_all(self) -> Array:
        """Return the depth in every pot from the larger system."""
        n, m = self.banks, self.pots
        start = np.concatenate([[n * m * DEMAND_L_H], np.full(n + n * m, 0.049), np.full(n * m, 0.048)])
        heads = self._root(self.all_heads, start)[n + 1 + n * m :].reshape(n, m)
        return np.asarray(heads - self.board)

    def solve(self) -> Array:
        """Return the depth in every pot from the smaller system."""
        found = self._root(self.residual, self.start())
        return self.depth(found[: self.banks], found[self.banks :].reshape(self.banks, self.pots))

    def _root(self, residual: Callable[[Array], Array], start: Array) -> Array:
        found, info, _, message = fsolve(residual, start, full_output=True, xtol=1e-10)
        if not np.abs(info["fvec"]).max() < 1e-7:  # L/h
            raise ArithmeticError(message)
        return np.asarray(found)


def line(name: str, pots: int, taken: list[float], against: list[float] | None = None) -> str:
    """Return a row of the table."""
    middle, spread = middle_and_range_ms(taken)
    ratio = " / ".join(f"{each / statistics.median(taken):.0f}" for each in against or [])
    return f"| {name} | {pots} | {middle} | {spread} | {statistics.median(taken) / pots * 1e6:.2f} | {ratio} |"


def ours(banks: int) -> tuple[Callable[[], object], Callable[[], object], Callable[[], object]]:
    """Return what is timed: the solver alone, with all results of a laid-out bench, and from the description on."""
    description = [BANK] * banks
    bench = bench_tree(description, supply(banks))
    return (
        lambda: steady_heads(bench, DEMAND_L_H),
        lambda: levels_of(bench, DEMAND_L_H),
        lambda: bench_levels(description, supply(banks), DEMAND_L_H),
    )


def main() -> None:
    """Measure and print."""
    text = table()
    print(text)
    before, mark, _ = PAGE.read_text("utf-8").partition(MARK)
    PAGE.write_text(f"{before}{mark}\n\n{text}\n", "utf-8")


def table() -> str:
    """Return the measured table."""
    dense = Dense(4)
    whole, small = seconds(dense.solve_all), seconds(dense.solve)
    slow = [statistics.median(whole), statistics.median(small)]
    rows = [
        "| what | pots | median ms | range ms | microseconds a pot | times faster than fsolve: all heads / by hand |",
        "|---|---|---|---|---|---|",
    ]
    for banks, repeats in ((4, 200), (40, 100), (400, 30)):
        pots = banks * BANK.pots
        for name, work in zip(("solver", "levels and flows", "from the description on"), ours(banks), strict=True):
            rows.append(line(name, pots, seconds(work, repeats), slow if banks == 4 else None))
    rows.append(line("scipy fsolve, all heads", 200, whole))
    rows.append(line("scipy fsolve, tree worked out by hand", 200, small))
    levels = bench_levels([BANK] * 4, supply(4), DEMAND_L_H)
    apart = max(
        float(np.abs(solution[b] - bank.depth_m).max())
        for solution in (dense.solve_all(), dense.solve())
        for b, bank in enumerate(levels.banks)
    )
    return "\n".join([*rows, "", f"Largest difference of any depth between the solvers: {apart:.1e} m."])


if __name__ == "__main__":
    main()
