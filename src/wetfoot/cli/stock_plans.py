"""The commands that plan planting stock: hot-water dip, generations, store."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from wetfoot.cli.options import Folder, Json
from wetfoot.cli.printing import print_answer, print_json

if TYPE_CHECKING:
    from wetfoot.quantities import System


def dip(
    diameter: Annotated[str, typer.Option(help="Thickness of the pieces.")] = "3 cm",
    bath: Annotated[str, typer.Option(help="Temperature to which the bath is set.")] = "50 C",
    minutes: Annotated[str, typer.Option(help="How long the pieces stay in.")] = "10",
    load: Annotated[str, typer.Option(help="Part of the bath's full volume that the pieces take.")] = "10 %",
    spread: Annotated[str, typer.Option(help="How much thicker and thinner pieces are.")] = "15 %",
    piece: Annotated[str, typer.Option(help="Temperature of the pieces before.")] = "25 C",
    us: Annotated[bool, typer.Option("--us", help="Print US units.")] = False,
    as_json: Json = False,
) -> None:
    """Say what a hot-water dip does at the core of seed pieces, and how long it would take."""
    from wetfoot.answers.dipping import dip_wish, dipping

    system: System = "US" if us else "metric"
    found = dipping(dip_wish(diameter, spread, bath, minutes, load, piece), system)
    if as_json:
        print_json(found.record(system))
        return
    print_answer(found.answer, system)


def generations(
    folder: Folder,
    pots: Annotated[str, typer.Option(help="Clean pots to begin with.")] = "12",
    first_yield: Annotated[str, typer.Option(help="What such a pot gives, as '2 kg'; as later pots if empty.")] = "",
    years: Annotated[str, typer.Option(help="Years to look ahead.")] = "5",
    as_json: Json = False,
) -> None:
    """Say year by year how a few clean pots become the field's seed, and what to do when short."""
    from wetfoot.answers.generation_plan import generation_plan, start_from
    from wetfoot.plan.file import read_plan
    from wetfoot.quantities import show

    found = generation_plan(read_plan(folder), start_from(pots, first_yield, years))
    if as_json:
        print_json(found.record())
        return
    units = found.plan.units
    print_answer(found.answer, units)
    tables = [("the bench's pots", found.bench), ("enough pots for the field", found.unbounded)]
    for title, list_ in tables if found.unbounded != found.bench else tables[:1]:
        typer.echo(f"\n  with {title}: planted, pots, harvest, cut seed ready, of it for the field")
        for year in list_:
            masses = [show(kg, "mass", units) for kg in (year.harvest_kg, year.seed_kg, year.field_kg)]
            typer.echo(
                f"    {year.planted}  {year.pots:>6}  {masses[0]:>10}  {masses[1]:>10} {year.ready}  {masses[2]:>10}"
                f"  {100 * year.field_share:.0f} %"
            )
    typer.echo("\n  what can be done:")
    for choice in found.choices:
        when = f"field planted with the seed of year {choice.year}" if choice.year else f"not in {years} years"
        typer.echo(f"    {choice.name}: {when}, {choice.pots} pots at most")


def store(
    folder: Folder,
    on: Annotated[str, typer.Option(help="The day, as 2027-03-15; the field's planting if not given.")] = "",
    as_json: Json = False,
) -> None:
    """Say what is left of each lot on a day, from its weighings and what storage takes."""
    from wetfoot.answers.store_view import store_view
    from wetfoot.plan.file import plan_path, read_plan
    from wetfoot.quantities import parse_day, show

    day = parse_day(on, "--on") if on else None
    found = store_view(read_plan(folder), plan_path(folder).parent, day)
    if as_json:
        print_json(found.record())
        return
    units = found.plan.units
    print_answer(found.answer, units)
    typer.echo("")
    for lot in found.lots:
        kg, low, high = (show(mass, "mass", units) for mass in (lot.left.kg, lot.left.low_kg, lot.left.high_kg))
        last = lot.rows[-1]
        told = f"{last.on} {last.what} {show(last.kg, 'mass', units)}"
        typer.echo(f"    {lot.lot:<24} {kg} ({low} to {high}){'  on hold' if lot.held else ''}  last: {told}")
