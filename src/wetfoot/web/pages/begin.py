"""Begin a season: on the machine itself, in a folder that has no plan yet."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request, Response
from fastapi.responses import RedirectResponse

from wetfoot.errors import Problem, WetfootError, refuse
from wetfoot.web.letting_in import NotLetInError, Opened, Planning, gate_of
from wetfoot.web.rendering import render
from wetfoot.web.season import OpenSeason

router = APIRouter(include_in_schema=False)
MOST_NAMED = 12


@router.get("/begin")
def ask(request: Request, session: Planning, season: Opened) -> Response:
    """Ask for title and units, and whether to begin beside the files that are there; with a plan, show that."""
    _only_here(request)
    return RedirectResponse("/plan", status_code=303) if season.begun else _page(request, season)


@router.post("/begin")
def begin(
    request: Request,
    session: Planning,
    season: Opened,
    title: Annotated[str, Form()] = "",
    units: Annotated[str, Form()] = "metric",
    beside: Annotated[str, Form()] = "",
) -> Response:
    """Write the commented plan and its weather, and go on to the plan."""
    _only_here(request)
    try:
        if season.other_files() and not beside:
            fix = "tick the box to begin here, or stop and name another folder"
            raise refuse("folder", "other files are in it", "a folder of the season's own", fix)
        season.begin(title, units)
    except WetfootError as refused:
        return _page(request, season, title, units, tuple(refused.problems))
    return RedirectResponse("/plan", status_code=303)


def _page(
    request: Request, season: OpenSeason, title: str = "", units: str = "metric", problems: tuple[Problem, ...] = ()
) -> Response:
    others = season.other_files()
    return render(
        request,
        "begin.html",
        status_code=422 if problems else 200,
        folder=season.folder.resolve(),
        there=season.folder.is_dir(),
        others=others[:MOST_NAMED],
        more=len(others[MOST_NAMED:]),
        typed={"title": title, "units": units},
        problems=problems,
    )


def _only_here(request: Request) -> None:
    if not gate_of(request).is_here(request):
        raise NotLetInError("There is no season yet: begin it on the machine that runs this.", 403)
