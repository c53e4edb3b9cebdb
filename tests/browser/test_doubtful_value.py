"""What is doubtful is asked about once more, never refused by the phone."""

from __future__ import annotations

from datetime import date, timedelta

from browsing import ALL_SENT, Served, keep_ec, records_on
from playwright.sync_api import Page, expect

from wetfoot.plan.file import changed_text


def test_a_doubtful_value_is_asked_again_and_kept_if_it_is_meant(page: Page, here: Served) -> None:
    page.goto(f"{here.address}/visit")
    keep_ec(page, "12")
    expect(page.locator("#doubt")).to_contain_text("is it µS/cm? Then it is 0.012")
    expect(page.locator("#unsent")).to_have_text("All is sent.")
    page.get_by_role("button", name="Keep").click()
    expect(page.locator("#unsent")).to_contain_text("Recorded as doubtful: EC above 5 mS/cm")
    page.goto(f"{here.address}/records")
    (row,) = records_on(page)
    assert "12.0 mS/cm" in row or "12 mS/cm" in row
    assert "doubtful" in row


ASKED = {
    "#tank": {
        "1,000": "tank: 1,000 is read as 1, with the comma as the decimal sign",
        "1200": "tank: 1200 L is more than the tank holds",
    },
    "#level-1": {"five": "level East: “five” is not a number"},
    "#event-pot": {"11": "pot 11: East has 10"},
}


def test_what_is_asked_about(page: Page, here: Served) -> None:
    page.goto(f"{here.address}/visit")
    page.get_by_label("Who", exact=True).fill("Tester")
    for field, typed in ASKED.items():
        for value, asked in typed.items():
            page.locator(field).fill(value)
            page.get_by_role("button", name="Keep").click()
            expect(page.locator("#doubt")).to_contain_text(asked)
        page.locator(field).fill("")


def test_the_last_value_stands_beside_and_a_jump_from_it_is_asked_about(page: Page, here: Served) -> None:
    _plan_for_today(here)
    page.goto(f"{here.address}/visit")
    keep_ec(page, "1.6")
    expect(page.locator("#unsent")).to_have_text(ALL_SENT)
    page.reload()
    expect(page.locator("label[for='ec-1']")).to_contain_text("last 1.6 mS/cm")
    keep_ec(page, "0.7")
    expect(page.locator("#doubt")).to_contain_text("EC East: 0.7 mS/cm, last time 1.6 mS/cm")


def test_a_refused_entry_is_put_back_into_the_form(page: Page, here: Served) -> None:
    """1800 mS/cm cannot be: the server refuses it, the phone keeps it until it is mended."""
    page.goto(f"{here.address}/visit")
    keep_ec(page, "1800")
    page.get_by_role("button", name="Keep").click()
    expect(page.locator("#waiting li")).to_contain_text("not taken")
    page.get_by_role("button", name="Put back into the form").click()
    expect(page.locator("#ec-1")).to_have_value("1800")
    keep_ec(page, "1.8")
    expect(page.locator("#unsent")).to_have_text(ALL_SENT)


def _plan_for_today(here: Served) -> None:
    """Move the season so that today is in it: last values are those of the season."""
    plan, today = here.season.folder / "season.toml", date.today()
    season = {"crop.planting": today - timedelta(days=100), "crop.harvest": today + timedelta(days=145)}
    season["goal.field_planting"] = today + timedelta(days=245)
    plan.write_text(changed_text(plan.read_text("utf-8"), season), "utf-8")
