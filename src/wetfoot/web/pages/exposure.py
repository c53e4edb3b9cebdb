"""Who was exposed by a suspect, on the drawing of the bench, with what to hold and what may still be sold."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated, Any
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Form, Request, Response
from fastapi.responses import RedirectResponse

from wetfoot.answers.exposure import Exposure, exposure
from wetfoot.answers.pedigree import pots_in_words
from wetfoot.answers.recording import MOST_ROWS, record_rows
from wetfoot.answers.stock_records import StockState, held_names
from wetfoot.book.entries import new_id
from wetfoot.drawing.exposure_map import exposure_map_svg
from wetfoot.errors import Problem, WetfootError
from wetfoot.quantities import parse_day
from wetfoot.stock.exposure import AGENTS
from wetfoot.web.letting_in import Looking, Opened, Recording
from wetfoot.web.pages.stock import stock_of
from wetfoot.web.rendering import render

router = APIRouter(include_in_schema=False)


@router.get("/stock/exposed")
def exposed(
    request: Request,
    session: Looking,
    season: Opened,
    suspect: str = "",
    agent: str = "not known",
    since: str = "",
    told: str = "",
) -> Response:
    """Show who was exposed by what was typed."""
    plan, state, found = season.plan(), stock_of(season), None
    problems: tuple[Problem, ...] = ()
    if suspect.strip():
        try:
            start = parse_day(since, "since") if since else None
            found = exposure(plan, season.folder, suspect.strip(), agent, start, state=state)
        except WetfootError as refused:
            problems = refused.problems
    return render(
        request,
        "exposed.html",
        typed={"suspect": suspect, "agent": agent, "since": since},
        agents=list(AGENTS),
        found=found,
        drawn=exposure_map_svg(found) if found else "",
        problems=problems,
        state=state,
        balances=sorted(state.balances.items()),
        told=told[:200],
        **(_clear(found, state) if found else {}),
    )


def _clear(found: Exposure, state: StockState) -> dict[str, Any]:
    """Return what may still be sent, and what is clear but on hold for another reason."""
    held = held_names(state)
    lots = [name for name in found.clear_lots if name in state.lots]
    stops = [name for name in (*lots, *found.clear_pots) if name in held]
    return {
        "sendable": [name for name in lots if name not in held and name not in found.sources],
        "suspected": [name for name in lots if name not in held and name in found.sources],
        "clear_pots": pots_in_words(name for name in found.clear_pots if name not in held),
        "clear_batches": [name for name in found.clear_lots if name not in state.lots],
        "held_otherwise": stops,
        "unheld": len(_to_hold(found, held)),
    }


def _to_hold(found: Exposure, held: set[str]) -> list[str]:
    return [name for name in (*found.pots, *found.lots) if name not in held]


@router.post("/stock/exposed/hold")
def hold_all(
    session: Recording,
    season: Opened,
    suspect: Annotated[str, Form()],
    who: Annotated[str, Form()],
    agent: Annotated[str, Form()] = "not known",
    since: Annotated[date | None, Form()] = None,
) -> Response:
    """Write a hold for everything exposed that is not on hold."""
    plan = season.plan()
    state = stock_of(season)
    found = exposure(plan, season.folder, suspect, agent, since, state=state)
    today = datetime.now(ZoneInfo(plan.site.zone)).isoformat(timespec="seconds")[:16]
    rows = [
        {"id": new_id(), "what": "hold", "date": today[:10], "time": today[11:], "who": who,
         "cause": f"exposed by {found.suspect}, {found.agent}",
         "pot" if name in found.pots else "lot" if name in state.lots else "batch": name}
        for name in _to_hold(found, held_names(state))
    ]  # fmt: skip
    outcomes = [each for part in range(0, len(rows), MOST_ROWS)
                for each in record_rows(plan, season.folder, rows[part : part + MOST_ROWS], who)]  # fmt: skip
    done = sum(each.state == "recorded" for each in outcomes)
    failed = next((each.told for each in outcomes if each.state == "refused"), "")
    told = f"{done} holds were recorded." + (f" {len(rows) - done} were not: {failed}" if failed else "")
    asked = {"suspect": suspect, "agent": agent, "since": found.since.isoformat(), "told": told}
    return RedirectResponse(f"/stock/exposed?{urlencode(asked)}", status_code=303)
