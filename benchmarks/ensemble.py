"""A thousand seasons: the compiled ensemble against the same equations in vectorised numpy, in the same run.

Prints a Markdown table, peak memory, how time grows, and how near the kernel comes to the machine's limits. Numpy does
all years and banks at once, a step at a time, once with all the years and once with as many as its arrays keep in the
cache, its best case; on fewer days, as its time is linear in them. Its results are held to the kernel's. Beside the
time on the clock stands the time of the processors, which other work on the machine disturbs less.
"""

from __future__ import annotations

import resource
import statistics
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from importlib.resources import as_file, files
from typing import NamedTuple

import numpy as np
from ensemble_numpy import numpy_seasons
from timing import seconds

from wetfoot.plan.example import example_text
from wetfoot.plan.file import plan_from_text
from wetfoot.plan.model import Plan
from wetfoot.season import columns as c
from wetfoot.season import kernel
from wetfoot.season.bench import Bench, bench_arrays
from wetfoot.season.drivers import Drivers, drivers, warmth_of_calendar
from wetfoot.season.ensemble import run_ensemble
from wetfoot.weather.read import read_weather
from wetfoot.weather.seasons import Seasons, seasons

DAYS, BANKS, YEARS = 270, 16, 1000
NUMPY_CASES = ((YEARS, 4), (60, 20))  # years at once, days
# Counted by hand in `kernel`: additions, multiplications, divisions, comparisons and the exponential one each; uptake
# goes on in half of the steps.
WATER_OPERATIONS, SPECIES_OPERATIONS = 80, 11


def big_plan() -> Plan:
    """Return the example with sixteen banks over 270 days."""
    plan = plan_from_text(example_text())
    banks = tuple(plan.banks[b % 4].model_copy(update={"name": str(b)}) for b in range(BANKS))
    crop = plan.crop.model_copy(update={"harvest": plan.crop.planting + timedelta(days=DAYS)})
    tank = plan.tank.model_copy(update={"volume_l": 4000.0})
    return plan.model_copy(update={"banks": banks, "crop": crop, "tank": tank})


def invented_years(plan: Plan, years: int) -> Seasons:
    """Return years made from a real one: its days' rain shuffled within the month, its warmth shifted."""
    with as_file(files("pvlib").joinpath("data/723170TYA.CSV")) as path:
        weather = read_weather(path)
    laid = seasons(weather, plan.crop.planting, DAYS, plan.site.latitude_deg, plan.site.elevation_m)
    random, year = np.random.default_rng(1), laid.runs[0]
    month = np.arange(DAYS) // 30
    runs = []
    for _ in range(years):
        order = np.lexsort((random.random(DAYS), month))
        runs.append(replace(year, rain_mm=year.rain_mm[order], eto_mm=year.eto_mm * random.uniform(0.9, 1.1, DAYS)))
    return replace(laid, runs=tuple(runs))


def peak_mb() -> float:
    """Return the most memory that the process has held so far."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0


def operations(species: int) -> int:
    """Return the floating-point operations of a bank in a step."""
    return WATER_OPERATIONS + SPECIES_OPERATIONS * species


def best(work: Callable[[], object], repeats: int = 5) -> float:
    """Return the shortest of repeated times."""
    return min(seconds(work, repeats))


def machine_limits() -> tuple[float, float]:
    """Return what this machine does at its best: 1e9 operations a second (matrix product), GB/s (copying)."""
    a, b = np.random.default_rng(1).random((2, 1500, 1500))
    long = np.zeros(20_000_000)
    other = np.empty_like(long)
    return 2e-9 * 1500**3 / best(lambda: a @ b), 2e-9 * long.nbytes / best(lambda: np.copyto(other, long))


def same_numbers(bench: Bench, driven: list[Drivers]) -> float:
    """Return the largest difference between numpy's and the kernel's litres and mmol at the end of each year."""
    free_l, medium_l, free, medium = numpy_seasons(bench, driven)
    worst = 0.0
    for year, each in enumerate(driven):
        days = kernel.simulate(bench, each)
        gaps = (days.banks[-1, :, c.FREE_L] - free_l[year], days.banks[-1, :, c.MEDIUM_L] - medium_l[year])
        gaps += (days.bank_mmol[-1, :, c.FREE_END] - free[year], days.bank_mmol[-1, :, c.MEDIUM_END] - medium[year])
        worst = max(worst, *(float(np.abs(gap).max()) for gap in gaps))
    return worst


def cut(driven: Drivers, days: int) -> Drivers:
    """Return the middle of a season."""
    part = slice(120, 120 + days)
    names = ("transpiration_l", "evaporation_l", "rain_mm", "supply_open", "visit", "new_holes")
    return driven._replace(**{name: getattr(driven, name)[part] for name in names})


class Timing(NamedTuple):
    """Seconds on the clock and of the processors, of repeated runs."""

    clock: list[float]
    processors: list[float]

    def scaled(self, factor: float) -> Timing:
        """Return the times of so many times the work."""
        return Timing([factor * taken for taken in self.clock], [factor * taken for taken in self.processors])

    def cells(self) -> str:
        """Return the cells of a table."""
        parts = (f"{statistics.median(each):.3g} | {min(each):.3g} to {max(each):.3g}" for each in self)
        return " | ".join(parts)

    def over(self, other: Timing) -> str:
        """Return how many times these are another's, with the spread, on the clock and of the processors."""
        said = []
        for slow, fast in zip(self, other, strict=True):
            ratios = sorted(a / b for a in slow for b in fast)
            said.append(f"{statistics.median(ratios):.1f} ({ratios[0]:.1f} to {ratios[-1]:.1f})")
        return f"{said[0]} on the clock, {said[1]} of processor time"


