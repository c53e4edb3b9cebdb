"""Who was exposed by a suspect, on the drawing of the bench, with what to hold and what may still be sold."""

from __future__ import annotations

from datetime import date

from fastapi import APIRouter, Request, Response

from wetfoot.answers.exposure import exposure
from wetfoot.answers.stock_records import stock_state
from wetfoot.drawing.exposure_map import exposure_map_svg
from wetfoot.errors import Problem, WetfootError
from wetfoot.stock.exposure import AGENTS
from wetfoot.web.letting_in import Looking, Opened
from wetfoot.web.rendering import render

router = APIRouter(include_in_schema=False)


@router.get("/stock/exposed")
def exposed(
    request: Request, session: Looking, season: Opened, suspect: str = "", agent: str = "not known", since: str = ""
) -> Response:
    """Show who was exposed by what was typed."""
    plan, found = season.plan(), None
    problems: tuple[Problem, ...] = ()
    if suspect.strip():
        try:
            start = date.fromisoformat(since) if since else None
            found = exposure(plan, season.folder, suspect.strip(), agent, start)
        except WetfootError as refused:
            problems = tuple(refused.problems)
        except ValueError:
            problems = (Problem("since", f"{since!r} is not a date", "a date such as 2027-05-01", "correct it"),)
    state = stock_state(plan, season.folder)
    return render(
        request,
        "exposed.html",
        typed={"suspect": suspect, "agent": agent, "since": since},
        agents=list(AGENTS),
        found=found,
        drawn=exposure_map_svg(found) if found else "",
        problems=problems,
        state=state,
        balances=sorted(state.balances.items()),
    )
