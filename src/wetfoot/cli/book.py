"""The commands of the season's book: take records in, give them out."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from wetfoot.cli.book_backup import backup, copy, restore
from wetfoot.cli.options import Folder, Json
from wetfoot.cli.printing import print_json

book_app = typer.Typer(
    help="The season's records: import, export, backup and restore.", no_args_is_help=True, rich_markup_mode=None
)


@book_app.command(name="import")
def import_(
    folder: Folder,
    file: Annotated[Path, typer.Argument(help="A CSV or XLSX file with one record a row.", show_default=False)],
    who: Annotated[str, typer.Option(help="Who wrote the records, where a row does not say.")] = "",
    as_json: Json = False,
) -> None:
    """Take records into the book; doubtful and unreadable rows are listed, and nothing is dropped."""
    from wetfoot.answers.records import import_file

    report = import_file(folder, file, who)
    if as_json:
        print_json(report.record())
        return
    for line in report.lines():
        typer.echo(line)


@book_app.command(name="export")
def export(
    folder: Folder,
    file: Annotated[Path, typer.Argument(help="The CSV or XLSX file to write.", show_default=False)],
    as_json: Json = False,
) -> None:
    """Write every record of the book, corrected ones included."""
    from wetfoot.answers.records import export_file

    count = export_file(folder, file)
    if as_json:
        print_json({"answer": {"records": count, "file": str(file)}, "units": "base", "trace": {}, "warnings": []})
        return
    typer.echo(f"wrote {count} records to {file}")


for _command in (backup, restore, copy):
    book_app.command()(_command)
