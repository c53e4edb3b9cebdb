"""The commands of the mixing table: what to weigh for the stocks, what to pour into the tank."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from wetfoot.cli.printing import print_answer, print_json

solution_app = typer.Typer(help="The two stocks and the dose.", no_args_is_help=True, rich_markup_mode=None)

Folder = Annotated[Path, typer.Argument(help="The season's folder, with its season.toml.", show_default=False)]
Json = Annotated[bool, typer.Option("--json", help="Print the result for machines.")]


@solution_app.command()
def dose(
    folder: Folder,
    tank: Annotated[str, typer.Option(help="What is in the tank now, as '400 L' or '100 gal'.", show_default=False)],
    ec: Annotated[str, typer.Option(help="Its EC by the meter, as '1.2 mS/cm'.", show_default=False)],
    temperature: Annotated[
        str, typer.Option(help="Of the solution, as '30 degC', if your meter does not correct for it.")
    ] = "",
    add: Annotated[str, typer.Option(help="Source water that goes in first, as '600 L'.")] = "",
    fill: Annotated[bool, typer.Option("--fill", help="Fill the tank with source water first.")] = False,
    target: Annotated[str, typer.Option(help="Wanted EC, if not the middle of the plan's band.")] = "",
    as_json: Json = False,
) -> None:
    """Say how much of stocks A and B goes into the tank now, or how much water if it is too strong."""
    from wetfoot.answers.dose import dose as dose_now
    from wetfoot.plan.file import read_plan
    from wetfoot.quantities import parse

    plan = read_plan(folder)
    tank_l = parse(tank, "volume", "--tank")
    added_l = parse(add, "volume", "--add") if add else 0.0
    found = dose_now(
        plan,
        tank_l,
        parse(ec, "conductivity", "--ec"),
        parse(temperature, "temperature", "--temperature") if temperature else None,
        max(plan.tank.volume_l - tank_l, 0.0) if fill else added_l,
        parse(target, "conductivity", "--target") if target else None,
    )
    if as_json:
        print_json(found.record())
        return
    print_answer(found.answer, plan.units)
