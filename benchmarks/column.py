"""How much faster the column is than scipy's stiff solvers at equal or smaller error: ratios in one run.

Prints Markdown tables and writes them into docs/column.md. All solve the same equations on the same slices with the
same curves. scipy is given the column's own compiled flows, a compiled exact Jacobian as a sparse matrix (as bands for
LSODA), and restarts at sunrise and sunset, where the demand has a kink. Below the water line water content does not
change with head, which scipy cannot solve; it is given a storage of 0.1 per metre there, with which it was found
fastest and which changes none of the digits compared.
"""

from __future__ import annotations

import math
import statistics
import sys
from collections.abc import Callable
from functools import partial
from itertools import pairwise
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray
from scipy.integrate import solve_ivp
from scipy.sparse import csc_matrix
from timing import middle_and_range_ms, seconds

from wetfoot.water.column import UPTAKE_LIMITS_KPA, ColumnRun, kernel_limits, run_column
from wetfoot.water.column_curves import Curves, medium_curves
from wetfoot.water.column_kernel import Grid, Limits, Work, look_up, new_work, rates
from wetfoot.water.column_slices import slice_nest
from wetfoot.water.medium import load_media
from wetfoot.water.nest import M_WATER_PER_KPA, Frustum, NestShape

Array = NDArray[np.float64]

DAYS, DEMAND_L_D, LEVEL_M, SATURATED_STORAGE_M = 10, 2.5, 0.05, 0.1
NEST = NestShape(Frustum(0.15, 0.16, 0.24), Frustum(0.11, 0.14, 0.24), Frustum(0.095, 0.075, 0.15), 0.0, 0.22)
REFERENCE = 1e-9
MEDIA = ("peat-perlite 3:1", "peat-perlite 1:1")
OUT_H = np.arange(3.0, 24.0 * DAYS + 1.0, 3.0)
OURS = tuple(1e-3 * 2.0**-k for k in range(14))
THEIRS = {
    "BDF": (1e-3, 1e-4, 1e-5, 1e-6),
    "Radau": (1e-3, 1e-4, 1e-5, 1e-6),
    "LSODA": (1e-4, 1e-5, 1e-6),
}
PAGE = Path(__file__).parents[1] / "docs" / "column.md"
BEGIN, END = "<!-- measured: begin -->", "<!-- measured: end -->"


class Measured(NamedTuple):
    """One solver with one tolerance: largest error of any head at any time, and times."""

    name: str
    tolerance: float
    error_cm: float
    taken: list[float]

    @property
    def middle(self) -> float:
        """Return the median time."""
        return statistics.median(self.taken)


@njit(error_model="numpy")
def _right_side(grid, curves, limits, head, demand, work, rate, storage):  # type: ignore[no-untyped-def]
    look_up(curves, head, work)
    rates(grid, limits, head, demand, 0.0, work, rate)
    for i in range(len(head)):
        work.known[i] = grid.volume_m3[i] * max(work.capacity[i], storage)
    return rate[1:] / work.known[1:]


@njit(error_model="numpy")
def _bands(grid, curves, limits, head, demand, work, rate, storage):  # type: ignore[no-untyped-def]
    """Return the exact Jacobian of `_right_side` as bands (upper, diagonal, lower; LAPACK's form)."""
    change = _right_side(grid, curves, limits, head, demand, work, rate, storage)
    n = len(change)
    bands = np.zeros((3, n))
    for i in range(n):
        j, unit = i + 1, curves.unit_m
        piece = curves.pieces[np.searchsorted(curves.pieces[:, 0], work.scaled[j], side="right") - 1]
        bend = (2.0 * piece[3] + 6.0 * piece[4] * (work.scaled[j] - piece[0])) / unit**2
        bend = bend if head[j] < 0.0 and work.capacity[j] > storage else 0.0
        bands[1, i] = (work.diagonal[j] - change[i] * grid.volume_m3[j] * bend) / work.known[j]
        if i > 0:
            bands[2, i - 1] = work.lower[j] / work.known[j]
        if i < n - 1:
            bands[0, i + 1] = work.upper[j] / work.known[j]
    return bands


@njit
def _columns(bands):  # type: ignore[no-untyped-def]
    """Return the entries of a tridiagonal matrix column by column."""
    n = bands.shape[1]
    entries, at = np.empty(3 * n - 2), 0
    for i in range(n):
        for band in range(3):
            if 0 <= i + band - 1 < n:
                entries[at] = bands[band, i]
                at += 1
    return entries


class Problem(NamedTuple):
    """The column as scipy sees it."""

    grid: Grid
    curves: Curves
    limits: Limits
    work: Work
    start: Array
    indices: NDArray[np.int32]
    pointers: NDArray[np.int32]


def problem(medium: str) -> Problem:
    """Return ten hot days in the check nest."""
    column, curves = slice_nest(NEST), medium_curves(load_media()[medium])
    full, none = (kpa * M_WATER_PER_KPA for kpa in UPTAKE_LIMITS_KPA)
    n = len(column.height_m) - 1
    pattern = csc_matrix(sum(np.eye(n, k=k) for k in (-1, 0, 1)))
    grid = Grid(column.rise_m, column.volume_m3, column.link_m, column.root_share)
    limits = kernel_limits(curves, 0.5, full, none, 1e-6)
    return Problem(grid, curves, limits, new_work(n + 1), LEVEL_M - column.height_m, pattern.indices, pattern.indptr)


