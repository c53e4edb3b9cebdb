"""On a phone's screen, from an empty folder to a computed season, a visit without a network, and what to do next.

With the commands of the README and the real server; the season is begun on the page, or with the command.
"""

from __future__ import annotations

import os
import re
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from browsing import ALL_SENT, PHONE, keep_ec, no_console_errors, records_on
from playwright.sync_api import Page, expect

WETFOOT = [sys.executable, "-c", "from wetfoot.cli.app import main; main()"]
COMPUTING_MS = 240_000  # the first run on a machine also compiles


def test_from_an_empty_folder_to_a_visit_and_what_to_do_next(page: Page, tmp_path: Path) -> None:
    folder = tmp_path / "mine"
    with _serving(folder) as address:
        with no_console_errors(page):
            _begin_on_the_page(page, address)
            _to_the_dossier(page, address)
        _a_visit_without_a_network(page, address)
        _what_to_do_next(page, address)
    assert len(list((folder / "sheets").glob("*.pdf"))) >= 5


def test_what_the_command_began_the_page_goes_on_with(page: Page, tmp_path: Path) -> None:
    folder = tmp_path / "mine"
    subprocess.run([*WETFOOT, "new", str(folder)], check=True, capture_output=True, timeout=60)
    with _serving(folder) as address, no_console_errors(page):
        page.goto(address)
        expect(page.locator("main")).to_contain_text("Nothing was computed yet.")


def test_beside_other_files_it_asks_first(page: Page, tmp_path: Path) -> None:
    (tmp_path / "letter.txt").write_text("an invented letter", "utf-8")
    with _serving(tmp_path) as address, no_console_errors(page):
        page.goto(address)
        expect(page.locator("main")).to_contain_text("letter.txt")
        page.get_by_label("Title").fill("Invented yard")
        page.get_by_role("button", name="Begin").click()  # the browser itself asks for the tick
        expect(page.get_by_role("heading", name="Begin a season")).to_be_visible()
        assert not (tmp_path / "season.toml").exists()
        page.get_by_label("Begin here all the same").check()
        page.get_by_role("button", name="Begin").click()
        expect(page).to_have_url(f"{address}plan")
    assert (tmp_path / "letter.txt").read_text("utf-8") == "an invented letter"


@contextmanager
def _serving(folder: Path) -> Iterator[str]:
    """Serve a folder with the command, and yield its address."""
    command = [*WETFOOT, "serve", str(folder), "--no-browser", "--port", str(_free_port())]
    environment = {**os.environ, "PYTHONUNBUFFERED": "1"}
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment) as server:
        try:
            assert server.stdout is not None
            yield next(line.strip() for line in server.stdout if line.startswith("http"))
        finally:
            server.terminate()


def _begin_on_the_page(page: Page, address: str) -> None:
    page.goto(address)
    expect(page.get_by_role("heading", name="Begin a season")).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    page.get_by_label("Title").fill("Invented yard")
    page.get_by_label("Units").select_option("US")
    page.get_by_role("button", name="Begin").click()
    expect(page).to_have_url(f"{address}plan")
    expect(page.locator("header")).to_contain_text("Invented yard")


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
