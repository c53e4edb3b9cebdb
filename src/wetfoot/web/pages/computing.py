"""Begin and stop computing the season, and tell how far it is."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request, Response
from fastapi.responses import RedirectResponse

from wetfoot.web.letting_in import Looking, Opened, Planning

router = APIRouter()


@router.post("/season/compute", include_in_schema=False)
def compute(request: Request, session: Planning, season: Opened) -> Response:
    """Begin to compute, and go back to the page."""
    season.plan()  # what is wrong in it is told at once
    season.compute()
    return RedirectResponse(_back(request), status_code=303)


@router.post("/season/stop", include_in_schema=False)
def stop(request: Request, session: Planning, season: Opened) -> Response:
    """Stop computing, and go back to the page."""
    season.stop()
    season.wait(5.0)
    return RedirectResponse(_back(request), status_code=303)


@router.get("/api/work")
def work(session: Looking, season: Opened) -> dict[str, Any]:
    """Return how far the computing is."""
    found = season.work
    return {"state": found.state, "percent": found.percent, "stale": season.stale}


def _back(request: Request) -> str:
    """Return the page of ours that a form was on."""
    came_from = request.headers.get("referer", "")
    own = str(request.base_url)
    return "/" + came_from[len(own) :] if came_from.startswith(own) else "/"
