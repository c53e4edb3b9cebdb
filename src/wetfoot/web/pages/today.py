"""What to do now, and why; the bench drawing leads to everything else."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Request, Response

from wetfoot.answers import today as answers_today
from wetfoot.answers.dossier import Dossier
from wetfoot.answers.today import Today
from wetfoot.drawing.bench_map import bench_map_svg
from wetfoot.errors import WetfootError
from wetfoot.plan.model import Plan
from wetfoot.web.letting_in import Looking, Opened
from wetfoot.web.rendering import render, still_working
from wetfoot.web.season import OpenSeason

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
    now = _at_visit(season, dossier, on) if dossier else None
    return still_working(
        dossier is not None and now is None,
        render(
            request,
            "today.html",
            plan=plan,
            on=on,
            on_other_day=on != real,
            now=now,
            stale=season.stale,
            dossier=dossier,
            coming=coming,
            answers=dossier.answers if dossier else (),
            bench=season.kept("bench", (plan, dossier), lambda: _bench(plan, dossier)),
        ),
    )


def _bench(plan: Plan, dossier: Dossier | None) -> str:
    return bench_map_svg(plan, dossier.water[1:] if dossier else ())


def _at_visit(season: OpenSeason, dossier: Dossier, on: date) -> Today | None:
    """Return what to do on a day, found anew once book, plan, weather or dossier changed; None while it is found."""

    def found() -> Today:
        return answers_today.today(dossier.plan, season.folder, on, dossier.seasons, dossier.ensemble, dossier.calendar)

    return season.kept_soon("visit", (season.inputs(), dossier, on.isoformat()), found)
