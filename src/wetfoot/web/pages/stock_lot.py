"""One lot: where it came from, what was tested, what is left, where it went."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response

from wetfoot.answers.lot_story import lot_story
from wetfoot.drawing.charts import chart_svg
from wetfoot.drawing.store_chart import store_chart
from wetfoot.stock.lots import day_of
from wetfoot.web.letting_in import Looking, Opened
from wetfoot.web.pages.stock import stock_of
from wetfoot.web.rendering import render

router = APIRouter(include_in_schema=False)


@router.get("/stock/lot/{name:path}")
def lot(request: Request, session: Looking, season: Opened, name: str) -> Response:
    """Show all that the book tells of a lot."""
    plan = season.plan()
    story = lot_story(plan, season.folder, name, stock_of(season))
    drawn = chart_svg(store_chart(story.store, plan.units)) if story.store else ""
    return render(request, "stock_lot.html", story=story, drawn=drawn, day_of=day_of)
