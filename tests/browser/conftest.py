"""The real browser, once for all tests, and seasons served to it."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

sys.path.insert(0, str(Path(__file__).parent))

from browsing import CHROMIUM, FLAGS, PASSCODE, PHONE, Served

from wetfoot.answers.demo import demo_folder
from wetfoot.web.season import OpenSeason


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """The browser; without one the tests are skipped, but never in CI."""
    if CHROMIUM is None:
        if os.environ.get("CI"):
            pytest.fail("no chromium is installed, and CI must not go without: apt-get install chromium")
        pytest.skip("no chromium is installed: apt-get install chromium")
    with sync_playwright() as player:
        browser = player.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture
def open_phone(chromium: Browser) -> Iterator[Callable[..., BrowserContext]]:
    """Give browsers that know nothing of each other, each as a phone of its own."""
    opened: list[BrowserContext] = []

    def open_one(**settings: Any) -> BrowserContext:
        opened.append(chromium.new_context(**{"viewport": PHONE, "locale": "en-US", **settings}))
        opened[-1].set_default_timeout(15_000)
        return opened[-1]

    yield open_one
    for each in opened:
        each.close()


@pytest.fixture
def page(open_phone: Callable[..., BrowserContext]) -> Page:
    """A page on a phone."""
    return open_phone().new_page()


@pytest.fixture
def here(season_folder: Path) -> Iterator[Served]:
    """A new season, served to this machine."""
    served = Served(OpenSeason(season_folder, runs=10, patience_s=60))
    yield served
    served.stop()


@pytest.fixture
def yard(season_folder: Path) -> Iterator[Served]:
    """A new season, served to phones on the network over plain http, which know a passcode."""
    served = Served(OpenSeason(season_folder, runs=10, patience_s=60), lan=True)
    served.access.set_passcode("record", PASSCODE)
    yield served
    served.stop()


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """The invented season with its invented readings, computed."""
    folder = tmp_path_factory.mktemp("browser") / "demo"
    demo_folder(folder)
    season = OpenSeason(folder, runs=10, patience_s=60)
    season.compute()
    season.wait(300)
    assert season.work.state == "done", season.work
    served = Served(season)
    yield served
    served.stop()
