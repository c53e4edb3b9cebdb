"""The page for the yard: it records without a network once it is loaded, and sends each entry once."""

from __future__ import annotations

import base64
import binascii
import io
from pathlib import Path
from typing import Annotated, Any

from fastapi import APIRouter, Body, Request, Response
from fastapi.responses import FileResponse
from PIL import Image, UnidentifiedImageError
from pydantic import BaseModel, Field
from starlette.exceptions import HTTPException

from wetfoot.answers.health import PHOTOS
from wetfoot.answers.readings import last_readings
from wetfoot.answers.recording import record_rows
from wetfoot.book.entries import EVENT_KINDS
from wetfoot.errors import WetfootError, refuse
from wetfoot.quantities import show
from wetfoot.web.letting_in import Looking, Opened, Recording
from wetfoot.web.rendering import render

router = APIRouter()
LARGEST_PHOTO_PIXELS = 1600
MOST_PIXELS = 60_000_000
SERVICE_WORKER = Path(__file__).parent.parent / "static" / "offline.js"


class Sent(BaseModel):
    """Entries that a phone has waiting: rows as of a file of records, by id; photos by the id of their entry.

    The season is the one whose page took them down: another may be served under this address by now.
    """

    entries: Annotated[list[dict[str, str]], Field(max_length=2000)]
    photos: dict[str, str] = {}
    season: str = ""


@router.get("/visit", include_in_schema=False)
def visit(request: Request, session: Recording, season: Opened) -> Response:
    """Show the page for the yard, with the last value of everything beside it."""
    plan = season.plan()
    read, units = last_readings(plan, season.folder), plan.units
    last = {"tank|tank": show(read.tank_l[-1].value, "volume", units)} if read.tank_l else {}
    for kind, points, quantity in (("EC", read.ec_ms_cm, "conductivity"), ("level", read.level_m, "depth")):
        last |= {f"{kind}|{place}": show(found[-1].value, quantity, units) for place, found in points.items() if found}
    return render(
        request,
        "visit.html",
        banks=[bank.name for bank in plan.banks],
        pots={bank.name: bank.pots for bank in plan.banks},
        last=last,
        events=[kind.replace("_", " ") for kind in EVENT_KINDS],
        us=units == "US",
        full_l=plan.tank.volume_l,
        zone=plan.site.zone,
        season_id=season.id,
    )


@router.get("/offline.js", include_in_schema=False)
def service_worker() -> Response:
    """Give out the service worker from the root, so that it may keep the page for the yard."""
    return FileResponse(SERVICE_WORKER, media_type="text/javascript")


@router.post("/api/entries")
def entries(session: Recording, season: Opened, sent: Annotated[Sent, Body()]) -> dict[str, Any]:
    """Record what a phone sends; what came before under the same id is there once. Each photo has its own outcome."""
    if sent.season not in ("", season.id):
        raise HTTPException(409, "These were written down for another season than the one that is served here.")
    try:
        outcomes = record_rows(season.plan(), season.folder, sent.entries, session.role)
    except WetfootError as refused:  # plan or book, not the entries: they must stay on the phone and be sent again
        raise HTTPException(503, " ".join(str(problem) for problem in refused.problems)) from refused
    recorded = {outcome.id for outcome in outcomes if outcome.state != "refused"}
    photos = [_photo_outcome(season.folder, id, photo, recorded) for id, photo in sent.photos.items()]
    return {"entries": [vars(outcome) for outcome in outcomes], "photos": photos}


@router.get("/photos/{id}", include_in_schema=False)
def photo(session: Looking, season: Opened, id: str) -> Response:
    """Give out the photo of an entry."""
    path = season.folder / PHOTOS / f"{_safe(id)}.jpg"
    if not path.is_file():
        raise refuse("photo", "this entry has no photo", "an entry with one", "")
    return FileResponse(path, media_type="image/jpeg")


def _photo_outcome(folder: Path, id: str, photo: str, recorded: set[str]) -> dict[str, str]:
    if id not in recorded:
        return {"id": id, "state": "waits", "told": "its entry was not taken"}
    try:
        _keep_photo(folder, id, photo)
    except WetfootError as refused:
        return {"id": id, "state": "refused", "told": "; ".join(problem.what for problem in refused.problems)}
    return {"id": id, "state": "kept", "told": ""}


def _keep_photo(folder: Path, id: str, text: str) -> None:
    """Keep a photo, drawn anew so that nothing but its pixels is kept: no place, no hidden content."""
    try:
        raw = base64.b64decode(text.partition(",")[2] or text, validate=True)
        with Image.open(io.BytesIO(raw)) as opened:
            if opened.width * opened.height > MOST_PIXELS:
                raise refuse("photo", "it is too large", "up to 60 megapixels", "make it smaller")
            picture = opened.convert("RGB")
    except (binascii.Error, UnidentifiedImageError, OSError, ValueError, Image.DecompressionBombError) as error:
        raise refuse("photo", "it cannot be read as a picture", "JPEG or PNG", "take it again") from error
    picture.thumbnail((LARGEST_PHOTO_PIXELS, LARGEST_PHOTO_PIXELS))
    (folder / PHOTOS).mkdir(exist_ok=True)
    part = folder / PHOTOS / f"{_safe(id)}.part"
    picture.save(part, "JPEG", quality=85)
    part.replace(part.with_suffix(".jpg"))


def _safe(id: str) -> str:
    if not (len(id) == 36 and all(letter in "0123456789abcdef-" for letter in id.lower())):
        raise refuse("photo", f"{id!r} is not an id of an entry", "a uuid", "")
    return id.lower()