def timed(work: Callable[[], object], repeats: int = 3) -> Timing:
    """Return the times of repeated runs of something that is compiled already."""
    found = Timing([], [])
    for _ in range(repeats):
        clock, processors = time.perf_counter(), time.process_time()
        work()
        found.clock.append(time.perf_counter() - clock)
        found.processors.append(time.process_time() - processors)
    return found


def main() -> None:
    """Measure and print."""
    plan = big_plan()
    bench, years = bench_arrays(plan), invented_years(plan, YEARS)
    warmth, species = warmth_of_calendar(plan.crop, years.runs), len(bench.charge)
    run_ensemble(plan, years, 2, 1)
    before = peak_mb()
    whole = timed(lambda: run_ensemble(plan, years, YEARS, 1))
    after = peak_mb()
    steps = YEARS * DAYS * 24 * BANKS / 1e6
    print(f"{YEARS} years x {DAYS} days x 24 steps x {BANKS} banks, {species} species: {steps:.0f} million bank steps.")
    print(f"Peak memory {after:.0f} MB, of which {before:.0f} MB before the thousand years were begun.")
    say_growth(plan, years)
    print()
    print("| what | clock s | range | processors s | range |\n|---|---|---|---|---|")
    print(f"| ensemble, all threads, with bands and totals | {whole.cells()} |")
    ratios = []
    for at_once, days in NUMPY_CASES:
        part = [cut(drivers(plan, run, warmth), days) for run in years.runs[:at_once]]
        numpy_seasons(bench, part[:2])
        plain = timed(lambda part=part: numpy_seasons(bench, part)).scaled(YEARS / at_once * DAYS / days)
        print(f"| numpy, {at_once} years at once, scaled from {days} days | {plain.cells()} |")
        ratios.append(f"Numpy with {at_once} years at once takes times the ensemble's: {plain.over(whole)}.")
    alone = timed(lambda: kernel.simulate(bench, drivers(plan, years.runs[0], warmth), by_day=False), 30)
    print(f"| kernel alone, one year | {alone.cells()} |\n")
    print("\n".join(ratios))
    print(f"They differ by {same_numbers(bench, part[:5]):.1e} L or mmol at most.")
    say_limits(statistics.median(alone.processors), species)


def say_limits(year_s: float, species: int) -> None:
    """Print what of the machine's measured limits the kernel reaches."""
    flops, copied = machine_limits()
    bank_steps = DAYS * 24 * BANKS
    rate = operations(species) * bank_steps / year_s / 1e9
    moved = 8 * (c.BANK_COLUMNS * BANKS + c.TANK_COLUMNS) * DAYS / year_s / 1e9
    print(
        f"Kernel on one processor: {year_s / bank_steps * 1e9:.0f} ns a bank step, about {rate:.1f}e9 operations "
        f"a second, {100 * rate / flops:.0f} % of a matrix product on all processors ({flops:.0f}e9); "
        f"{moved:.2f} GB/s written, {100 * moved / copied:.1f} % of copying ({copied:.0f} GB/s)."
    )


def say_growth(plan: Plan, years: Seasons) -> None:
    """Print how time and memory grow with years and banks."""
    for many in (2500, 5000, 10000):
        taken = timed(lambda many=many: run_ensemble(plan, years, many, 1), 1)
        each = 1e3 * taken.processors[0] / many
        print(f"{many} years: {taken.clock[0]:.1f} s, {each:.2f} ms of processor a year, peak {peak_mb():.0f} MB.")
    for banks in (4, 8, 16):
        fewer = plan.model_copy(update={"banks": plan.banks[:banks]})
        taken = timed(lambda fewer=fewer: run_ensemble(fewer, years, 500, 1))
        each = 1e3 * statistics.median(taken.processors) / 500 / banks
        print(f"{banks} banks: {each:.3f} ms of processor a year and bank.")


if __name__ == "__main__":
    main()
