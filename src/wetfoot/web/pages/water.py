"""Does the water hold: tank, banks, leaks, wicking, heat."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request, Response

from wetfoot.answers.dossier import Dossier
from wetfoot.drawing.bench import bench_svg
from wetfoot.drawing.nest import nest_svg
from wetfoot.web.letting_in import Looking, Opened
from wetfoot.web.pages.drawings import MOST_CHARTS, picture
from wetfoot.web.rendering import render

router = APIRouter(include_in_schema=False)


@router.get("/water")
def water(request: Request, session: Looking, season: Opened) -> Response:
    """Show the answers on water, each bank with its course."""
    dossier = season.dossier
    if dossier is None:
        return render(request, "water.html", stale=season.stale, dossier=None)
    drawn = season.kept("water", (dossier,), lambda: _drawn(dossier))
    return render(request, "water.html", stale=season.stale, dossier=dossier, **drawn)


def _drawn(dossier: Dossier) -> dict[str, Any]:
    plan = dossier.plan
    return {
        "bench": bench_svg(plan, plan.units, dossier.levels.banks),
        "nests": {name: nest_svg(plan, name, plan.units) for name in dossier.nests},
        "tank": picture("tank", 0, "What is left in the tank by date, in the middle of the runs and 8 in 10 of them"),
        "levels": {
            bank.name: picture("level", at, f"Lowest level of the day in {bank.name}, by date, with the readings")
            for at, bank in enumerate(plan.banks[:MOST_CHARTS])
        },
    }
