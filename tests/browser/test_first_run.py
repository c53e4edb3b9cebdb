"""On a phone's screen, from an empty folder to a computed season, a visit without a network, and what to do next.

With the commands of the README and the real server.
"""

from __future__ import annotations

import os
import re
import socket
import subprocess
import sys
from pathlib import Path

from browsing import ALL_SENT, PHONE, keep_ec, no_console_errors, records_on
from playwright.sync_api import Page, expect

WETFOOT = [sys.executable, "-c", "from wetfoot.cli.app import main; main()"]
COMPUTING_MS = 240_000  # the first run on a machine also compiles


def test_from_an_empty_folder_to_a_visit_and_what_to_do_next(page: Page, tmp_path: Path) -> None:
    folder, port = tmp_path / "mine", _free_port()
    subprocess.run([*WETFOOT, "new", str(folder)], check=True, capture_output=True, timeout=60)
    command = [*WETFOOT, "serve", str(folder), "--no-browser", "--port", str(port)]
    environment = {**os.environ, "PYTHONUNBUFFERED": "1"}
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment) as server:
        try:
            assert server.stdout is not None
            address = next(line.strip() for line in server.stdout if line.startswith("http"))
            with no_console_errors(page):
                _to_the_dossier(page, address)
            _a_visit_without_a_network(page, address)
            _what_to_do_next(page, address)
        finally:
            server.terminate()
    assert len(list((folder / "sheets").glob("*.pdf"))) >= 5


def _to_the_dossier(page: Page, address: str) -> None:
    page.goto(address)
    expect(page.locator("main")).to_contain_text("Nothing was computed yet.")
    page.get_by_role("button", name="Compute the season").click()
    expect(page.get_by_role("heading", name="The season's questions")).to_be_visible(timeout=COMPUTING_MS)
    expect(page.locator(".todo .state").first).to_have_text(re.compile("yes|watch|no"))
    page.get_by_role("navigation", name="Pages").get_by_role("link", name="Sheets").click()
    page.get_by_role("button", name="Make the sheets").click()
    expect(page.get_by_role("link", name="3-mixing.pdf")).to_be_visible(timeout=60_000)


def _a_visit_without_a_network(page: Page, address: str) -> None:
    page.goto(f"{address}visit")
    page.evaluate("navigator.serviceWorker.ready")
    page.context.set_offline(True)
    keep_ec(page, "1.62")
    expect(page.locator("#unsent")).to_contain_text("1 not sent yet")
    page.context.set_offline(False)
    expect(page.locator("#unsent")).to_have_text(ALL_SENT)
    page.goto(f"{address}records")
    (row,) = records_on(page)
    assert "1.62 mS/cm Tester" in row


def _what_to_do_next(page: Page, address: str) -> None:
    """The start page says it on a phone's screen, without anything wider than that."""
    page.goto(address)
    expect(page.locator("main")).to_contain_text(re.compile(r"Come (again )?on \d{4}-\d\d-\d\d|The season is over"))
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]


def _free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as probe:
        port: int = probe.getsockname()[1]
        return port
