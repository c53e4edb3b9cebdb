"""What to mix, and what to pour into the tank today."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response

from wetfoot.answers.acid import acid
from wetfoot.answers.dose import dose
from wetfoot.errors import Problem, WetfootError
from wetfoot.quantities import parse, show
from wetfoot.web.letting_in import Looking, Opened
from wetfoot.web.pages.drawings import MOST_CHARTS, picture
from wetfoot.web.rendering import render

router = APIRouter(include_in_schema=False)
COURSE = "the middle of the runs and the band of 8 in 10"


@router.get("/solution")
def solution(
    request: Request,
    session: Looking,
    season: Opened,
    tank: str = "",
    ec: str = "",
    temperature: str = "",
    water: str = "full",
    target: str = "",
    bank: str = "",
) -> Response:
    """Show the dose for what was typed, the mix, the course of EC in each bank, and of the elements in one."""
    plan, dossier = season.plan(), season.dossier
    typed = {"tank": tank, "ec": ec, "temperature": temperature, "water": water, "target": target}
    found = None
    problems: tuple[Problem, ...] = ()
    if tank or ec:
        try:
            tank_l = parse(tank, "volume", "litres in the tank")
            found = dose(
                plan,
                tank_l,
                parse(ec, "conductivity", "EC"),
                parse(temperature, "temperature", "temperature") if temperature else None,
                max(plan.tank.volume_l - tank_l, 0.0) if water == "full" else 0.0,
                parse(target, "conductivity", "target") if target else None,
            )
        except WetfootError as refused:
            problems = tuple(_named(problem) for problem in refused.problems)
    names = [each.name for each in (dossier.plan if dossier else plan).banks]
    at = names.index(bank) if bank in names else 0
    return render(
        request,
        "solution.html",
        acid=season.kept("acid", (plan,), lambda: acid(plan)),
        plan=plan,
        stale=season.stale,
        dossier=dossier,
        typed=typed,
        found=found,
        problems=problems,
        charts=[
            (name, picture("ec", index, f"EC in {name} by date: {COURSE}, with the readings"))
            for index, name in enumerate(names[:MOST_CHARTS])
        ],
        elements=picture("elements", at, f"Each element by date in the tank and in {names[at]}: {COURSE}"),
        names=names,
        bank=bank,
        full=show(plan.tank.volume_l, "volume", plan.units),
        goal=show(plan.solution.target_ec_ms_cm, "conductivity", plan.units),
    )


_FIELDS = {"--tank": "litres in the tank", "--ec": "EC", "--temperature": "temperature", "--add": "water",
           "--target": "target"}  # fmt: skip


def _named(problem: Problem) -> Problem:
    """Return a problem with the name that the field has on this page."""
    return Problem(_FIELDS.get(problem.where, problem.where), problem.what, problem.allowed, problem.fix)
