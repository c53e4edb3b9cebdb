"""The trial: lay it out, ask how many blocks, take a table in, and read what it says and recommends."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any
from urllib.parse import urlencode

from fastapi import APIRouter, Form, Request, Response, UploadFile
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import FileResponse, RedirectResponse

from wetfoot.answers.trial_answers import answers
from wetfoot.answers.trial_layout import LaidOut, laid_out, read_factor, recipe_of, trial_layout
from wetfoot.answers.trial_power import PowerFound, read_power, trial_power
from wetfoot.answers.trial_report import TRIAL_FOLDER, Report
from wetfoot.answers.trial_report_tables import tables
from wetfoot.answers.trial_season import chosen_tables, keep_table, season_layout, season_report, trial_tables
from wetfoot.answers.trial_table import Asked
from wetfoot.book.spreadsheet import MOST_BYTES
from wetfoot.drawing.charts import chart_svg
from wetfoot.drawing.trial_charts import net_chart, residual_chart, response_chart, split_chart
from wetfoot.drawing.trial_map import trial_map
from wetfoot.errors import Problem, WetfootError, refuse
from wetfoot.plan import history
from wetfoot.plan.file import plan_from_text, read_plan_text
from wetfoot.sheets.trial_files import LAYOUT_FILES, REPORT_FILES, LabelWish, write_layout, write_report
from wetfoot.trial.recipe import Factor
from wetfoot.web.letting_in import Looking, Opened, Planning
from wetfoot.web.rendering import render, still_working
from wetfoot.web.season import OpenSeason

router = APIRouter(include_in_schema=False)
FACTORS = "gutter=no,yes@boards\npieces=1,2,3,4@pots\ndome=no,yes@pots"
LAYOUT_FORM = {"factors": FACTORS, "blocks": "4", "seed": "", "arrangement": "random", "guards": "0", "year": "",
               "blind": ""}  # fmt: skip
POWER_FORM = {"power_factors": FACTORS, "cv": "12 %", "board_cv": "4 %", "difference": "15 %", "span": "2-8",
              "years": "1"}  # fmt: skip
ASKED_FORM = {"table": "", "response": "", "unit": "", "block": "", "board": "", "board_factors": "", "pot_factors": "",
              "margin": "", "piece": ""}  # fmt: skip
LONGEST_FIELD = 2000
NOTHING: tuple[None, tuple[Problem, ...]] = (None, ())


@router.get("/trial")
def trial(request: Request, session: Looking, season: Opened) -> Response:
    """Show the layout, the power that was asked for, and what the tables say."""
    return _page(request, season, dict(request.query_params))


@router.post("/trial/layout")
def lay_out(
    request: Request,
    session: Planning,
    season: Opened,
    factors: Annotated[str, Form()],
    seed: Annotated[str, Form()] = "",
    blocks: Annotated[str, Form()] = "4",
    arrangement: Annotated[str, Form()] = "random",
    guards: Annotated[str, Form()] = "0",
    year: Annotated[str, Form()] = "",
    blind: Annotated[str, Form()] = "",
    replace: Annotated[str, Form()] = "",
) -> Response:
    """Draw a layout and write its files into the season's folder."""
    typed = {"factors": factors, "seed": seed, "blocks": blocks, "arrangement": arrangement, "guards": guards,
             "year": year, "blind": blind}  # fmt: skip
    try:
        recipe = recipe_of(_factors(factors), _whole("blocks", blocks), seed, _whole("year", year or "0"), arrangement,
                           guards=_whole("guards", guards), blind=bool(blind))  # fmt: skip
        write_layout(trial_layout(recipe), season.folder, LabelWish(), bool(replace))
    except WetfootError as refused:
        return _page(request, season, typed, refused.problems, 422)
    return RedirectResponse("/trial#layout", status_code=303)


@router.post("/trial/table")
def take_in(request: Request, session: Planning, season: Opened, file: UploadFile) -> Response:
    """Take a table in and show what it says."""
    name = Path(file.filename or "table.csv").name
    try:
        kept = keep_table(season.folder, name, file.file.read(MOST_BYTES + 1))
    except WetfootError as refused:
        return _page(request, season, {}, refused.problems, 422)
    return RedirectResponse(f"/trial?{_query({'table': kept.name})}#results", status_code=303)


@router.post("/trial/report")
async def report(request: Request, session: Planning, season: Opened) -> Response:
    """Write the report of the chosen tables as PDF and XLSX."""
    typed = {name: value for name, value in (await request.form()).items() if isinstance(value, str)}
    await run_in_threadpool(lambda: write_report(_report(season, typed), season.folder / TRIAL_FOLDER))
    return RedirectResponse(f"/trial?{_query(typed)}#results", status_code=303)


@router.post("/trial/accept")
async def accept(request: Request, session: Planning, season: Opened) -> Response:
    """Put what the trial suggests into the plan; the plan's undo takes it out again."""
    typed = {name: value for name, value in (await request.form()).items() if isinstance(value, str)}
    advice = (await run_in_threadpool(_report, season, typed)).recommendation
    if advice is None or advice.suggestion is None:
        raise refuse("trial", "it suggests nothing for the plan", "a trial of numbers of pieces", "")
    changed = advice.suggestion.changed(read_plan_text(season.folder))
    plan_from_text(changed, season.folder)
    history.save(season.folder, changed)
    return RedirectResponse("/plan", status_code=303)


