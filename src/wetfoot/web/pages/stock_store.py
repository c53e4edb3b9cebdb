"""The store: what is left of each lot by date, and how much there will be at planting."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response

from wetfoot.answers.store_view import StoreView, store_view
from wetfoot.drawing.charts import chart_svg
from wetfoot.drawing.store_chart import store_chart
from wetfoot.errors import Problem, WetfootError
from wetfoot.quantities import System, parse_day
from wetfoot.web.letting_in import Looking, Opened
from wetfoot.web.pages.stock import stock_of
from wetfoot.web.rendering import render

router = APIRouter(include_in_schema=False)
MOST_CHARTS = 6


@router.get("/stock/store")
def store(request: Request, session: Looking, season: Opened, on: str = "") -> Response:
    """Show what is left of each lot until the day that is asked for, the field's planting by default."""
    plan = season.plan()
    problems: tuple[Problem, ...] = ()
    try:
        day = parse_day(on.strip(), "on") if on.strip() else None
    except WetfootError as refused:
        day, problems = None, refused.problems
    state = stock_of(season)
    found = season.kept("store", (state, plan, str(day)), lambda: store_view(plan, season.folder, day, state))
    charts = season.kept("store charts", (found,), lambda: _charts(found, plan.units))
    return render(
        request,
        "stock_store.html",
        status_code=422 if problems else 200,
        found=found,
        charts=charts,
        on=on or found.on.isoformat(),
        problems=problems,
    )


def _charts(found: StoreView, units: System) -> dict[str, str]:
    return {lot.lot: chart_svg(store_chart(lot, units)) for lot in found.lots[:MOST_CHARTS]}
