"""The sheets: what is printed for the yard, made anew and downloaded."""

from __future__ import annotations

from datetime import datetime

from fastapi import APIRouter, Request, Response
from fastapi.responses import FileResponse, RedirectResponse

from wetfoot.errors import refuse
from wetfoot.sheets.dossier import FILES, SHEETS, write_sheets
from wetfoot.web.letting_in import Looking, Opened, Planning
from wetfoot.web.rendering import render

router = APIRouter(include_in_schema=False)


@router.get("/sheets")
def sheets(request: Request, session: Looking, season: Opened) -> Response:
    """List the sheets that are there, and when each was made."""
    folder = season.folder / "sheets"
    made = {
        path.name: datetime.fromtimestamp(path.stat().st_mtime).strftime("%Y-%m-%d %H:%M")
        for path in sorted(folder.glob("*"))
        if path.is_file() and path.suffix in (".pdf", ".ics", ".csv", ".xlsx")
    }
    return render(
        request, "sheets.html", made=made, stale=season.stale, dossier=season.dossier, expected=[*SHEETS, *FILES]
    )


@router.post("/sheets")
def make(request: Request, session: Planning, season: Opened) -> Response:
    """Write all sheets from what was computed last."""
    dossier = season.dossier
    if dossier is None:
        raise refuse("sheets", "nothing was computed yet", "a computed season", "compute the season first")
    write_sheets(dossier, season.folder)
    return RedirectResponse("/sheets", status_code=303)


@router.get("/sheets/{name}")
def sheet(session: Looking, season: Opened, name: str) -> Response:
    """Give out one sheet."""
    # looked for among the files that are there: no name that is sent becomes a path
    path = next((path for path in (season.folder / "sheets").glob("*") if path.name == name and path.is_file()), None)
    if path is None:
        raise refuse("sheet", f"there is no sheet {name!r}", "one of the list", "make the sheets first")
    return FileResponse(path, filename=name, content_disposition_type="inline")
