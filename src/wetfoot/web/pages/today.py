"""What to do now, and why; the bench drawing leads to everything else."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Request, Response

from wetfoot.answers.today import today as visit_at
from wetfoot.drawing.bench_map import bench_map_svg
from wetfoot.errors import WetfootError
from wetfoot.web.letting_in import Looking, Opened
from wetfoot.web.rendering import render

router = APIRouter(include_in_schema=False)
AHEAD_D = 14


@router.get("/")
def today(request: Request, session: Looking, season: Opened, on: date | None = None) -> Response:
    """Show what to do now, or on another day; with a plan that is wrong, what to mend."""
    try:
        plan = season.plan()
    except WetfootError as refused:
        return render(request, "mend.html", problems=refused.problems)
    dossier, real = season.dossier, datetime.now(ZoneInfo(plan.site.zone)).date()
    on = on or real
    coming = [entry for entry in dossier.calendar if on <= entry.on <= on + timedelta(days=AHEAD_D)] if dossier else []
    return render(
        request,
        "today.html",
        plan=plan,
        on=on,
        on_other_day=on != real,
        now=visit_at(dossier.plan, season.folder, on, dossier.seasons, dossier.ensemble, dossier.calendar)
        if dossier
        else None,
        stale=season.stale,
        dossier=dossier,
        coming=coming,
        answers=dossier.answers if dossier else (),
        bench=bench_map_svg(plan, dossier.water[1:] if dossier else ()),
    )
