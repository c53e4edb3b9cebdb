"""The dose is worked out from what was read at the tank."""

from __future__ import annotations

from browsing import Served, no_console_errors
from playwright.sync_api import Page, expect


def test_the_dose_is_told_with_its_trace(page: Page, here: Served) -> None:
    with no_console_errors(page):
        page.goto(f"{here.address}/solution")
        page.get_by_label("In the tank now").fill("400 L")
        page.get_by_label("Its EC").fill("1.4 mS/cm")
        page.get_by_role("button", name="Work out the dose").click()
        told = page.locator("section", has=page.get_by_role("heading", name="What do I pour into the tank now?"))
        expect(told).to_contain_text("of stock A and as much of stock B")
        number = told.locator("details", has_text="stock A, and as much of B").first
        expect(number.get_by_text("Source:")).to_be_hidden()
        number.locator("summary").click()
        expect(number.get_by_text("Source:")).to_be_visible()


def test_a_value_without_its_unit_is_named_and_stays_in_the_form(page: Page, here: Served) -> None:
    page.goto(f"{here.address}/solution")
    page.get_by_label("In the tank now").fill("400")
    page.get_by_label("Its EC").fill("1.4 mS/cm")
    page.get_by_role("button", name="Work out the dose").click()
    expect(page.get_by_role("alert").first).to_contain_text("litres in the tank")
    expect(page.get_by_label("In the tank now")).to_have_value("400")
