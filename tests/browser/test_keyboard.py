"""Everything is reached without a pointer."""

from __future__ import annotations

import re

from browsing import Served
from playwright.sync_api import Page, expect


def test_the_skip_link_comes_first_and_leads_to_the_content(page: Page, here: Served) -> None:
    page.goto(here.address)
    page.keyboard.press("Tab")
    skip = page.get_by_role("link", name="To the content")
    expect(skip).to_be_focused()
    expect(skip).to_be_in_viewport()
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    assert page.evaluate("document.querySelector('main').contains(document.activeElement)")


def test_the_parts_of_the_bench_are_links_that_tab_reaches(page: Page, here: Served) -> None:
    page.goto(here.address)
    reached = _tab_through(page)
    for part in ("Solution: stocks, EC and what to pour", "Water of East", "Plan of bench and season"):
        assert any(part in name for name in reached), (part, reached)
    page.locator("main svg a[aria-label^='Solution']").focus()
    page.keyboard.press("Enter")
    expect(page).to_have_url(re.compile("/solution$"))


def test_what_has_the_focus_shows_it(page: Page, here: Served) -> None:
    page.goto(here.address)
    for _ in range(12):
        page.keyboard.press("Tab")
        ring = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
        assert ring == "solid", page.evaluate("document.activeElement.outerHTML.slice(0, 100)")


def test_a_number_opens_its_trace_with_enter(page: Page, here: Served) -> None:
    page.goto(f"{here.address}/stock")
    number = page.locator("details.number").first
    number.locator("summary").focus()
    page.keyboard.press("Enter")
    expect(number.get_by_text("Source:")).to_be_visible()
    page.keyboard.press("Enter")
    expect(number.get_by_text("Source:")).to_be_hidden()


def _tab_through(page: Page) -> list[str]:
    names = []
    for _ in range(60):
        page.keyboard.press("Tab")
        element = "document.activeElement"
        names.append(page.evaluate(f"{element}.getAttribute('aria-label') || {element}.textContent.trim()"))
    return names
