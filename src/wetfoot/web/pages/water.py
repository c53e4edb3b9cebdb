"""Does the water hold: tank, banks, leaks, wicking, heat."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response

from wetfoot.drawing.bench import bench_svg
from wetfoot.drawing.charts import chart_svg, level_chart, tank_chart
from wetfoot.drawing.nest import nest_svg
from wetfoot.web.letting_in import Looking, Opened
from wetfoot.web.rendering import render

router = APIRouter(include_in_schema=False)
MOST_CHARTS = 8


@router.get("/water")
def water(request: Request, session: Looking, season: Opened) -> Response:
    """Show the answers on water, each bank with its course."""
    dossier = season.dossier
    if dossier is None:
        return render(request, "water.html", stale=season.stale, dossier=None)
    plan, runs, read = dossier.plan, dossier.ensemble, dossier.readings
    levels = {
        bank.name: chart_svg(level_chart(runs, plan, index, plan.units, read.level_m.get(bank.name, ())))
        for index, bank in enumerate(plan.banks[:MOST_CHARTS])
    }
    return render(
        request,
        "water.html",
        stale=season.stale,
        dossier=dossier,
        bench=bench_svg(plan, plan.units, dossier.levels.banks),
        nests={name: nest_svg(plan, name, plan.units) for name in dossier.nests},
        tank=chart_svg(tank_chart(runs, plan, plan.units, read.tank_l)),
        levels=levels,
    )
