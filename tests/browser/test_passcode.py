"""Over the network one comes in with the passcode alone; when it changes meanwhile, nothing typed is lost."""

from __future__ import annotations

from browsing import ALL_SENT, PASSCODE, Served, go_in, keep_ec, records_on
from playwright.sync_api import Page, expect


def test_a_wrong_passcode_is_told_and_shows_nothing(page: Page, yard: Served) -> None:
    go_in(page, f"{yard.address}/records", "a wrong guess")
    expect(page.locator("main")).to_contain_text("That is not a passcode here.")
    expect(page.get_by_role("navigation")).to_have_count(0)
    assert "Example" not in page.locator("main").inner_text()
    page.get_by_label("Passcode").fill(PASSCODE)
    page.get_by_role("button", name="Enter").click()
    expect(page.get_by_role("navigation", name="Pages")).to_be_visible()


def test_when_the_session_ended_entries_stay_and_go_on_after_entering(page: Page, yard: Served) -> None:
    go_in(page, f"{yard.address}/visit", PASSCODE)
    yard.access.set_passcode("record", "another passcode")  # ends all sessions
    keep_ec(page, "1.6")
    expect(page.locator("#unsent")).to_contain_text("1 not sent yet. Type the passcode. Nothing is lost")
    page.get_by_label("Passcode").fill("a wrong guess")
    page.get_by_role("button", name="Enter and send").click()
    expect(page.locator("#unsent")).to_contain_text("That is not a passcode here.")
    page.get_by_label("Passcode").fill("another passcode")
    page.get_by_role("button", name="Enter and send").click()
    expect(page.locator("#unsent")).to_have_text(ALL_SENT)
    expect(page.get_by_label("Passcode")).to_be_hidden()
    page.goto(f"{yard.address}/records")
    assert len(records_on(page)) == 1


def test_a_session_that_began_anew_elsewhere_needs_no_asking(page: Page, yard: Served) -> None:
    """The form token of a page that was loaded before does not fit the new session; the page fetches a fresh one."""
    go_in(page, f"{yard.address}/visit", PASSCODE)
    other = page.context.new_page()
    yard.access.set_passcode("record", "another passcode")
    go_in(other, f"{yard.address}/visit", "another passcode")
    keep_ec(page, "1.6")
    expect(page.locator("#unsent")).to_have_text(ALL_SENT)
