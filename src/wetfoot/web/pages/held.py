"""Rows of files that were kept aside: see each, mend it or drop it with a reason."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request, Response
from fastapi.responses import RedirectResponse

from wetfoot.answers.settling import drop_row, kept_aside, mend_row
from wetfoot.errors import Problem, WetfootError
from wetfoot.web.letting_in import Looking, Opened, Recording
from wetfoot.web.rendering import render
from wetfoot.web.season import OpenSeason

router = APIRouter(include_in_schema=False)
MOST_SHOWN = 50
ADDRESS = "/records/kept-aside"


@router.get(ADDRESS)
def kept(request: Request, session: Looking, season: Opened) -> Response:
    """Show the rows that wait to be settled, and what became of others."""
    return _page(request, season)


@router.post(f"{ADDRESS}/mend")
def mend(
    request: Request,
    session: Recording,
    season: Opened,
    id: Annotated[str, Form()],
    who: Annotated[str, Form()] = "",
    cell: Annotated[list[str] | None, Form()] = None,
    reason: Annotated[str, Form()] = "",
) -> Response:
    """Record a row as it was mended; what still cannot be recorded is shown again as it was typed."""
    try:
        mend_row(season.plan(), season.folder, id, cell or [], who, reason)
    except WetfootError as refused:
        return _page(request, season, id, tuple(cell or ()), refused.problems, 422)
    return RedirectResponse(ADDRESS, status_code=303)


@router.post(f"{ADDRESS}/drop")
def drop(
    request: Request,
    session: Recording,
    season: Opened,
    id: Annotated[str, Form()],
    who: Annotated[str, Form()] = "",
    reason: Annotated[str, Form()] = "",
) -> Response:
    """Drop a row with a reason."""
    try:
        drop_row(season.plan(), season.folder, id, who, reason)
    except WetfootError as refused:
        return _page(request, season, id, (), refused.problems, 422)
    return RedirectResponse(ADDRESS, status_code=303)


def _page(
    request: Request,
    season: OpenSeason,
    at: str = "",
    typed: tuple[str, ...] = (),
    problems: tuple[Problem, ...] = (),
    status: int = 200,
) -> Response:
    rows = kept_aside(season.plan(), season.folder)
    return render(
        request,
        "held.html",
        status_code=status,
        waiting=[(row, _filled(typed if row.id == at and typed else row.cells, len(row.headings)))
                 for row in rows.waiting[:MOST_SHOWN]],
        count=len(rows.waiting),
        settled=rows.settled[:MOST_SHOWN],
        settled_count=len(rows.settled),
        at=at,
        problems=problems,
    )  # fmt: skip


def _filled(cells: tuple[str, ...], count: int) -> list[str]:
    """Return the cells of a row with an empty one under each heading that the row stops short of."""
    return [*cells, *[""] * (count - len(cells))]
