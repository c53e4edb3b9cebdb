"""The plan as a form, with the drawings beside it and each verdict next to its field."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Form, Request, Response
from fastapi.responses import RedirectResponse

from wetfoot.drawing.bench import bench_svg
from wetfoot.drawing.nest import nest_svg
from wetfoot.errors import Problem, WetfootError, refuse
from wetfoot.plan import history
from wetfoot.plan.file import plan_from_text, read_plan_text
from wetfoot.plan.model import Plan
from wetfoot.plan.risks import risks
from wetfoot.web.letting_in import Looking, Opened, Planning
from wetfoot.web.plan_form import changed_by_form, sections, unplaced, with_one_less, with_one_more
from wetfoot.web.rendering import render
from wetfoot.web.season import OpenSeason

router = APIRouter(include_in_schema=False)


@router.get("/plan")
def plan(request: Request, session: Looking, season: Opened) -> Response:
    """Show the plan as it is saved."""
    return _page(request, season, read_plan_text(season.folder), saved=True)


@router.post("/plan")
async def change(request: Request, session: Planning, season: Opened) -> Response:
    """Try or save what was typed, or add and take away a bank; what is wrong is told and nothing is saved."""
    form = {name: value for name, value in (await request.form()).items() if isinstance(value, str)}
    action, _, part = form.pop("action", "try").partition(" ")
    if "text" not in form:
        raise refuse("text", "the form came without the plan", "the form of this page", "open the page again")
    text = form.pop("text").replace("\r\n", "\n")
    try:
        if action != "astext":
            text = changed_by_form(text, form)
        if action == "more":
            text = with_one_more(text, part)
        elif action == "less":
            text = with_one_less(text, part)
    except WetfootError as refused:
        return _page(request, season, text, saved=False, more=tuple(refused.problems))
    if action in ("save", "astext"):
        try:
            plan_from_text(text, season.folder)
        except WetfootError:
            return _page(request, season, text, saved=False)
        history.save(season.folder, text)
        return RedirectResponse("/plan", status_code=303)
    return _page(request, season, text, saved=False)


@router.post("/plan/undo")
def undo(request: Request, session: Planning, season: Opened) -> Response:
    """Put the version before back in place."""
    history.undo(season.folder)
    return RedirectResponse("/plan", status_code=303)


@router.post("/plan/units")
def units(request: Request, session: Planning, season: Opened, units: Annotated[str, Form()]) -> Response:
    """Show results in the other units; what was typed stays as it was typed."""
    text = read_plan_text(season.folder)
    changed = changed_by_form(text, {"units": units})
    plan_from_text(changed, season.folder)
    history.save(season.folder, changed)
    return RedirectResponse("/plan", status_code=303)


def _page(request: Request, season: OpenSeason, text: str, saved: bool, more: tuple[Problem, ...] = ()) -> Response:
    if saved and not more:
        shown = season.kept("plan page", (text, season.inputs()), lambda: _shown(season, text, ()))
    else:
        shown = _shown(season, text, more)
    return render(
        request,
        "plan.html",
        status_code=200 if not shown["wrong"] or saved else 422,
        text=text,
        saved=saved,
        can_undo=bool(history.versions(season.folder)),
        **shown,
    )


def _shown(season: OpenSeason, text: str, more: tuple[Problem, ...]) -> dict[str, Any]:
    """Return what the page shows of a plan's text: its fields, what is wrong and risky in it, the drawings."""
    problems: tuple[Problem, ...] = more
    found: Plan | None = None
    try:
        found = plan_from_text(text, season.folder)
    except WetfootError as refused:
        problems += tuple(refused.problems)
    try:
        parts = sections(text, problems)
    except Exception:  # text that is no TOML: it can only be mended as text
        parts = ()
    return {
        "sections": parts,
        "problems": unplaced(parts, problems),
        "wrong": len(problems),
        "warnings": risks(found) if found else (),
        **_drawings(found),
    }


def _drawings(plan: Plan | None) -> dict[str, Any]:
    if plan is None:
        return {"bench": None, "nests": {}}
    used = dict.fromkeys(bank.nest for bank in plan.banks)
    return {"bench": bench_svg(plan, plan.units), "nests": {name: nest_svg(plan, name, plan.units) for name in used}}