@router.get("/trial/files/{name}")
def file(session: Looking, season: Opened, name: str) -> Response:
    """Give out one file of the trial."""
    path = season.folder / TRIAL_FOLDER / name
    if name not in (*LAYOUT_FILES, *REPORT_FILES) or not path.is_file():
        raise refuse("file", f"there is no file {name!r}", "one of the page's list", "make it first")
    return FileResponse(path, filename=name, content_disposition_type="inline")


def _page(
    request: Request,
    season: OpenSeason,
    typed: dict[str, str],
    problems: tuple[Problem, ...] = (),
    status: int = 200,
) -> Response:
    form = {**LAYOUT_FORM, **POWER_FORM, **ASKED_FORM, **{n: v[:LONGEST_FIELD] for n, v in typed.items()}}
    wished = tuple(form[name] for name in POWER_FORM)
    powered = season.kept_soon("power", wished, lambda: _power(form)) if "cv" in typed else NOTHING
    asked = tuple(form[name] for name in ASKED_FORM)
    told = season.kept_soon("trial", (_plan_text(season), _files(season), *asked), lambda: _told(season, form))
    (power, wrong_power), (made, wrong_table) = powered or NOTHING, told or NOTHING
    laid, wrong_layout = _laid(season)
    home = season.folder / TRIAL_FOLDER
    page = render(
        request,
        "trial.html",
        status_code=status,
        counting=powered is None,
        analysing=told is None,
        form=form,
        problems=(*problems, *wrong_layout),
        laid=laid,
        map=trial_map(laid.layout, "The trial") if laid else "",
        power=power,
        wrong_power=wrong_power,
        made=made,
        answers=answers(made.findings) if made else [],
        tables=[table for table in tables(made.findings) if table.rows] if made else [],
        charts=season.kept("trial charts", (made,), lambda: _charts(made)) if made else {},
        wrong_table=wrong_table,
        names=[path.name for path in trial_tables(season.folder)],
        layout_files=[name for name in LAYOUT_FILES if (home / name).is_file()],
        report_files=[name for name in REPORT_FILES if (home / name).is_file()],
        asked={name: form[name] for name in ASKED_FORM},
    )
    return still_working(powered is None or told is None, page)


def _plan_text(season: OpenSeason) -> str:
    try:
        return read_plan_text(season.folder)
    except WetfootError as refused:
        return str(refused)


def _files(season: OpenSeason) -> str:
    """Return a mark of the trial's files, which changes when one of them does."""
    found = ((path.name, path.stat()) for path in sorted((season.folder / TRIAL_FOLDER).glob("*")) if path.is_file())
    return "|".join(f"{name} {stat.st_ino} {stat.st_size} {stat.st_mtime_ns}" for name, stat in found)


def _told(season: OpenSeason, form: dict[str, str]) -> tuple[Report | None, tuple[Problem, ...]]:
    """Return the report of the chosen tables, or what is wrong with them; neither without tables."""
    if not trial_tables(season.folder):
        return None, ()
    try:
        return _report(season, form), ()
    except WetfootError as refused:
        return None, tuple(refused.problems)


def _report(season: OpenSeason, form: dict[str, str]) -> Report:
    typed = {name: form.get(name, "") for name in ASKED_FORM}
    asked = Asked(
        response=typed["response"], unit=typed["unit"], block=typed["block"], board=typed["board"],
        board_factors=_names(typed["board_factors"]), pot_factors=_names(typed["pot_factors"]),
    )  # fmt: skip
    margins = (typed["margin"],) if typed["margin"] else ()
    chosen = chosen_tables(season.folder, typed["table"])
    return season_report(season.folder, chosen, asked, margins, typed["piece"])


def _laid(season: OpenSeason) -> tuple[LaidOut | None, tuple[Problem, ...]]:
    try:
        layout = season_layout(season.folder)
        return (laid_out(layout) if layout else None), ()
    except WetfootError as refused:
        return None, tuple(refused.problems)


def _power(form: dict[str, str]) -> tuple[PowerFound | None, tuple[Problem, ...]]:
    try:
        wish = read_power(_factors(form["power_factors"]), form["cv"], form["board_cv"], form["difference"],
                          form["span"], _whole("years", form["years"]))  # fmt: skip
        return trial_power(wish), ()
    except WetfootError as refused:
        return None, tuple(refused.problems)


def _charts(made: Report) -> dict[str, str]:
    found, charts = made.findings, {}
    if found.pieces:
        charts["response"] = chart_svg(response_chart(found, made.units))
    if made.recommendation:
        charts["net"] = chart_svg(net_chart(made.recommendation.choices, made.units))
    if found.splits:
        charts["split"] = chart_svg(split_chart(found.splits, found.confidence))
    charts["residual"] = chart_svg(residual_chart(found))
    return charts


def _factors(typed: str) -> tuple[Factor, ...]:
    """Return the factors, one typed in a line."""
    return tuple(read_factor(line) for line in typed.splitlines() if line.strip())


def _names(typed: str) -> tuple[str, ...]:
    return tuple(name.strip() for name in typed.split(",") if name.strip())


def _whole(where: str, typed: str) -> int:
    if not typed.strip().isdecimal() or len(typed.strip()) > 6:
        raise refuse(where, f"{typed!r} is not a whole number", "a whole number such as 4", "correct it")
    return int(typed)


def _query(typed: dict[str, Any]) -> str:
    """Return what was asked of the tables as a query, so that a page can be opened with it again."""
    return urlencode({name: typed[name] for name in ASKED_FORM if typed.get(name)})
