"""The sheets of planting stock, each made when it is asked for, or what is wrong said beside its form."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

from fastapi import APIRouter, Request, Response

from wetfoot.answers.sampling import typed_wish
from wetfoot.errors import WetfootError, refuse
from wetfoot.quantities import parse, parse_day
from wetfoot.sheets.label_grid import label_grids
from wetfoot.sheets.lot_labels import GRIDS, LOWEST_MM
from wetfoot.sheets.stock_sheets import (
    InspectionWish,
    LabelsWish,
    ShipmentWish,
    dispatch_pdf,
    exposure_pdf,
    file_name,
    inspection_pdf,
    labels_pdf,
    pedigree_pdf,
)
from wetfoot.stock.exposure import AGENTS
from wetfoot.web.letting_in import Looking, Opened
from wetfoot.web.pages.stock import stock_of
from wetfoot.web.rendering import render
from wetfoot.web.season import OpenSeason

router = APIRouter(include_in_schema=False)
FORMS = {
    "inspection": {"agent": "bacterial wilt", "level": "10 %", "certainty": "95 %", "sensitivity": "90 %", "pool": "1",
                   "seed": ""},
    "exposure": {"suspect": "", "agent": "not known", "since": ""},
    "labels": {"lot": "", "grid": "", "start": "1", "each": "1"},
    "pedigree": {"lot": ""},
    "dispatch": {"lot": "", "kg": "", "to": "", "permit": ""},
}  # fmt: skip


@router.get("/stock/sheets")
def stock_sheets(request: Request, session: Looking, season: Opened) -> Response:
    """Show what can be printed of the stock; what the address names stands in the forms already."""
    return _page(request, season)


@router.get("/stock/sheets/labels.pdf")
def labels(request: Request, session: Looking, season: Opened, lot: str = "", grid: str = "", start: str = "1",
           each: str = "1") -> Response:  # fmt: skip
    """Give out the labels of a lot, or of all lots."""

    def made() -> bytes:
        wish = LabelsWish(grid, _whole("start", start), each=_whole("each", each))
        return labels_pdf(season.plan(), season.folder, (lot,) if lot else (), wish)

    return _pdf(request, season, "labels", "lot-labels", made)


@router.get("/stock/sheets/pedigree.pdf")
def pedigree(request: Request, session: Looking, season: Opened, lot: str = "") -> Response:
    """Give out the pedigree of a lot."""
    name = f"pedigree-{file_name(lot)}"
    return _pdf(request, season, "pedigree", name, lambda: pedigree_pdf(season.plan(), season.folder, lot))


@router.get("/stock/sheets/inspection.pdf")
def inspection(
    request: Request,
    session: Looking,
    season: Opened,
    on: str = "",
    agent: str = "bacterial wilt",
    level: str = "10 %",
    certainty: str = "95 %",
    sensitivity: str = "90 %",
    pool: str = "1",
    seed: str = "",
) -> Response:
    """Give out the inspection list of a day, with the pots to sample."""

    def made() -> bytes:
        sample = typed_wish(1, level, certainty, sensitivity, _whole("pool", pool))
        wish = InspectionWish(sample, agent, seed)
        return inspection_pdf(season.plan(), season.folder, _day("on", on), wish)

    return _pdf(request, season, "inspection", "inspection", made)


@router.get("/stock/sheets/exposure.pdf")
def exposure(request: Request, session: Looking, season: Opened, suspect: str = "", agent: str = "not known",
             since: str = "") -> Response:  # fmt: skip
    """Give out the report of who was exposed by a suspect."""

    def made() -> bytes:
        start = _day("since", since) if since else None
        return exposure_pdf(season.plan(), season.folder, suspect.strip(), agent, start)

    return _pdf(request, season, "exposure", f"exposure-{file_name(suspect)}", made)


@router.get("/stock/sheets/dispatch.pdf")
def dispatch(request: Request, session: Looking, season: Opened, lot: str = "", to: str = "", kg: str = "",
             on: str = "", permit: str = "") -> Response:  # fmt: skip
    """Give out the note that goes along with seed; a lot that is on hold or exposed is refused with the reasons."""

    def made() -> bytes:
        ship = ShipmentWish(lot, to, parse(kg, "mass", "kg"), permit)
        return dispatch_pdf(season.plan(), season.folder, ship, _day("on", on))

    return _pdf(request, season, "dispatch", f"dispatch-{file_name(lot)}", made)


def _pdf(request: Request, season: OpenSeason, form: str, name: str, made: Callable[[], bytes]) -> Response:
    """Return a sheet, or the page with what is wrong beside the form."""
    try:
        content = made()
    except WetfootError as refused:
        return _page(request, season, form, refused)
    return Response(content, media_type="application/pdf",
                    headers={"Content-Disposition": f'inline; filename="{name}.pdf"'})  # fmt: skip


def _page(request: Request, season: OpenSeason, form: str = "", refused: WetfootError | None = None) -> Response:
    plan = season.plan()
    state = stock_of(season)
    asked = {name: dict(request.query_params) for name in FORMS if form in ("", name)}
    typed = {name: {"on": date.today().isoformat(), **usual, **asked.get(name, {})} for name, usual in FORMS.items()}
    return render(
        request,
        "stock_sheets.html",
        422 if refused else 200,
        typed=typed,
        wrong={form: refused.problems} if refused else {},
        lots=list(state.lots),
        agents=list(AGENTS),
        usual_grid=GRIDS[plan.units],
        grids=[grid for grid in label_grids().values() if grid.size_mm[1] >= LOWEST_MM],
    )


def _whole(where: str, typed: str) -> int:
    if not (typed.strip().isascii() and typed.strip().isdecimal() and len(typed.strip()) <= 6):
        raise refuse(where, f"{typed!r} is not a whole number", "a whole number such as 1", "correct it")
    return int(typed)


def _day(where: str, typed: str) -> date:
    return parse_day(typed.strip(), where) if typed.strip() else date.today()
