"""Compiled pieces of the season's kernel: reading tables, conductance, and moving species."""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

from wetfoot.season import columns as c
from wetfoot.season.bench import Bench

FREE, MEDIUM = 0, 1  # rows of the stores of species
# Rows of a nest's tables: what they hold at each row, and how one rises with another from that row to the next.
LEVEL, TOTAL, FREE_HELD, FREE_PER_TOTAL, LEVEL_PER_TOTAL, TOTAL_PER_LEVEL = range(6)


def tables_of(bench: Bench) -> NDArray[np.float64]:
    """Return the tables of every bank's nest, with their slopes; shape (banks, 6, rows)."""
    level, total, free = bench.level_m, bench.total_l, bench.free_l

    def slope(ys: NDArray[np.float64], xs: NDArray[np.float64]) -> NDArray[np.float64]:
        rise = np.diff(ys, axis=1) / np.diff(xs, axis=1)
        return np.concatenate([rise, rise[:, -1:]], axis=1)

    return np.stack([level, total, free, slope(free, total), slope(level, total), slope(total, level)], axis=1)


@njit(cache=True, error_model="numpy", forceinline=True)
def near(x, tables, b, by, row):  # type: ignore[no-untyped-def]
    """Return the row below x in a rising table, so that rows and the next bracket it, sought from a row nearby."""
    last = tables.shape[2] - 2
    while row < last and x >= tables[b, by, row + 1]:
        row += 1
    while row > 0 and x < tables[b, by, row]:
        row -= 1
    return row


@njit(cache=True, error_model="numpy", forceinline=True)
def read(x, tables, b, by, of, slope, row):  # type: ignore[no-untyped-def]
    """Linear interpolation from a row that is known, flat outside the table as numpy.interp."""
    end = tables.shape[2] - 1
    inside = min(max(x, tables[b, by, 0]), tables[b, by, end])
    return tables[b, of, row] + tables[b, slope, row] * (inside - tables[b, by, row])


@njit(cache=True, error_model="numpy")
def plain(bench, mmol):  # type: ignore[no-untyped-def]
    """Return the plain sum of what the ions conduct (see `reference.plain_ms_cm`)."""
    conductance, last = bench.conductance_ms_cm, len(mmol) - 1
    total = conductance[last] * mmol[last] if mmol[last] > 0 else -bench.acid_ms_cm * mmol[last]
    for i in range(last):
        total += conductance[i] * mmol[i]
    return total


@njit(cache=True, error_model="numpy", forceinline=True)
def interp(x, xs, ys):  # type: ignore[no-untyped-def]
    """Linear interpolation of one value, flat outside the table as numpy.interp, which is slow for one."""
    if x <= xs[0]:
        return ys[0]
    if x >= xs[-1]:
        return ys[-1]
    low, high = 0, len(xs) - 1
    while high - low > 1:
        middle = (low + high) // 2
        if xs[middle] <= x:
            low = middle
        else:
            high = middle
    return ys[low] + (ys[high] - ys[low]) * (x - xs[low]) / (xs[high] - xs[low])


@njit(cache=True, error_model="numpy")
def move_species(mmol, strength, uptake_ratio, charge, moved, pots):  # type: ignore[no-untyped-def]
    """Move every species of every pot through one step (see `reference._step`); alkalinity is the last.

    What came in is counted at the day's end, as the tank's solution keeps its strength until then.
    """
    species = mmol.shape[2]
    for b in range(len(pots)):
        pot = pots[b]
        inflow, drunk, leak, spill = pot.inflow_l, pot.drunk_part, pot.leak_part, pot.spill_part
        up, down = max(pot.moved_part, 0.0), min(pot.moved_part, 0.0)
        if drunk > 0:
            closing = 0.0
            for i in range(species):
                taken = mmol[b, MEDIUM, i] * min(uptake_ratio[i] * drunk, 1.0)
                closing += charge[i] * taken
                moved[b, c.UPTAKE, i] += taken
                mmol[b, MEDIUM, i] -= taken
            mmol[b, MEDIUM, species - 1] -= closing  # alkalinity has no ratio of its own
            moved[b, c.UPTAKE, species - 1] += closing
        if leak > 0:
            for i in range(species):
                moved[b, c.LEAKED, i] += (mmol[b, FREE, i] + inflow * strength[i]) * leak
                mmol[b, FREE, i] -= mmol[b, FREE, i] * leak
            inflow *= 1.0 - leak
        for i in range(species):
            free, medium = mmol[b, FREE, i] + inflow * strength[i], mmol[b, MEDIUM, i]
            flow = free * up + medium * down
            mmol[b, FREE, i], mmol[b, MEDIUM, i] = free - flow, medium + flow
        if spill > 0:
            for i in range(species):
                moved[b, c.OVERFLOW, i] += mmol[b, FREE, i] * spill
                mmol[b, FREE, i] -= mmol[b, FREE, i] * spill
