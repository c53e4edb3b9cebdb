"""The hot-water dip: what reaches the core of the pieces, and how long it takes."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response

from wetfoot.answers.dipping import Dipping, dip_wish, dipping
from wetfoot.drawing.charts import chart_svg
from wetfoot.drawing.dip_chart import dip_chart
from wetfoot.errors import Problem, WetfootError
from wetfoot.quantities import System, show
from wetfoot.web.letting_in import Looking, Opened
from wetfoot.web.rendering import render

router = APIRouter(include_in_schema=False)


@router.get("/stock/dip")
def dip(
    request: Request,
    session: Looking,
    season: Opened,
    diameter: str = "",
    spread: str = "15 %",
    bath: str = "",
    minutes: str = "10",
    load: str = "10 %",
    piece: str = "",
) -> Response:
    """Show what the typed dip does."""
    plan = season.plan()
    typed = {
        "diameter": diameter or show(0.03, "depth", plan.units),
        "spread": spread,
        "bath": bath or show(50.0, "temperature", plan.units),
        "minutes": minutes,
        "load": load,
        "piece": piece or show(25.0, "temperature", plan.units),
    }
    found, problems = _found(typed, plan.units)
    drawn = chart_svg(dip_chart(found, plan.units)) if found else ""
    return render(
        request,
        "stock_dip.html",
        status_code=422 if problems else 200,
        typed=typed,
        found=found,
        drawn=drawn,
        problems=problems,
    )


def _found(typed: dict[str, str], system: System) -> tuple[Dipping | None, tuple[Problem, ...]]:
    try:
        return dipping(dip_wish(**typed), system), ()
    except WetfootError as refused:
        return None, refused.problems
