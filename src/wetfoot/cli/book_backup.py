"""The commands that keep the book safe: a verified copy, putting one back, moving to another database."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from wetfoot.cli.options import Folder, Json
from wetfoot.cli.printing import print_json


def backup(
    folder: Folder,
    to: Annotated[Path | None, typer.Option(help="A folder, or a new .db file; else 'backups' in the season.")] = None,
    as_json: Json = False,
) -> None:
    """Copy the book into one file, also while it is in use, and compare the copy with it."""
    from wetfoot.book.backup import FOLDER, back_up

    location, where = _book_of(folder)
    made = back_up(location, to or where / FOLDER)
    if as_json:
        print_json(_result({"file": str(made.file), "sha256": made.sha256, "rows": made.contents.rows}))
        return
    typer.echo(f"wrote {made.file}: {made.contents.count} rows, compared with the book row by row")
    typer.echo(f"SHA-256 {made.sha256}, also in {made.file.name}.sha256. Keep a copy on another machine.")


def restore(
    folder: Folder,
    file: Annotated[Path, typer.Argument(help="The backup to put back.", show_default=False)],
    force: Annotated[bool, typer.Option("--force", help="Also if the book has rows that the backup lacks.")] = False,
    as_json: Json = False,
) -> None:
    """Put a backup in the place of the book; the book that was there is kept beside it."""
    from wetfoot.book.restoring import restore as put_back

    location, _ = _book_of(folder)
    done = put_back(location, file, force)
    warnings = [] if done.compared else [f"{file.name} had no .sha256 file beside it to compare it with"]
    if done.missing is None:
        warnings.append("the book that was there could not be read: what it held beyond the backup is not known")
    elif done.missing:
        warnings.append(f"{done.missing} rows of the book that was there are not in this one")
    aside = str(done.kept_aside) if done.kept_aside else None
    if as_json:
        print_json({**_result({"book": done.book, "rows": done.contents.rows, "kept_aside": aside}),
                    "warnings": warnings})  # fmt: skip
        return
    typer.echo(f"{done.book}: {done.contents.count} rows are back")
    if aside:
        typer.echo(f"what was there before is kept as {aside}")
    for warning in warnings:
        typer.echo(f"! {warning}")


def copy(
    folder: Folder,
    to: Annotated[str, typer.Argument(help="A postgresql:// address of an empty database, or a new .db file.")],
    as_json: Json = False,
) -> None:
    """Copy the book to a PostgreSQL server, or from one to a file, and compare both; the old one stays."""
    from wetfoot.book.backup import copy_book

    location, _ = _book_of(folder)
    held = copy_book(location, to)
    if as_json:
        print_json(_result({"rows": held.rows, "sums": held.sums}))
        return
    for table, rows in held.rows.items():
        typer.echo(f"  {table:14} {rows:8}  {held.sums[table][:16]}")
    typer.echo(
        f"copied {held.count} rows; both books hold the same. To use the new one, name it in the plan (book = ...)."
    )


def _book_of(folder: Path) -> tuple[str | Path, Path]:
    """Return where the season's book is, and the season's folder."""
    from wetfoot.answers.readings import book_location
    from wetfoot.plan.file import plan_path, read_plan

    where = plan_path(folder).parent
    return book_location(read_plan(folder), where), where


def _result(answer: dict[str, Any]) -> dict[str, Any]:
    return {"answer": answer, "units": "rows", "trace": {}, "warnings": []}
