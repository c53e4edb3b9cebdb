"""The command line: reads arguments, calls the answers, prints. Everything heavy is imported when it is used."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from wetfoot import __version__
from wetfoot.cli.book import book_app
from wetfoot.cli.options import Folder, Json
from wetfoot.cli.printing import print_json, print_problems, print_warnings
from wetfoot.cli.serving import passcode, serve
from wetfoot.cli.sites import Processes, Scheduler, SitesFile, plan_sites
from wetfoot.cli.solution import solution_app
from wetfoot.cli.stock import stock_app
from wetfoot.cli.trial import trial_app
from wetfoot.errors import WetfootError

if TYPE_CHECKING:
    from wetfoot.answers.dossier import Dossier

REFUSED, FAILED = 2, 1

app = typer.Typer(
    name="wetfoot",
    help="Plan, run and record a season of clean planting stock in pots that stand in nutrient solution.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)
app.add_typer(book_app, name="book")
app.add_typer(solution_app, name="solution")
app.add_typer(stock_app, name="stock")
app.add_typer(trial_app, name="trial")
app.command()(serve)
app.command()(passcode)

Runs = Annotated[int, typer.Option(min=10, max=5000, help="How often the season is computed, for its spread.")]


def main() -> None:
    """Run the command line; problems in the input end with code 2, anything unexpected with 1, never a traceback."""
    try:
        app()
    except WetfootError as error:
        if "--json" in sys.argv:
            print_json({"refused": [vars(problem) for problem in error.problems]})
        print_problems(error)
        raise SystemExit(REFUSED) from None
    except KeyboardInterrupt:
        typer.echo("Stopped; nothing was changed but what is named above.", err=True)
        raise SystemExit(FAILED) from None
    except Exception as error:
        if os.environ.get("WETFOOT_DEBUG"):
            raise
        typer.echo(f"Wetfoot failed: {type(error).__name__}: {error}", err=True)
        typer.echo("This is a fault of the program. Set WETFOOT_DEBUG=1 and run again to see where.", err=True)
        raise SystemExit(FAILED) from None


@app.callback(invoke_without_command=True)
def _version(version: Annotated[bool, typer.Option("--version", help="Print the version.")] = False) -> None:
    if version:
        typer.echo(f"wetfoot {__version__}")
        raise typer.Exit()


@app.command()
def new(
    folder: Annotated[Path, typer.Argument(help="The folder to make.", show_default=False)],
    units: Annotated[str, typer.Option(help="Units of the example: metric or US.")] = "metric",
    as_json: Json = False,
) -> None:
    """Make a season folder with a commented plan to change, and a real year of weather to replace."""
    from wetfoot.plan.example import new_folder

    made = new_folder(folder, units)
    if as_json:
        print_json({"answer": {"files": [str(path) for path in made]}, "units": units, "trace": {}, "warnings": []})
        return
    for path in made:
        typer.echo(f"wrote {path}")
    typer.echo(f"Change the plan to your bench, then run: wetfoot check {folder}")


@app.command()
def check(folder: Folder, as_json: Json = False) -> None:
    """Say all that is wrong in plan, book or folder (exit code 2), and what is risky (exit code 0)."""
    from wetfoot.answers.checking import check_season

    checked = check_season(folder)
    if as_json:
        print_json(checked.record())
        return
    typer.echo(f"{checked.plan.title}: the plan can be built. {checked.weather}")
    for line in checked.sound:
        typer.echo(line)
    print_warnings(checked.warnings)


@app.command()
def plan(
    folder: Folder,
    runs: Runs = 200,
    seed: int = 20,
    sites: SitesFile = None,
    scheduler: Scheduler = "",
    processes: Processes = 0,
    as_json: Json = False,
) -> None:
    """Compute the season, print the verdicts, write the sheets; with --sites, many sites and designs at once."""
    if sites is not None:
        plan_sites(folder, sites, runs, seed, processes, scheduler, as_json)
        return
    dossier = _computed(folder, runs, seed)
    written = _written(dossier, folder)
    if as_json:
        print_json({**dossier.record(), "files": [str(path) for path in written]})
        return
    _print_dossier(dossier, written)


@app.command()
def today(
    folder: Folder,
    on: Annotated[str, typer.Option(help="The day, as 2027-06-14; today if not given.")] = "",
    runs: Runs = 100,
    as_json: Json = False,
) -> None:
    """Say what to do at a visit: what to pour, where to look, what is due, when to come again."""
    from wetfoot.answers.visit_today import visit_today

    with _progress("Computing the season", runs) as done:
        found = visit_today(folder, on, runs, done)
    if as_json:
        print_json(found.record())
        return
    for line in found.lines():
        typer.echo(line)


@app.command()
def demo(
    folder: Annotated[Path, typer.Argument(help="Where to make it.")] = Path("demo-season"),
    runs: Runs = 200,
    as_json: Json = False,
) -> None:
    """Make an invented season on real weather, compute it, and write its sheets."""
    from wetfoot.answers.demo import demo_folder

    made = demo_folder(folder)
    dossier = _computed(folder, runs, 20)
    written = _written(dossier, folder)
    if as_json:
        print_json({**dossier.record(), "files": [str(path) for path in (*made, *written)]})
        return
    _print_dossier(dossier, written)
    typer.echo(f"\nAll of this is invented, but for the weather. The dossier is in {folder / 'sheets'}")


def _computed(folder: Path, runs: int, seed: int) -> Dossier:
    from wetfoot.answers.computing import compute_season

    with _progress("Computing the season", 100) as done:
        return compute_season(folder, runs, seed, lambda percent: done(round(percent)))


def _written(dossier: Dossier, folder: Path) -> tuple[Path, ...]:
    from wetfoot.plan.file import plan_path
    from wetfoot.sheets.dossier import write_sheets

    count = 0
    with _progress("Writing the sheets", None) as done:

        def one_more(_name: str) -> None:
            nonlocal count
            count += 1
            done(count)

        return write_sheets(dossier, plan_path(folder).parent, one_more)


@contextmanager
def _progress(title: str, total: int | None) -> Iterator[Any]:
    """Show a progress bar on standard error, and yield what to call with the number done."""
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (
        TextColumn("{task.description}"),
        BarColumn(),
        TextColumn("{task.completed}"),
        TimeElapsedColumn(),
    )
    with Progress(*columns, console=Console(stderr=True)) as bar:
        task = bar.add_task(title, total=total)
        yield lambda done: bar.update(task, completed=done)


def _print_dossier(dossier: Dossier, written: tuple[Path, ...]) -> None:
    from wetfoot.cli.printing import print_answers

    print_answers(dossier)
    typer.echo("")
    for path in written:
        typer.echo(f"wrote {path}")
