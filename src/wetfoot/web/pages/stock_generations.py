"""The generations: from a few clean pots to the field, year by year."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response

from wetfoot.answers.generation_plan import GenerationPlan, generation_plan, start_from
from wetfoot.drawing.charts import chart_svg
from wetfoot.drawing.generations_chart import generations_chart
from wetfoot.errors import Problem, WetfootError
from wetfoot.plan.model import Plan
from wetfoot.web.letting_in import Looking, Opened
from wetfoot.web.rendering import render

router = APIRouter(include_in_schema=False)


@router.get("/stock/generations")
def generations(
    request: Request, session: Looking, season: Opened, pots: str = "12", first_yield: str = "", years: str = "5"
) -> Response:
    """Show the years from the typed number of clean pots on."""
    plan = season.plan()
    typed = {"pots": pots, "first_yield": first_yield, "years": years}
    found, problems = _found(plan, typed)
    drawn = chart_svg(generations_chart(found)) if found else ""
    return render(
        request,
        "stock_generations.html",
        status_code=422 if problems else 200,
        plan=plan,
        typed=typed,
        found=found,
        drawn=drawn,
        problems=problems,
    )


def _found(plan: Plan, typed: dict[str, str]) -> tuple[GenerationPlan | None, tuple[Problem, ...]]:
    try:
        return generation_plan(plan, start_from(**typed)), ()
    except WetfootError as refused:
        return None, refused.problems
