"""Every page, at the width of a phone and of a screen, light and dark: nothing serious that axe finds, nothing wider
than the phone, light to load, still while it loads, and silent on the console.

Source of the rules: axe-core's own set, which tests WCAG 2 success criteria; the page for the yard also AAA contrast.
"""

from __future__ import annotations

import json
import re
from functools import lru_cache
from importlib.resources import files
from typing import Any

import pytest
from browsing import PHONE, SCREEN, Served, no_console_errors
from playwright.sync_api import Page, Response

from wetfoot.web.rendering import PAGES

FILLED = {"/solution": "/solution?tank=400+L&ec=1.4+mS/cm", "/records": "/records?find=EC+East"}
OTHERS = ("/visit", "/access", "/enter", "/nothing")
STOCK = (
    *("/stock/records", "/stock/enter?type=test", "/stock/enter?type=planting", "/stock/dip", "/stock/generations"),
    *("/stock/store", "/stock/lot/G1%202026", "/stock/exposed?suspect=East+3&agent=bacterial+wilt"),
)
HEAVIEST_BYTES = 100_000
SHIFTS = """window.shifted = 0; new PerformanceObserver((list) => {
  for (const entry of list.getEntries()) if (!entry.hadRecentInput) window.shifted += entry.value;
}).observe({ type: "layout-shift", buffered: true });"""


@pytest.mark.parametrize("address", [*(FILLED.get(address, address) for address, _ in PAGES), *OTHERS, *STOCK])
def test_page(page: Page, demo: Served, address: str) -> None:
    weights: list[int] = []
    page.on("response", lambda answer: weights.append(_weight(answer)))
    page.add_init_script(SHIFTS)
    with no_console_errors(page, expected="404"):
        page.goto(demo.address + address, wait_until="networkidle")
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    assert page.evaluate("window.shifted") < 0.01
    assert sum(weights) < HEAVIEST_BYTES, weights
    page.evaluate(_axe())
    found = []
    for width, scheme in ((PHONE, "light"), (PHONE, "dark"), (SCREEN, "light"), (SCREEN, "dark")):
        page.set_viewport_size(width)  # type: ignore[arg-type]
        page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
        found += _serious(page, _rules(address, width == PHONE and scheme == "light"))
    assert not found, found


def _weight(answer: Response) -> int:
    """Return the bytes of an answer without the charts and drawings in it."""
    return len(re.sub(rb"<svg.*?</svg>", b"", answer.body(), flags=re.DOTALL)) if answer.ok else 0


def _rules(address: str, all_of_them: bool) -> dict[str, Any]:
    """Return what axe runs: all rules once, then those that width and colours can change."""
    if all_of_them:
        return {"rules": {"color-contrast-enhanced": {"enabled": address == "/visit"}}}
    return {"runOnly": ["color-contrast", "target-size", "scrollable-region-focusable", "link-in-text-block"]}


def _serious(page: Page, options: dict[str, Any]) -> list[str]:
    where = "document" if "rules" in options else "{ exclude: '.drawing' }"  # a drawing has its own ground in any light
    ask = f"axe.run({where}, {json.dumps({**options, 'resultTypes': ['violations']})})"
    violations = page.evaluate(ask)["violations"]
    return [
        f"{each['id']}: {each['nodes'][0]['html'][:200]}"
        for each in violations
        if each["impact"] in ("serious", "critical")
    ]


@lru_cache(maxsize=1)
def _axe() -> str:
    return files("axe_playwright_python").joinpath("axe.min.js").read_text("utf-8")
