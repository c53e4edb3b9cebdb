"""Come in with a passcode, and set passcodes on the machine itself."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request, Response
from fastapi.responses import RedirectResponse

from wetfoot.web.access import ROLES, Role
from wetfoot.web.letting_in import NotLetInError, Planning, gate_of
from wetfoot.web.rendering import render

router = APIRouter(include_in_schema=False)


@router.get("/enter")
def ask(request: Request) -> Response:
    """Ask for the passcode."""
    return render(request, "enter.html", told="Type the passcode.", back="/")


@router.post("/enter")
def enter(request: Request, passcode: Annotated[str, Form()], back: Annotated[str, Form()] = "/") -> Response:
    """Let in whoever knows a passcode; guesses get slower."""
    gate, who = gate_of(request), request.client.host if request.client else "unknown"
    wait = gate.access.wait_s(who)
    if wait > 0:
        told = f"Too many wrong passcodes from here. Wait {wait:.0f} seconds, then try again."
        return render(request, "enter.html", status_code=429, told=told, back="/")
    session = gate.access.let_in(passcode, who)
    if session is None:
        return render(request, "enter.html", status_code=401, told="That is not a passcode here.", back="/")
    response = RedirectResponse(_inside(back), status_code=303)
    gate.give(response, session)
    return response


def _inside(back: str) -> str:
    """Return an address of this application only: a form cannot send anybody elsewhere."""
    return back if back.startswith("/") and not back.startswith(("//", "/\\")) else "/"


@router.get("/access")
def access(request: Request, session: Planning) -> Response:
    """Show which roles have a passcode."""
    _only_here(request)
    return render(request, "access.html", roles=ROLES, held=set(gate_of(request).access.passcodes))


@router.post("/access")
def set_passcode(
    request: Request, session: Planning, role: Annotated[Role, Form()], passcode: Annotated[str, Form()] = ""
) -> Response:
    """Set or take away a role's passcode; everybody must come in anew."""
    _only_here(request)
    gate = gate_of(request)
    if passcode:
        gate.access.set_passcode(role, passcode)
    else:
        gate.access.clear(role)
    response = RedirectResponse("/access", status_code=303)
    gate.give(response, gate.access.session("plan"))
    return response


def _only_here(request: Request) -> None:
    if not gate_of(request).is_here(request):
        raise NotLetInError("Passcodes are set on the machine that runs this, not over the network.", 403)
