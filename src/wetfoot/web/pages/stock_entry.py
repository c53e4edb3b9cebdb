"""Records of planting stock: type them, look through them, correct and withdraw them."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Annotated
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Form, Request, Response
from fastapi.responses import RedirectResponse

from wetfoot.answers.listing import records_page
from wetfoot.answers.recording import withdraw_entry
from wetfoot.answers.stock_entering import ContradictionError, Entered, cells_to_correct, enter_stock
from wetfoot.book.entries import new_id
from wetfoot.book.looking import stock_among
from wetfoot.book.stock_entries import HealthTest
from wetfoot.book.stock_layout import STOCK_COLUMNS, WORDS
from wetfoot.errors import Problem, WetfootError, refuse
from wetfoot.stock.exposure import AGENTS
from wetfoot.web.letting_in import Looking, Opened, Recording
from wetfoot.web.pages.stock import stock_of
from wetfoot.web.rendering import render
from wetfoot.web.season import OpenSeason
from wetfoot.web.stock_form import form_fields, names_known

router = APIRouter(include_in_schema=False)
A_PAGE = 50
SAID = ("place", "pot", *STOCK_COLUMNS, "temperature")


@router.get("/stock/records")
def records(
    request: Request, session: Looking, season: Opened, type: str = "", all: bool = False, page: int = 1, told: str = ""
) -> Response:
    """List the records of planting stock, the newest first, of one type if it is chosen."""
    plan = season.plan()
    chosen = stock_among([type] if type in WORDS else WORDS)
    found = records_page(plan, season.folder, page, A_PAGE, all, chosen)
    return render(
        request,
        "stock_records.html",
        types=list(WORDS),
        type=type if type in WORDS else "",
        shown=[(entry, said(entry.cells)) for entry in found.entries],
        count=found.count,
        all=all,
        page=found.number,
        page_count=found.pages,
        told=[line for line in told.split("\n") if line],
        state=stock_of(season),
    )


def said(cells: Mapping[str, str]) -> list[tuple[str, str]]:
    """Return what a record says, as (column, text): its weight last."""
    found = [(column, cells[column]) for column in SAID if cells.get(column)]
    return [*found, ("weight", f"{cells['value']} {cells.get('unit', '')}")] if cells.get("value") else found


@router.get("/stock/enter")
def ask(
    request: Request, session: Recording, season: Opened, type: str = "lot", corrects: str = "", lot: str = ""
) -> Response:
    """Show the form for one record, filled with an older one if it is corrected."""
    plan = season.plan()
    if corrects:
        typed = cells_to_correct(plan, season.folder, corrects)
    else:
        now = datetime.now(ZoneInfo(plan.site.zone))
        typed = {"what": type, "date": now.date().isoformat()} | ({"lot": lot} if lot else {})
        if type in ("hold", "release"):  # of two on one day the later one counts
            typed["time"] = f"{now:%H:%M}"
    return _form(request, season, {**typed, "id": new_id()})


@router.post("/stock/enter")
async def enter(request: Request, session: Recording, season: Opened) -> Response:
    """Record what was typed, or show it again with what is wrong beside its field."""
    sent = {name: text for name, text in (await request.form()).items() if isinstance(text, str)}
    despite = bool(sent.pop("despite", ""))
    try:
        if sent.get("corrects") and not sent.get("reason", "").strip():
            raise refuse("reason", "a correction needs a reason", "why the older record is wrong", "write it")
        entered = enter_stock(season.plan(), season.folder, sent, session.role, despite)
    except WetfootError as refused:
        final = isinstance(refused, ContradictionError) and refused.final
        return _form(request, season, sent, refused, can_despite=isinstance(refused, ContradictionError) and not final)
    return RedirectResponse(_recorded(sent.get("what", ""), entered), status_code=303)


@router.post("/stock/withdraw")
def withdraw(
    session: Recording,
    season: Opened,
    id: Annotated[str, Form()],
    who: Annotated[str, Form()],
    reason: Annotated[str, Form()],
) -> Response:
    """Say that a record should never have been written."""
    if not reason.strip():
        raise refuse("reason", "a withdrawal needs a reason", "why the record is wrong", "write it")
    withdraw_entry(season.plan(), season.folder, id, who, reason)
    return RedirectResponse("/stock/records", status_code=303)


def _recorded(word: str, entered: Entered) -> str:
    record = entered.record
    if isinstance(record, HealthTest) and record.result == "positive" and (record.pot or record.batch or record.lot):
        agent = record.agent if record.agent in AGENTS else "not known"
        asked = {"suspect": record.subject, "agent": agent, "told": "The test is recorded. Confirm it before you act."}
        return f"/stock/exposed?{urlencode(asked)}"
    told = "\n".join(["Recorded.", *entered.told])
    return f"/stock/records?{urlencode({'type': word, 'told': told[:1500]})}"


def _form(
    request: Request,
    season: OpenSeason,
    typed: Mapping[str, str],
    refused: WetfootError | None = None,
    can_despite: bool = False,
) -> Response:
    plan, word = season.plan(), typed.get("what", "")
    if word not in WORDS:
        raise refuse("type", f"{word!r} is no record of planting stock", ", ".join(WORDS), "choose one")
    state = stock_of(season)
    fields = form_fields(word, plan, state)
    problems = refused.problems if refused else ()
    names = {field.name for field in fields} | {"reason"}
    beside: dict[str, list[Problem]] = {}
    for problem in problems:
        beside.setdefault(problem.where, []).append(problem)
    return render(
        request,
        "stock_enter.html",
        status_code=422 if refused else 200,
        types=list(WORDS),
        word=word,
        fields=fields,
        known=names_known(state),
        typed=dict(typed),
        beside=beside,
        above=[problem for problem in problems if problem.where not in names],
        contradictions=refused.found if isinstance(refused, ContradictionError) else (),
        can_despite=can_despite,
    )
