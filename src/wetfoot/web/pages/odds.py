"""The weather's odds: will water and EC hold, how often to come, what each change buys."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response

from wetfoot.answers.odds import HEADS, lever_rows, safeguard_rows
from wetfoot.drawing.frontier import frontier_svg
from wetfoot.web.letting_in import Looking, Opened
from wetfoot.web.rendering import render

router = APIRouter(include_in_schema=False)


@router.get("/odds")
def odds(request: Request, session: Looking, season: Opened) -> Response:
    """Show the odds, the levers before and after, and the frontier of visits and tank."""
    dossier = season.dossier
    if dossier is None:
        return render(request, "odds.html", stale=season.stale, dossier=None)
    plan = dossier.plan
    return render(
        request,
        "odds.html",
        stale=season.stale,
        dossier=dossier,
        heads=HEADS,
        levers=lever_rows(plan, dossier.odds),
        safeguards=safeguard_rows(plan, dossier.odds),
        frontier=season.kept("frontier", (dossier,), lambda: frontier_svg(dossier.frontier, plan)),
        compared=dossier.compared_weather,
    )
