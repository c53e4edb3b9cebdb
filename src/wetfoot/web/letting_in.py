"""Let a request in: which machine it comes from, which session it has, whether its form is ours."""

from __future__ import annotations

import ipaddress
from dataclasses import dataclass
from typing import Annotated

from fastapi import Depends, Request, Response

from wetfoot.web.access import SESSION_S, Access, Role, Session
from wetfoot.web.season import OpenSeason

COOKIE = "wetfoot_session"
OUR_NAMES = ("localhost", "127.0.0.1", "[::1]")


class NotLetInError(Exception):
    """A request that may not do what it asks; ``status`` is 401 where a passcode would help, else 403."""

    def __init__(self, told: str, status: int = 401) -> None:
        super().__init__(told)
        self.status = status


@dataclass
class Gate:
    """What decides about every request of an application."""

    access: Access
    lan: bool
    secure: bool

    def knows_host(self, request: Request) -> bool:
        """Tell whether a request names this machine, or on a local network an address: not some page's own name.

        A foreign page whose name was pointed at this machine would otherwise be let in as if it were ours.
        """
        name = request.headers.get("host", "").rsplit(":", 1)[0] if "]" not in request.headers.get("host", "") else (
            request.headers["host"].split("]")[0] + "]"
        )  # fmt: skip
        return name in OUR_NAMES or (self.lan and (_is_address(name) or name.endswith(".local")))

    def session(self, request: Request) -> Session | None:
        """Return the session of a request; on this machine itself one is made without a passcode."""
        found = self.access.read_cookie(request.cookies.get(COOKIE))
        if found is None and self.is_here(request):
            found = getattr(request.state, "made", None) or self.access.session("plan")
            request.state.made = found
        return found

    def is_here(self, request: Request) -> bool:
        """Tell whether a request comes from this machine."""
        return request.client is not None and request.client.host in ("127.0.0.1", "::1")

    def give(self, response: Response, session: Session) -> None:
        """Put a session's cookie on an answer."""
        response.set_cookie(
            COOKIE, self.access.cookie(session), max_age=SESSION_S, httponly=True, samesite="strict", secure=self.secure
        )


def _is_address(name: str) -> bool:
    try:
        ipaddress.ip_address(name.strip("[]"))
    except ValueError:
        return False
    return True


def gate_of(request: Request) -> Gate:
    """Return the gate of the application."""
    gate: Gate = request.app.state.gate
    return gate


def season_of(request: Request) -> OpenSeason:
    """Return the season of the application."""
    season: OpenSeason = request.app.state.season
    return season


def _may(request: Request, needed: Role) -> Session:
    gate = gate_of(request)
    session = gate.session(request)
    if session is None:
        raise NotLetInError("Type the passcode.")
    if not session.may(needed):
        raise NotLetInError(f"Your passcode lets you {session.role}; this needs one that lets you {needed}.", 403)
    return session


async def looking(request: Request) -> Session:
    """Let in who may look."""
    return _may(request, "look")


async def recording(request: Request) -> Session:
    """Let in who may record, with a form of ours."""
    return await _with_form(request, "record")


async def planning(request: Request) -> Session:
    """Let in who may plan, with a form of ours."""
    return await _with_form(request, "plan")


async def _with_form(request: Request, needed: Role) -> Session:
    session = _may(request, needed)
    if request.method in ("GET", "HEAD"):
        return session
    token = request.headers.get("x-form-token")
    if token is None and "form" in request.headers.get("content-type", ""):
        given = (await request.form()).get("form_token")
        token = given if isinstance(given, str) else None
    if not gate_of(request).access.is_form_token(session, token):
        raise NotLetInError("This form is too old or not ours. Open the page again and repeat it.", 403)
    return session


Looking = Annotated[Session, Depends(looking)]
Recording = Annotated[Session, Depends(recording)]
Planning = Annotated[Session, Depends(planning)]
Opened = Annotated[OpenSeason, Depends(season_of)]
