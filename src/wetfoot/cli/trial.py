"""The commands of the trial: lay out, how many blocks, analyse and recommend."""

from __future__ import annotations

import textwrap
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from wetfoot.cli.options import Json
from wetfoot.cli.printing import WIDTH, print_answer, print_json, print_warnings

if TYPE_CHECKING:
    from wetfoot.answers.trial_cells import ReportTable
    from wetfoot.answers.trial_recommendation import Recommendation
    from wetfoot.answers.trial_report import Report
    from wetfoot.quantities import System

trial_app = typer.Typer(
    help="The trial: lay out and label, how many blocks, analyse and recommend.",
    no_args_is_help=True,
    rich_markup_mode=None,
)

Files = Annotated[list[Path], typer.Argument(help="CSV or XLSX, one row a pot; several are several years.",
                                             show_default=False)]  # fmt: skip
Season = Annotated[Path | None, typer.Option(help="A season's folder, for its prices and losses.")]


@trial_app.command()
def analyse(
    files: Files,
    response: Annotated[str, typer.Option(help="Heading of what was measured; guessed and said if left out.")] = "",
    block: Annotated[str, typer.Option(help="Heading of the blocks.")] = "",
    board: Annotated[str, typer.Option(help="Heading of the boards.")] = "",
    year: Annotated[str, typer.Option(help="Heading of the years.")] = "",
    pot: Annotated[str, typer.Option(help="Heading of the pots' codes.")] = "",
    lost: Annotated[str, typer.Option(help="Heading of the loss codes.")] = "",
    split: Annotated[str, typer.Option(help="Heading of the column that tells whether a pot split.")] = "",
    board_factor: Annotated[list[str] | None, typer.Option(help="A factor on whole boards; repeat for more.")] = None,
    pot_factor: Annotated[list[str] | None, typer.Option(help="A factor on pots; repeat for more.")] = None,
    quantitative: Annotated[list[str] | None, typer.Option(help="A factor whose numbers have a meaning.")] = None,
    terms: Annotated[str, typer.Option(help="Terms to fit, as 'gutter, pieces, gutter:pieces'; all if left out.")] = "",
    unit: Annotated[str, typer.Option(help="Of the response, if its heading has none: g, kg, oz or lb.")] = "",
    sheet: Annotated[str, typer.Option(help="Worksheet of a workbook.")] = "",
    layout: Annotated[Path | None, typer.Option(help="The trial's layout, to read one file against.")] = None,
    margin: Annotated[list[str] | None, typer.Option(help="An agreed loss, as 'pot=air by 5 %'.")] = None,
    piece: Annotated[str, typer.Option(help="Mass of a seed piece.")] = "",
    season: Season = None,
    alpha: Annotated[float, typer.Option(help="Level of the tests.", min=0.001, max=0.3)] = 0.05,
    report: Annotated[Path | None, typer.Option(help="Folder to write the report to, PDF and XLSX.")] = None,
    full: Annotated[bool, typer.Option("--full", help="Print all tables.")] = False,
    as_json: Json = False,
) -> None:
    """Analyse a trial's table: tests with the right error, means, shape, splits, what was lost; then recommend."""
    from wetfoot.answers.trial_answers import answers
    from wetfoot.answers.trial_report import trial_report
    from wetfoot.answers.trial_report_tables import main_tables, tables
    from wetfoot.answers.trial_table import Asked

    asked = Asked(
        response, block, board, year, pot, lost, split, tuple(board_factor or ()), tuple(pot_factor or ()),
        None if quantitative is None else tuple(quantitative),
        tuple(term.strip() for term in terms.split(",") if term.strip()), unit, sheet or None,
    )  # fmt: skip
    made = trial_report(files, asked, tuple(margin or ()), piece, season, alpha, layout)
    written = _written(made, report) if report else ()
    if as_json:
        print_json({**made.record(), "files": [str(path) for path in written]})
        return
    found = made.findings
    typer.secho(f"{', '.join(found.table.sources)}: {len(found.table.y)} pots, {found.analysis.method}", bold=True)
    for guess in found.table.said:
        typer.echo(f"  guessed: {guess}")
    for table in tables(found) if full else main_tables(found):
        _print_table(table)
    for answer in answers(found):
        print_answer(answer, made.units)
    if made.recommendation:
        _print_recommendation(made.recommendation, made.units)
    for path in written:
        typer.echo(f"wrote {path}")


def _written(made: Report, folder: Path) -> tuple[Path, ...]:
    # what draws and prints is slow to import, and a refusal should not wait for it
    from wetfoot.sheets.trial_files import write_report

    return write_report(made, folder)


def _print_recommendation(advice: Recommendation, units: System) -> None:
    print_answer(advice.answer, units)
    for table in advice.tables(units):
        _print_table(table)
    if advice.suggestion:
        print_warnings([advice.suggestion.words])


