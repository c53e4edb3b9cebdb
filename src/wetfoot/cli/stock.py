"""The commands of clean stock."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from wetfoot.cli.options import Folder, Json
from wetfoot.cli.printing import print_answer, print_json
from wetfoot.cli.stock_plans import dip, generations, store

if TYPE_CHECKING:
    from datetime import date

stock_app = typer.Typer(
    help="Clean stock: what to test, who was exposed, is it enough.", no_args_is_help=True, rich_markup_mode=None
)

for command in (dip, generations, store):
    stock_app.command()(command)


@stock_app.command()
def sample(
    lot: Annotated[int, typer.Argument(help="Units in the lot: pots, or pieces.", show_default=False)],
    level: Annotated[str, typer.Option(help="The level that must not go unseen.")] = "5 %",
    certainty: Annotated[str, typer.Option(help="With which it shall be found.")] = "95 %",
    sensitivity: Annotated[str, typer.Option(help="Of the test: what it finds of infected units.")] = "90 %",
    pool: Annotated[int, typer.Option(help="Units in one test.")] = 1,
    as_json: Json = False,
) -> None:
    """Say how many to test, pooled how, and what may be said if none is positive."""
    from wetfoot.answers.sampling import sampling, typed_wish

    found = sampling(typed_wish(lot, level, certainty, sensitivity, pool, "--"))
    if as_json:
        print_json(_record(found.record("metric"), list(found.warnings), "metric"))
        return
    print_answer(found, "metric")


@stock_app.command()
def exposed(
    folder: Folder,
    suspect: Annotated[str, typer.Argument(help="A pot's code as 'East 3', a lot or a batch.", show_default=False)],
    agent: Annotated[str, typer.Option(help="The disease, if it is known.")] = "not known",
    since: Annotated[str, typer.Option(help="Since when it may be infected, as 2027-05-01.")] = "",
    as_json: Json = False,
) -> None:
    """Say who shared water, knife, batch or parent with a suspect: what to hold, what may still be sold."""
    from wetfoot.answers.exposure import exposure
    from wetfoot.plan.file import plan_path, read_plan
    from wetfoot.quantities import parse_day

    start = parse_day(since, "--since") if since else None
    found = exposure(read_plan(folder), plan_path(folder).parent, suspect, agent, start)
    if as_json:
        print_json(found.record())
        return
    print_answer(found.answer, found.plan.units)
    typer.echo("")
    for what, day, way in found.rows():
        typer.echo(f"    hold {what:<24} since {day}  {way}")
    if found.sources:
        typer.echo(f"    it may have come from: {', '.join(found.sources)}")


@stock_app.command()
def supply(folder: Folder, as_json: Json = False) -> None:
    """Say whether pots and seed are enough, with which certainty, and what clean seed costs."""
    from wetfoot.answers.enough import bank_size, enough
    from wetfoot.answers.money import money
    from wetfoot.answers.supply import supply as supply_of
    from wetfoot.plan.file import read_plan

    plan = read_plan(folder)
    supplied, paid = supply_of(plan), money(plan)
    answers = [supplied.answer, enough(plan, supplied), bank_size(plan), *([paid.answer] if paid else [])]
    if as_json:
        warnings = [words for answer in answers for words in answer.warnings]
        print_json(_record([answer.record(plan.units) for answer in answers], warnings, plan.units))
        return
    for answer in answers:
        print_answer(answer, plan.units)


@stock_app.command()
def sheets(
    folder: Folder,
    lot: Annotated[list[str] | None, typer.Option(help="Label and pedigree of this lot; repeat for more.")] = None,
    suspect: Annotated[str, typer.Option(help="Exposure report: a pot as 'East 3', a lot or a batch.")] = "",
    ship: Annotated[str, typer.Option(help="Dispatch note for this lot; with --to and --kg.")] = "",
    to: Annotated[str, typer.Option(help="To whom it goes.")] = "",
    kg: Annotated[str, typer.Option(help="How much goes, as 12 or '25 lb'.")] = "",
    permit: Annotated[str, typer.Option(help="Number of the permit it goes with, as it shall be printed.")] = "",
    on: Annotated[str, typer.Option(help="The day, as 2027-06-14; today if not given.")] = "",
    agent: Annotated[str, typer.Option(help="The suspect's disease, or what the sample is tested for.")] = "",
    level: Annotated[str, typer.Option(help="The level that the sample must not miss.")] = "10 %",
    certainty: Annotated[str, typer.Option(help="With which it shall be found.")] = "95 %",
    sensitivity: Annotated[str, typer.Option(help="Of the test: what it finds of infected pots.")] = "90 %",
    pool: Annotated[int, typer.Option(help="Pots in one test.")] = 1,
    seed: Annotated[
        str, typer.Option(help="Any text; the same text draws the same pots. Day and agent if empty.")
    ] = "",
    grid: Annotated[str, typer.Option(help="Grid of the label sheets, as a4-14.")] = "",
    start: Annotated[int, typer.Option(help="First free label on the first sheet.")] = 1,
    offset: Annotated[tuple[float, float], typer.Option(help="Move labels right and down, in mm.")] = (0.0, 0.0),
    each: Annotated[int, typer.Option(help="Labels of each lot.")] = 1,
    as_json: Json = False,
) -> None:
    """Write what was asked for into FOLDER/sheets/stock: labels, pedigree, inspection list, exposure, dispatch note.

    With nothing named: the day's inspection list with the pots to sample, and labels and pedigrees of all lots.
    """
    from wetfoot.answers.sampling import typed_wish
    from wetfoot.plan.file import plan_path, read_plan
    from wetfoot.sheets.stock_sheets import (
        InspectionWish,
        LabelsWish,
        ShipmentWish,
        StockWish,
        write_stock_sheets,
    )

    plan = read_plan(folder)
    wish = StockWish(
        _day(on),
        tuple(lot or ()),
        suspect.strip(),
        agent or "not known",
        ShipmentWish(ship, to, _kilograms(kg), permit) if ship else None,
        LabelsWish(grid, start, offset, each),
        InspectionWish(typed_wish(1, level, certainty, sensitivity, pool, "--"), agent or "bacterial wilt", seed),
    )
    written = write_stock_sheets(plan, plan_path(folder).parent, wish)
    if as_json:
        print_json(written.record(plan))
        return
    if written.sample:
        print_answer(written.sample.answer, plan.units)
        for number, pots in enumerate(written.sample.pools, 1) if pool > 1 else ():
            typer.echo(f"    test {number}: {', '.join(pots)}")
        if pool == 1 and written.sample.pools:
            typer.echo(f"    sample, in the order drawn: {', '.join(pots for (pots,) in written.sample.pools)}")
    for path in written.files:
        typer.echo(f"wrote {path}")


def _day(typed: str) -> date:
    from datetime import date

    from wetfoot.quantities import parse_day

    return parse_day(typed, "--on") if typed else date.today()


def _kilograms(typed: str) -> float:
    from wetfoot.quantities import parse

    bare = typed.strip().replace(".", "", 1).isdecimal()
    return parse(f"{typed.strip()} kg" if bare else typed, "mass", "--kg")


def _record(answer: Any, warnings: list[str], units: str) -> dict[str, Any]:
    from wetfoot import __version__

    return {"answer": answer, "units": units, "trace": {"wetfoot": __version__}, "warnings": warnings}