def by_scipy(p: Problem, method: str, tolerance: float) -> Array:
    """Return the heads at the output times, restarting at every kink of the demand."""
    n = len(p.start) - 1
    peak, head, rate = DEMAND_L_D / 1000.0 * math.pi, p.start.copy(), np.empty(n + 1)
    kinks = np.concatenate([[0.0], np.arange(0.25, DAYS, 0.5), [float(DAYS)]])
    found = []
    for begin, end in pairwise(kinks):
        lit = 0.25 < (begin + end) / 2.0 % 1.0 < 0.75

        def demand(t: float, begin: float = begin, lit: bool = lit) -> float:
            return peak * math.sin(2.0 * math.pi * (t - begin)) if lit else 0.0

        def change(t: float, y: Array) -> Any:
            head[1:] = y
            return _right_side(p.grid, p.curves, p.limits, head, demand(t), p.work, rate, SATURATED_STORAGE_M)

        def bands(t: float, y: Array) -> Any:
            head[1:] = y
            return _bands(p.grid, p.curves, p.limits, head, demand(t), p.work, rate, SATURATED_STORAGE_M)

        def sparse(t: float, y: Array) -> Any:
            return csc_matrix((_columns(bands(t, y)), p.indices, p.pointers), shape=(n, n))

        out = OUT_H / 24.0
        times = out[(out > begin + 1e-9) & (out <= end + 1e-9)]
        wanted = np.append(times, end) if len(times) == 0 or times[-1] < end - 1e-9 else times
        own = {"lband": 1, "uband": 1, "jac": bands} if method == "LSODA" else {"jac": sparse}
        run = solve_ivp(change, (begin, end), head[1:].copy(), method, np.minimum(wanted, end),
                        rtol=tolerance, atol=tolerance * 0.01, **own)  # fmt: skip
        if not run.success:
            raise ArithmeticError(f"{method} at {tolerance:g} stopped at day {run.t[-1]:.3f}: {run.message}")
        found.append(run.y.T[: len(times)])
        head[1:] = run.y[:, -1]
    return np.concatenate(found)


def by_column(medium: str, tolerance_m: float) -> Callable[[], ColumnRun]:
    """Return our run of the same days, ready to be called."""
    column, curves = slice_nest(NEST), medium_curves(load_media()[medium])
    start = LEVEL_M - column.height_m
    return lambda: run_column(column, curves, start, OUT_H, LEVEL_M, (), DEMAND_L_D, tolerance_m=tolerance_m)


def measure(medium: str) -> tuple[list[Measured], list[Measured], float]:
    """Return our measurements, scipy's, and our largest relative mass error."""
    p, exact = problem(medium), by_column(medium, REFERENCE)().head_m
    ours, theirs, mass = [], [], 0.0
    for tolerance in OURS:
        run = by_column(medium, tolerance)
        done = run()
        mass = max(mass, done.mass_error)
        ours.append(Measured("column", tolerance, _off_cm(done.head_m, exact), seconds(run, 15)))
    for method, tolerances in THEIRS.items():
        for tolerance in tolerances:
            work = partial(by_scipy, p, method, tolerance)
            try:
                error = _off_cm(work(), exact[:, 1:])
            except (ArithmeticError, IndexError, AttributeError) as fault:  # the last two: how solve_ivp's LSODA fails
                print(f"{method} at {tolerance:g} failed: {fault!r}", file=sys.stderr)
                continue
            theirs.append(Measured(method, tolerance, error, seconds(work, 5)))
    return ours, theirs, mass


def _off_cm(head: Array, exact: Array) -> float:
    return float(np.abs(head - exact).max()) * 100.0


def tables(medium: str) -> list[str]:
    """Return the lines of one medium's tables."""
    ours, theirs, mass = measure(medium)
    lines = [f"**{medium}**, relative mass error of the column at most {mass:.0e}:", ""]
    lines += ["| column: tolerance, m | error, cm | median ms | range ms |", "|---|---|---|---|"]
    lines += [f"| {m.tolerance:.0e} | {m.error_cm:.1e} | {' | '.join(middle_and_range_ms(m.taken))} |" for m in ours]
    lines += [
        "",
        "| scipy: rtol | error, cm | median ms | range ms | column, no larger error, ms | times faster |",
    ]
    lines += ["|---|---|---|---|---|---|"]
    for m in theirs:
        good = [o.middle for o in ours if o.error_cm <= m.error_cm]
        times = " | ".join(middle_and_range_ms(m.taken))
        best = f"{min(good) * 1e3:.2f} | {m.middle / min(good):.1f}" if good else "none that good | "
        lines.append(f"| {m.name} {m.tolerance:.0e} | {m.error_cm:.1e} | {times} | {best} |")
    return [*lines, ""]


def main() -> None:
    """Measure, print, and put the tables into the page."""
    lines = [
        f"{DAYS} days of {DEMAND_L_D} L/d in the check nest, 110 intervals, heads wanted every 3 h. Error: the largest"
    ]
    lines += [f"of any head at any of these times, against the column at a tolerance of {REFERENCE:g} m.", ""]
    for medium in MEDIA:
        lines += tables(medium)
    print("\n".join(lines))
    before, after = PAGE.read_text("utf-8").split(BEGIN)[0], PAGE.read_text("utf-8").split(END)[1]
    PAGE.write_text(before + BEGIN + "\n" + "\n".join(lines) + END + after, "utf-8")


if __name__ == "__main__":
    main()
