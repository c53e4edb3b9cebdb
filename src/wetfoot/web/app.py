"""The application: pages put together, every request let in or not, every answer with its safety headers."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from pathlib import Path

from fastapi import FastAPI, Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.middleware.gzip import GZipMiddleware
from fastapi.responses import HTMLResponse, JSONResponse, RedirectResponse
from fastapi.staticfiles import StaticFiles
from starlette.exceptions import HTTPException

from wetfoot.errors import Problem, WetfootError
from wetfoot.web.access import Access
from wetfoot.web.letting_in import Gate, NotLetInError
from wetfoot.web.pages.listed import ALL_PAGES
from wetfoot.web.rendering import PAGES, render
from wetfoot.web.season import OpenSeason

STATIC = Path(__file__).parent / "static"
# No script and no style but our own files: what people typed cannot become either.
POLICY = (
    "default-src 'none'; img-src 'self' data: blob:; style-src 'self'; script-src 'self'; connect-src 'self'; "
    "manifest-src 'self'; worker-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Permissions-Policy": "geolocation=(), microphone=(), payment=()",
}
NEED_A_PLAN = {*(address for address, _ in PAGES), "/visit", "/access"}
LARGEST_REQUEST_BYTES = 25_000_000


def create_app(season: OpenSeason, access: Access, lan: bool = False, secure: bool = False) -> FastAPI:
    """Return the application for one season.

    Args:
        season: what the pages show.
        access: passcodes and sessions.
        lan: whether other machines may reach it, with a passcode.
        secure: whether it is served over https, so that cookies say so.
    """
    app = FastAPI(title="Wetfoot", docs_url=None, redoc_url=None, openapi_url="/api/schema.json")
    app.state.season, app.state.gate = season, Gate(access, lan, secure)
    app.mount("/static", StaticFiles(directory=STATIC), name="static")
    for router in ALL_PAGES:
        app.include_router(router)
    app.add_middleware(GZipMiddleware, minimum_size=2000, compresslevel=5)
    app.middleware("http")(_guarded)
    app.exception_handler(WetfootError)(_refused)
    app.exception_handler(RequestValidationError)(_unreadable)
    app.exception_handler(NotLetInError)(_not_let_in)
    app.exception_handler(HTTPException)(_no_page)
    app.exception_handler(Exception)(_fault)
    return app


async def _guarded(request: Request, call: Callable[[Request], Awaitable[Response]]) -> Response:
    """Answer a request only for a name that is ours and of a size that is sane, and add the headers."""
    length = request.headers.get("content-length", "0")
    if not request.app.state.gate.knows_host(request):
        response: Response = HTMLResponse("This name is not served here.", status_code=421)
    elif not length.isdigit() or int(length) > LARGEST_REQUEST_BYTES:
        response = HTMLResponse("This is too large.", status_code=413)
    elif request.method == "GET" and request.url.path in NEED_A_PLAN and not request.app.state.season.begun:
        response = RedirectResponse("/begin", status_code=303)
    else:
        response = await call(request)
    for name, value in HEADERS.items():
        response.headers.setdefault(name, value)
    if not request.url.path.startswith("/static"):
        response.headers.setdefault("Cache-Control", "no-store")
    return response


def _wants_json(request: Request) -> bool:
    return request.url.path.startswith("/api/")


async def _refused(request: Request, error: Exception) -> Response:
    assert isinstance(error, WetfootError)
    if _wants_json(request):
        return JSONResponse({"refused": [vars(problem) for problem in error.problems]}, status_code=422)
    return render(request, "refused.html", status_code=422, problems=error.problems)


async def _unreadable(request: Request, error: Exception) -> Response:
    """Tell what a request lacks, without giving back what it held (Infinity, say, is no JSON)."""
    assert isinstance(error, RequestValidationError)
    problems = [Problem(".".join(map(str, each["loc"])), str(each["msg"])) for each in error.errors()]
    return await _refused(request, WetfootError(problems[:20]))


async def _not_let_in(request: Request, error: Exception) -> Response:
    assert isinstance(error, NotLetInError)
    if _wants_json(request):
        return JSONResponse({"refused": [{"where": "access", "what": str(error)}]}, status_code=error.status)
    return render(request, "enter.html", status_code=error.status, told=str(error), back=request.url.path)


async def _no_page(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    if _wants_json(request):
        return JSONResponse(
            {"refused": [{"where": "address", "what": str(error.detail)}]}, status_code=error.status_code
        )
    return render(request, "no_page.html", status_code=error.status_code, detail=error.detail)


async def _fault(request: Request, error: Exception) -> Response:
    if _wants_json(request):
        return JSONResponse({"refused": [{"where": "program", "what": "a fault of the program"}]}, status_code=500)
    return render(request, "fault.html", status_code=500, kind=type(error).__name__)
