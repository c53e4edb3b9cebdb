"""Everything that was recorded: look through it, correct it, take files in and give them out."""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

from fastapi import APIRouter, Form, Request, Response, UploadFile
from fastapi.responses import FileResponse, RedirectResponse
from starlette.background import BackgroundTask

from wetfoot.answers.health import PHOTOS
from wetfoot.answers.listing import Text, found_page, records_page, texts
from wetfoot.answers.recording import correct_entry, withdraw_entry
from wetfoot.answers.records import export_file, import_file
from wetfoot.answers.settling import count_kept_aside
from wetfoot.book.spreadsheet import MOST_BYTES
from wetfoot.errors import refuse
from wetfoot.web.letting_in import Looking, Opened, Planning, Recording
from wetfoot.web.rendering import render, still_working

router = APIRouter(include_in_schema=False)
A_PAGE = 100


@router.get("/records")
def records(
    request: Request, session: Looking, season: Opened, find: str = "", all: bool = False, page: int = 1
) -> Response:
    """List the records, the newest first, those that hold a word if one is given."""
    plan, folder = season.plan(), season.folder
    among: Sequence[Text] | None = ()
    if find.strip():
        among = season.kept_soon("texts", (season.inputs(),), lambda: texts(plan, folder))
        found = found_page(plan, folder, find, among or (), page, A_PAGE, all)
    else:
        found = records_page(plan, folder, page, A_PAGE, all)
    ids = {entry.id for entry in found.entries}
    listed = render(
        request,
        "records.html",
        searching=among is None,
        found=found.entries,
        count=found.count,
        photos={id for id in ids if (folder / PHOTOS / f"{id}.jpg").is_file()},
        find=find,
        all=all,
        page=found.number,
        page_count=found.pages,
        aside=count_kept_aside(plan, folder),
    )
    return still_working(among is None, listed)


@router.post("/records/correct")
def correct(
    session: Recording,
    season: Opened,
    id: Annotated[str, Form()],
    who: Annotated[str, Form()],
    reason: Annotated[str, Form()],
    value: Annotated[str, Form()] = "",
) -> Response:
    """Correct a reading's value; without a value, withdraw the record."""
    if not reason.strip():
        raise refuse("reason", "a correction needs a reason", "why the older record is wrong", "write it")
    plan = season.plan()
    if value.strip():
        correct_entry(plan, season.folder, id, value.strip(), who, reason)
    else:
        withdraw_entry(plan, season.folder, id, who, reason)
    return RedirectResponse("/records", status_code=303)


@router.get("/records/export/{name}")
def export(session: Looking, season: Opened, name: str) -> Response:
    """Give out all records, the corrected ones too, as CSV or XLSX."""
    if name not in ("records.csv", "records.xlsx"):
        raise refuse("file", f"{name!r} is not given out", "records.csv or records.xlsx", "")
    folder = Path(tempfile.mkdtemp(prefix="wetfoot-"))
    export_file(season.folder, folder / name)
    return FileResponse(folder / name, filename=name, background=BackgroundTask(_remove, folder / name))


def _remove(path: Path) -> None:
    path.unlink(missing_ok=True)
    path.parent.rmdir()


@router.post("/records/import")
def take_in(
    request: Request, session: Planning, season: Opened, file: UploadFile, who: Annotated[str, Form()] = ""
) -> Response:
    """Take a file of records in, and list what became of every doubtful or unread row."""
    name = Path(file.filename or "file").name
    raw = file.file.read(MOST_BYTES + 1)
    with tempfile.TemporaryDirectory(prefix="wetfoot-") as folder:
        path = Path(folder) / f"upload{Path(name).suffix.lower()[:5]}"
        path.write_bytes(raw)
        report = import_file(season.folder, path, who)
    lines = [line.replace(path.name, name) for line in report.lines()]
    return render(request, "imported.html", lines=lines, held=bool(report.report.held))
