"""What the browser tests share: where the browser is, how it is started, a server for one season."""

from __future__ import annotations

import re
import shutil
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import uvicorn
from playwright.sync_api import ConsoleMessage, Page, expect
from starlette.types import ASGIApp, Receive, Scope, Send

from wetfoot.web.access import open_access
from wetfoot.web.app import create_app
from wetfoot.web.season import OpenSeason
from wetfoot.web.serving import own_addresses

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
YARD_NAME = "yard.local"
"""A name on the local network, where this machine has no address of its own to be reached under."""
FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    f"--host-resolver-rules=MAP {YARD_NAME} 127.0.0.1",
]
ALL_SENT = re.compile(r"All is sent\. \d+ recorded at \d\d:\d\d\.")
PASSCODE = "reed warbler nest"
PHONE = {"width": 360, "height": 740}
SCREEN = {"width": 1440, "height": 900}


class Served:
    """A season's pages under an address; the server can be taken away and brought back under the same one."""

    def __init__(self, season: OpenSeason, lan: bool = False) -> None:
        self.season, self.lan = season, lan
        self.access = open_access(season.folder)
        self._socket = socket.create_server(("0.0.0.0" if lan else "127.0.0.1", 0))
        self.port = self._socket.getsockname()[1]
        self._start()

    @property
    def address(self) -> str:
        """Return the address, as a phone on the network sees it if it is served there."""
        name = lan_name() if self.lan else "localhost"
        return f"http://{name}:{self.port}"

    def stop(self) -> None:
        """Take the server away: nothing answers under its address."""
        self._server.should_exit = self._server.force_exit = True
        self._thread.join(10)
        self._socket.close()

    def start_again(self) -> None:
        """Bring the server back under the same address."""
        self._socket = socket.create_server(("0.0.0.0" if self.lan else "127.0.0.1", self.port))
        self._start()

    def _start(self) -> None:
        app: ASGIApp = create_app(self.season, self.access, lan=self.lan)
        if self.lan and not own_addresses():
            app = _from_the_yard(app)
        self._server = uvicorn.Server(uvicorn.Config(app, log_level="error", lifespan="off"))
        self._thread = threading.Thread(target=self._server.run, args=([self._socket],), daemon=True)
        self._thread.start()
        while not self._server.started:
            time.sleep(0.01)


def lan_name() -> str:
    """Return under which name a phone reaches this machine: its own address, else a name of the local network."""
    return (own_addresses() or [YARD_NAME])[0]


def _from_the_yard(app: ASGIApp) -> ASGIApp:
    """Return the application as a phone reaches it: a machine without a network has loopback connections only."""

    async def moved(scope: Scope, receive: Receive, send: Send) -> None:
        if "client" in scope:
            scope = {**scope, "client": ("192.0.2.7", 40000)}  # an address for documentation (RFC 5737)
        await app(scope, receive, send)

    return moved


@contextmanager
def no_console_errors(page: Page, expected: str = "") -> Iterator[None]:
    """Fail if the page throws, or writes an error to its console that does not hold the expected words."""
    found: list[str] = []

    def heard(message: ConsoleMessage) -> None:
        if message.type == "error" and not (expected and expected in message.text):
            found.append(message.text)

    page.on("console", heard)
    page.on("pageerror", lambda error: found.append(str(error)))
    yield
    assert not found, found


def records_on(page: Page) -> list[str]:
    """Return the records that the page of records lists, one text each."""
    return [" ".join(row.inner_text().split()) for row in page.locator("main tbody tr").all()]


def a_picture(path: Path) -> Path:
    """Write an invented photo and return its path."""
    from PIL import Image

    Image.new("RGB", (2400, 1200), "olive").save(path, "JPEG")
    return path


def go_in(page: Page, address: str, passcode: str) -> None:
    """Open an address as a phone that is asked for the passcode first."""
    page.goto(address)
    page.get_by_label("Passcode").fill(passcode)
    page.get_by_role("button", name="Enter").click()


def keep_ec(page: Page, value: str, who: str = "Tester") -> None:
    """Type an EC in the first bank of the page for the yard and keep it, once the page is loaded whole."""
    expect(page.locator("#unsent")).not_to_have_text("Loading…")
    page.get_by_label("Who", exact=True).fill(who)
    page.locator("#ec-1").fill(value)
    page.get_by_role("button", name="Keep").click()
