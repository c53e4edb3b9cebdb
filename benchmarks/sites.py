"""Many sites: processor time a site and a site-season, by processes of this machine and by a Dask cluster on it.

Prints a Markdown table, and what a region of 100,000 sites would take, extrapolated from it. The sites are invented:
places about the example's, whose typical year they share. Other work on the machine lengthens the time on the clock;
the processors' time is disturbed less.

    python benchmarks/sites.py [SITES] [RUNS]
"""

from __future__ import annotations

import os
import resource
import shutil
import sys
import tempfile
import time
from pathlib import Path

from wetfoot.answers.sites import Sites, plan_sites
from wetfoot.plan.example import new_folder

REGION, FEW = 100_000, 2
HEADS = "name,latitude,longitude,elevation,zone,weather"


def made_up_region(folder: Path, count: int) -> Path:
    new_folder(folder)
    lines = [
        f"Site {n},{34 + n % 30 / 10:.1f},{-82 + n // 30 / 10:.1f},{50 + n % 7 * 100} m,America/New_York,weather.csv"
        for n in range(count)
    ]
    table = folder / "table.csv"
    table.write_text("\n".join((HEADS, *lines)), "utf-8")
    return table


def processors_s() -> float:
    """Return the processors' time of this process and of its children that have ended."""
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(each.ru_utime + each.ru_stime for each in used)


def timed(
    folder: Path, table: Path, runs: int, processes: int | None, scheduler: str = ""
) -> tuple[Sites, float, float]:
    shutil.rmtree(folder / "sites", ignore_errors=True)
    clock, used = time.perf_counter(), processors_s()
    found = plan_sites(folder, table, runs, processes=processes, scheduler=scheduler)
    return found, time.perf_counter() - clock, processors_s() - used


def row(name: str, count: int, runs: int, clock_s: float, used_s: float) -> str:
    each = "" if used_s <= 0 else f"{used_s / count:.2f} | {1e3 * used_s / count / runs:.1f}"
    return f"| {name} | {count} | {runs} | {clock_s:.1f} | {count / clock_s:.2f} | {each or '- | -'} |"


def main() -> None:
    count, runs = (int(word) for word in sys.argv[1:3]) if len(sys.argv) > 2 else (24, 50)
    processors = os.cpu_count() or 1
    with tempfile.TemporaryDirectory() as temporary:
        folder = Path(temporary) / "season"
        table = made_up_region(folder, count)
        few = made_up_region(Path(temporary) / "few", FEW)
        start_s = timed(few.parent, few, runs, 1)[2]
        print("| how | sites | runs | clock s | sites a second | processor s a site | processor ms a site-season |")
        print("|---|---|---|---|---|---|---|")
        results = []
        for processes in sorted({1, processors}):
            results.append(timed(folder, table, runs, processes))
            print(row(f"{processes} process(es)", count, runs, *results[-1][1:]), flush=True)
        start = time.perf_counter()
        again = plan_sites(folder, table, runs)
        again_s = time.perf_counter() - start
        print(row("all kept: called again", count, runs, again_s, 0.0), flush=True)
        assert again.kept == count
        by_dask = on_dask(folder, table, runs, processors)
        assert by_dask is None or by_dask.rows == results[0][0].rows == results[-1][0].rows, "numbers differ"
        kept = sum(path.stat().st_size for path in (folder / "sites").rglob("*") if path.is_file())
        # what a process needs to start is not needed again for each site
        each_s = (results[0][2] - start_s) / (count - FEW)
        hours = each_s * REGION / 3600
        print(f"\nEach further site: {each_s:.2f} processor s, {1e3 * each_s / runs:.1f} ms a site-season.")
        print(f"{REGION:,} sites, extrapolated: {hours:.1f} processor hours, {hours / 8:.1f} h on 8 processors, "
              f"{hours / 64:.1f} h on 64; {kept / count * REGION / 1e6:.0f} MB written; "
              f"{again_s / count * REGION / 60:.0f} min to look through if all are kept.")  # fmt: skip


def on_dask(folder: Path, table: Path, runs: int, workers: int) -> Sites | None:
    try:
        from distributed import LocalCluster
    except ImportError:
        print("The extra 'sites' is not installed: no Dask cluster.")
        return None
    with LocalCluster(
        n_workers=workers, threads_per_worker=1, processes=True, dashboard_address=None, local_directory=str(folder)
    ) as cluster:
        found, clock_s, _ = timed(folder, table, runs, None, cluster.scheduler_address)
    print(row(f"Dask, {workers} workers", found.computed, runs, clock_s, 0.0), flush=True)
    return found


if __name__ == "__main__":
    main()
