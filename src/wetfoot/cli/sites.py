"""The plan command for many sites: computed by all processors or a Dask scheduler, told as one table and a map."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from wetfoot.cli.printing import print_json

if TYPE_CHECKING:
    from wetfoot.answers.sites import Sites

SHOWN_REFUSED = 10

SitesFile = Annotated[
    Path | None,
    typer.Option("--sites", help="A CSV of many sites, one a row: computes them all.", show_default=False),
]
Scheduler = Annotated[
    str, typer.Option("--scheduler", help="With --sites: address of a Dask scheduler, as tcp://host:8786.")
]
Processes = Annotated[
    int, typer.Option("--processes", min=0, help="With --sites: processes at work; 0 for one a processor.")
]


def plan_sites(
    folder: Path,
    sites: Path,
    runs: int,
    seed: int,
    processes: int = 0,
    scheduler: str = "",
    as_json: bool = False,
) -> None:
    """Compute every site of a table, write the table of results and the map, and print what they came to.

    Args:
        folder: the season's folder.
        sites: the table of sites.
        runs: seasons for each site.
        seed: of the random numbers.
        processes: at work at once; 0 for one a processor.
        scheduler: address of a Dask scheduler, if one shall compute.
        as_json: print the result for machines.
    """
    from wetfoot.answers.sites import plan_sites as compute

    with _progress("Computing the sites") as done:
        found = compute(folder, sites, runs, seed, processes or None, scheduler, done)
    found.files = (*found.files, *_maps(found))
    if as_json:
        print_json(found.record())
        return
    _print(found)


def _maps(found: Sites) -> Iterator[Path]:
    """Write a map for each design, as the points of several would hide each other."""
    from wetfoot.drawing.charts import chart_svg
    from wetfoot.drawing.sites_chart import MARKS, sites_chart

    designs = list(dict.fromkeys(row["design"] for row in found.rows))
    for number, design in enumerate(designs, start=1):
        rows = [row for row in found.rows if row["design"] == design]
        if not any(row["verdict"] in MARKS for row in rows):
            continue
        path = found.folder / (f"map-{number}.svg" if len(designs) > 1 else "map.svg")
        title = f"Sites, design {design}" if design else "Sites, as the plan says"
        path.write_text(chart_svg(sites_chart(rows, title)), "utf-8")
        yield path


def _print(found: Sites) -> None:
    counts = found.verdicts
    typer.secho(", ".join(f"{count} {verdict}" for verdict, count in counts.items()), bold=True)
    typer.echo(f"{found.computed} computed now, {found.kept} kept from before.")
    if found.computed:
        typer.echo(f"{found.seconds / found.computed:.2f} s on the clock a site, in its process.")
    _print_refused([problem for problems in found.refused.values() for problem in problems])
    typer.echo("")
    for path in found.files:
        typer.echo(f"wrote {path}")


def _print_refused(problems: Sequence[dict[str, str]]) -> None:
    for problem in problems[:SHOWN_REFUSED]:
        typer.echo(f"! {problem['where']}: {problem['what']}")
    if len(problems) > SHOWN_REFUSED:
        typer.echo(f"! {len(problems) - SHOWN_REFUSED} more problems; refused.csv lists them all.")


@contextmanager
def _progress(title: str) -> Iterator[Callable[[int, int], None]]:
    """Show a progress bar on standard error, and yield what to call with the number done and of all."""
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

    columns: tuple[Any, ...] = (
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
        TimeRemainingColumn(),
    )
    with Progress(*columns, console=Console(stderr=True)) as bar:
        task = bar.add_task(title, total=None)
        yield lambda done, total: bar.update(task, completed=done, total=total)
