"""Clean stock: is it enough, how many to test, how many pots may share a water, what it costs."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response

from wetfoot.answers.enough import bank_size, enough
from wetfoot.answers.money import Money, money
from wetfoot.answers.sampling import sampling, typed_wish
from wetfoot.answers.stock_records import StockState, stock_state
from wetfoot.answers.supply import Supply, supply
from wetfoot.answers.trace import Answer
from wetfoot.errors import Problem, WetfootError, refuse
from wetfoot.plan.model import Plan
from wetfoot.web.letting_in import Looking, Opened
from wetfoot.web.rendering import render
from wetfoot.web.season import OpenSeason

router = APIRouter(include_in_schema=False)


@router.get("/stock")
def stock(
    request: Request,
    session: Looking,
    season: Opened,
    lot: str = "",
    level: str = "5 %",
    certainty: str = "95 %",
    sensitivity: str = "90 %",
    pool: str = "1",
) -> Response:
    """Show what is known of the stock, and the sample for what was typed."""
    plan = season.plan()
    supplied, enough_, banks, paid = season.kept("supply", (plan,), lambda: _of_plan(plan))
    typed = {"lot": lot or str(plan.pots), "level": level, "certainty": certainty, "sensitivity": sensitivity,
             "pool": pool}  # fmt: skip
    sample, problems = _sample(typed)
    state = stock_of(season)
    held = {hold.lot for hold in state.held}
    return render(
        request,
        "stock.html",
        plan=plan,
        typed=typed,
        sample=sample,
        problems=problems,
        answers=[supplied.answer, enough_, banks, *([paid.answer] if paid else [])],
        paid=paid,
        lots=[(name, name in held) for name in state.lots],
    )


def stock_of(season: OpenSeason) -> StockState:
    """Return what the book tells of planting stock, read anew once plan or book changed."""
    plan = season.plan()
    return season.kept("stock", (season.inputs(),), lambda: stock_state(plan, season.folder))


def _of_plan(plan: Plan) -> tuple[Supply, Answer, Answer, Money | None]:
    """Return what the plan alone says of clean stock."""
    supplied = supply(plan)
    return supplied, enough(plan, supplied), bank_size(plan), money(plan)


def _sample(typed: dict[str, str]) -> tuple[Answer | None, tuple[Problem, ...]]:
    try:
        lot, pool = (_whole(name, typed[name]) for name in ("lot", "pool"))
        return sampling(typed_wish(lot, typed["level"], typed["certainty"], typed["sensitivity"], pool)), ()
    except WetfootError as refused:
        return None, tuple(refused.problems)


def _whole(where: str, typed: str) -> int:
    if not typed.strip().isdecimal() or len(typed.strip()) > 8:
        raise refuse(where, f"{typed!r} is not a whole number", "a whole number such as 40", "correct it")
    return int(typed)