@trial_app.command()
def layout(
    folder: Annotated[Path, typer.Argument(help="Where to write it; a season's trial goes into FOLDER/trial.",
                                           show_default=False)],
    factor: Annotated[list[str], typer.Option(help="As 'gutter=no,yes@boards' or 'pieces=1,2,3,4@pots'.",
                                              show_default=False)],
    seed: Annotated[str, typer.Option(help="Any text; the same text draws the same layout for ever.",
                                      show_default=False)],
    blocks: Annotated[int, typer.Option(help="How many blocks.")] = 4,
    year: Annotated[int, typer.Option(help="Of the trial; this year if left out.")] = 0,
    arrangement: Annotated[str, typer.Option(help="Of pots along boards: random, latin or neighbour.")] = "random",
    times: Annotated[int, typer.Option(help="Pots of each treatment on a board.")] = 1,
    boards_each: Annotated[int, typer.Option(help="Boards of each treatment in a block.")] = 1,
    boards_per_set: Annotated[int, typer.Option(help="Boards that one set of treatments is spread over.")] = 1,
    guards: Annotated[int, typer.Option(help="Guard pots at each end of a board.")] = 0,
    blind: Annotated[bool, typer.Option("--blind", help="Show codes instead of treatments.")] = False,
    labels: Annotated[str, typer.Option(help="Grid of the label sheets, as a4-21.")] = "",
    start: Annotated[int, typer.Option(help="First free label on the first sheet.")] = 1,
    offset: Annotated[tuple[float, float], typer.Option(help="Move labels right and down, in mm.")] = (0.0, 0.0),
    per_pot: Annotated[int, typer.Option(help="Labels for each pot.")] = 1,
    replace: Annotated[bool, typer.Option("--replace", help="Write over another layout that is there.")] = False,
    as_json: Json = False,
) -> None:  # fmt: skip
    """Draw a trial by lot and write layout, map, labels, weighing list and scoring form."""
    from wetfoot.answers.trial_layout import read_factor, recipe_of, trial_layout

    factors = tuple(read_factor(typed) for typed in factor)
    recipe = recipe_of(factors, blocks, seed, year, arrangement, times, boards_each, boards_per_set, guards, blind)
    laid = trial_layout(recipe)
    from wetfoot.sheets.trial_files import LabelWish, write_layout  # slow to import: after what may be refused

    written = write_layout(laid, folder, LabelWish(labels, start, offset, per_pot), replace)
    if as_json:
        print_json({**laid.record(), "files": [str(path) for path in written]})
        return
    print_answer(laid.answer, "metric")
    _print_table(laid.skeleton_table)
    for path in written:
        typer.echo(f"wrote {path}")


@trial_app.command()
def power(
    factor: Annotated[list[str], typer.Option(help="As 'gutter=no,yes@boards' or 'pieces=1,2,3,4@pots'.",
                                              show_default=False)],
    cv: Annotated[str, typer.Option(help="Pot to pot, coefficient of variation.")] = "12 %",
    board_cv: Annotated[str, typer.Option(help="Board to board, in a block.")] = "4 %",
    difference: Annotated[str, typer.Option(help="That matters, of the mean.")] = "15 %",
    blocks: Annotated[str, typer.Option(help="Range of blocks to show, as 2-8.")] = "2-8",
    years: Annotated[int, typer.Option(help="Years the trial stands.", min=1, max=30)] = 1,
    year_cv: Annotated[str, typer.Option(help="Treatment means from year to year, to speak of years like these.")] = "",
    wanted: Annotated[str, typer.Option("--power", help="Wanted power.")] = "80 %",
    lost: Annotated[int, typer.Option(help="Pots lost, for a check by simulation.", min=0)] = 0,
    alpha: Annotated[float, typer.Option(help="Level of the tests.", min=0.001, max=0.3)] = 0.05,
    past: Annotated[list[Path] | None, typer.Option(help="Past tables to take the coefficients from.")] = None,
    as_json: Json = False,
) -> None:  # fmt: skip
    """Say how many blocks it takes to find a difference that matters."""
    from wetfoot.answers.trial_layout import read_factor
    from wetfoot.answers.trial_power import read_power, trial_power

    wish = read_power(tuple(read_factor(typed) for typed in factor), cv, board_cv, difference, blocks, years, year_cv,
                      wanted, lost, alpha, tuple(past or ()))  # fmt: skip
    found = trial_power(wish)
    if as_json:
        print_json(found.record())
        return
    print_answer(found.answer, "metric")
    for table in found.tables:
        _print_table(table)


def _print_table(table: ReportTable) -> None:
    """Print a table with its columns aligned, its title above and its note below."""
    shown, first = table.shown, table.first_number
    typer.secho(f"\n{table.title}", bold=True)
    if shown:
        columns = [[head, *(row[at] for row in shown)] for at, head in enumerate(table.heads)]
        widths = [max(map(len, column)) for column in columns]
        for row in (list(table.heads), *shown):
            cells = [
                c.ljust(w) if at < first else c.rjust(w) for at, (c, w) in enumerate(zip(row, widths, strict=True))
            ]
            typer.echo(("  " + "  ".join(cells)).rstrip())
    if table.note:
        typer.echo(textwrap.fill(table.note, WIDTH, initial_indent="  ", subsequent_indent="  "))
