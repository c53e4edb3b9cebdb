"""Turn an answer into a page: templates that escape everything, with what every page needs."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from fastapi import Request, Response
from fastapi.responses import HTMLResponse
from jinja2 import Environment, FileSystemLoader, StrictUndefined, select_autoescape
from markupsafe import Markup

from wetfoot import __version__
from wetfoot.answers.trace import Number
from wetfoot.errors import WetfootError
from wetfoot.quantities import System, number_text, show
from wetfoot.web.letting_in import gate_of, season_of

TEMPLATES = Path(__file__).parent / "templates"
# The pages by the questions they answer, in the order of a season.
PAGES = (
    ("/", "Today"),
    ("/plan", "Plan"),
    ("/water", "Water"),
    ("/solution", "Solution"),
    ("/odds", "Odds"),
    ("/trial", "Trial"),
    ("/stock", "Stock"),
    ("/records", "Records"),
    ("/sheets", "Sheets"),
)

AGAIN_S = 1

_environment = Environment(
    loader=FileSystemLoader(TEMPLATES),
    autoescape=select_autoescape(default=True, default_for_string=True),
    undefined=StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
)


def render(request: Request, template: str, status_code: int = 200, **values: Any) -> Response:
    """Return a page.

    Args:
        request: what is answered; its session's cookie and form token go along.
        template: file name in `TEMPLATES`.
        status_code: of the answer.
        values: for the template.
    """
    gate, season = gate_of(request), season_of(request)
    session = gate.session(request)
    shared = {
        "pages": PAGES,
        "here": "/" + request.url.path.split("/")[1],
        "session": session,
        "form_token": gate.access.form_token(session) if session else "",
        "version": __version__,
        "work": season.work,
        "title_of_season": _title(season.folder, season),
        "units": units_of(season),
    }
    text = _environment.get_template(template).render({**shared, **values})
    response = HTMLResponse(text, status_code=status_code)
    if session is not None and getattr(request.state, "made", None) is not None:
        gate.give(response, session)
    return response


def still_working(working: bool, page: Response) -> Response:
    """Return a page, told to ask for itself again while a part of it is still worked out; that needs no script."""
    if working:
        page.headers["Refresh"] = str(AGAIN_S)
    return page


def _title(folder: Path, season: Any) -> str:
    try:
        title: str = season.plan().title
        return title
    except WetfootError:
        return folder.name


def units_of(season: Any) -> System:
    """Return the units of the plan; metric while it cannot be read."""
    try:
        units: System = season.plan().units
        return units
    except WetfootError:
        return "metric"


def drawing(svg: str) -> Markup:
    """Return one of our own drawings as markup: its words were escaped when it was drawn."""
    return Markup(svg)


def _number_words(number: Number, system: System) -> str:
    return number.text(system)


_environment.filters["number"] = _number_words
_environment.filters["plain"] = number_text
_environment.filters["show"] = show
_environment.filters["drawing"] = drawing
