"""What to do now, and why; the bench drawing leads to everything else."""

from __future__ import annotations

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Request, Response

from wetfoot.drawing.bench_map import bench_map_svg
from wetfoot.errors import WetfootError
from wetfoot.web.letting_in import Looking, Opened
from wetfoot.web.rendering import render

router = APIRouter(include_in_schema=False)
AHEAD_D = 14


@router.get("/")
def today(request: Request, session: Looking, season: Opened) -> Response:
    """Show what to do now; with a plan that is wrong, what to mend."""
    try:
        plan = season.plan()
    except WetfootError as refused:
        return render(request, "mend.html", problems=refused.problems)
    dossier, on = season.dossier, datetime.now(ZoneInfo(plan.site.zone)).date()
    coming = [entry for entry in dossier.calendar if on <= entry.on <= on + timedelta(days=AHEAD_D)] if dossier else []
    return render(
        request,
        "today.html",
        plan=plan,
        on=on,
        stale=season.stale,
        dossier=dossier,
        coming=coming,
        answers=dossier.answers if dossier else (),
        bench=bench_map_svg(plan, dossier.water[1:] if dossier else ()),
    )
