"""How much faster the compiled season is than the same equations in plain Python: ratios in one run.

Prints a Markdown table: median and range of repeated runs, side by side.
"""

from __future__ import annotations

import statistics
from importlib.resources import as_file, files

from timing import row, seconds

from wetfoot.plan.example import example_text
from wetfoot.plan.file import plan_from_text
from wetfoot.season import kernel, reference
from wetfoot.season.bench import bench_arrays
from wetfoot.season.drivers import drivers, warmth_of_calendar
from wetfoot.season.ensemble import run_ensemble
from wetfoot.weather.read import read_weather
from wetfoot.weather.seasons import seasons


def main() -> None:
    """Measure and print."""
    plan = plan_from_text(example_text())
    with as_file(files("pvlib").joinpath("data/723170TYA.CSV")) as path:
        weather = read_weather(path)
    laid = seasons(weather, plan.crop.planting, plan.crop.season_d, plan.site.latitude_deg, plan.site.elevation_m)
    bench = bench_arrays(plan)
    driven = drivers(plan, laid.runs[0], warmth_of_calendar(plan.crop, laid.runs))
    plain = seconds(lambda: reference.simulate(bench, driven))
    fast = seconds(lambda: kernel.simulate(bench, driven), 50)
    whole = seconds(lambda: run_ensemble(plan, laid, 200, 1), 3)
    slow = statistics.median(plain)
    print(f"One season: {len(laid.runs[0].dates)} days, hourly, {len(plan.banks)} banks.\n")
    print("| what | median ms | range ms | times faster than the plain reference |")
    print("|---|---|---|---|")
    print(row("plain reference, one season", plain, slow))
    print(row("compiled kernel, one season", fast, slow))
    print(row("200 seasons with bands and totals", whole, 200 * slow))


if __name__ == "__main__":
    main()
