"""Charts of the computed season, each a file of its own: a browser keeps it as long as nothing changed."""

from __future__ import annotations

from collections.abc import Callable
from hashlib import sha256
from typing import NamedTuple

import altair as alt
from fastapi import APIRouter, Request, Response

from wetfoot.answers.dossier import Dossier
from wetfoot.drawing.chart_parts import Size
from wetfoot.drawing.charts import HALF_PAGE, chart_svg, ec_chart, level_chart, tank_chart
from wetfoot.drawing.element_charts import PAGE, element_chart
from wetfoot.errors import refuse
from wetfoot.quantities import System
from wetfoot.web.letting_in import Looking, Opened
from wetfoot.web.rendering import units_of

router = APIRouter(include_in_schema=False)
MOST_CHARTS = 8
Chart = alt.LayerChart | alt.ConcatChart


def _tank(found: Dossier, at: int, units: System) -> Chart:
    return tank_chart(found.ensemble, found.plan, units, found.readings.tank_l)


def _level(found: Dossier, at: int, units: System) -> Chart:
    read = found.readings.level_m.get(found.plan.banks[at].name, ())
    return level_chart(found.ensemble, found.plan, at, units, read)


def _ec(found: Dossier, at: int, units: System) -> Chart:
    read = found.readings.ec_ms_cm.get(found.plan.banks[at].name, ())
    return ec_chart(found.ensemble, found.plan, at, units, read)


def _elements(found: Dossier, at: int, units: System) -> Chart:
    return element_chart(found.ensemble, found.plan, at, units)


KINDS: dict[str, Callable[[Dossier, int, System], Chart]] = {
    "tank": _tank,
    "level": _level,
    "ec": _ec,
    "elements": _elements,
}


class Picture(NamedTuple):
    """A chart as a page shows it: where it is, how large it will be, and what it shows, in words."""

    address: str
    size: Size
    words: str


def picture(kind: str, at: int, words: str) -> Picture:
    """Return a chart of a kind, of one bank, for a page."""
    return Picture(f"/drawings/{kind}/{at}.svg", PAGE if kind == "elements" else HALF_PAGE, words)


@router.get("/drawings/{kind}/{at}.svg")
def drawing(request: Request, session: Looking, season: Opened, kind: str, at: int) -> Response:
    """Give out one chart; only that it is the same as before, if it is."""
    dossier, units = season.dossier, units_of(season)
    if dossier is None or kind not in KINDS or not 0 <= at < len(dossier.plan.banks):
        raise refuse("drawing", "there is none of this name", "one that a page shows", "compute the season first")
    svg = season.kept(
        f"{kind} {at}", (dossier, units), lambda: chart_svg(KINDS[kind](dossier, at, units)).encode("utf-8")
    )
    tag = f'W/"{sha256(svg).hexdigest()[:32]}"'  # weak: on the way it may be packed
    headers = {"ETag": tag, "Cache-Control": "private, no-cache"}
    if tag in request.headers.get("if-none-match", ""):
        return Response(status_code=304, headers=headers)
    return Response(svg, media_type="image/svg+xml", headers=headers)
