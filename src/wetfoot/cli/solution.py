"""The commands of the mixing table: what to weigh for the stocks, what to pour into the tank."""

from __future__ import annotations

from typing import Annotated

import typer

from wetfoot.cli.options import Folder, Json
from wetfoot.cli.printing import print_answer, print_json

solution_app = typer.Typer(help="The two stocks and the dose.", no_args_is_help=True, rich_markup_mode=None)


@solution_app.command()
def stocks(
    folder: Folder,
    target: Annotated[str, typer.Option(help="A standard solution, if not the plan's recipe.")] = "",
    fold: Annotated[float, typer.Option(min=0, help="Litres that a litre of each makes, if not the recipe's.")] = 0.0,
    write: Annotated[bool, typer.Option("--write", help="Put the stocks into the plan.")] = False,
    as_json: Json = False,
) -> None:
    """Work out what to weigh for the two stocks, from target, water, shelf and coldest night."""
    from wetfoot.answers.stocks import stocks as work_out
    from wetfoot.answers.stocks import write_stocks
    from wetfoot.plan.file import read_plan

    found = work_out(read_plan(folder), target, fold or None)
    written = write_stocks(found, folder) if write else None
    if as_json:
        print_json({**found.record(), "files": [str(written)] if written else []})
        return
    print_answer(found.answer, found.plan.units)
    typer.echo("")
    for stock, name, per_litre, per_barrel in found.rows():
        typer.echo(f"    stock {stock}  {name:<40} {per_litre:>12} {per_barrel:>14} a barrel")
    if written:
        typer.echo(f"\nwrote {written}; run 'wetfoot plan' to print the mixing sheet anew")
    else:
        typer.echo("\nThe plan was not changed; --write puts these stocks into it.")


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


@solution_app.command()
def acid(
    folder: Folder,
    ph: Annotated[float, typer.Option(help="The pH that is wanted.")] = 6.0,
    water_ph: Annotated[float, typer.Option(help="The pH of the water as it comes.")] = 7.8,
    as_json: Json = False,
) -> None:
    """Say how much acid the source water would take to a pH; information, with its cautions."""
    from wetfoot import __version__
    from wetfoot.answers.acid import acid as acid_for
    from wetfoot.plan.file import read_plan

    plan = read_plan(folder)
    found = acid_for(plan, ph, water_ph)
    if as_json:
        trace = {"plan": plan.title, "wetfoot": __version__}
        print_json({"answer": found.record(plan.units), "units": plan.units, "trace": trace,
                    "warnings": list(found.warnings)})  # fmt: skip
        return
    print_answer(found, plan.units)
