"""Text that tries to be a page stays text, wherever a person can write."""

from __future__ import annotations

from datetime import date

from browsing import Served, no_console_errors
from playwright.sync_api import Page, expect

from wetfoot.plan.example import example_text
from wetfoot.plan.file import changed_text, plan_from_text

HOSTILE = "<img src=x onerror=alert(1)><script>window.ran=1</script>'\"><svg onload=window.ran=1>{{7*7}}"
PLAN_FIELDS = ("title", "site.name", "crop.name", "costs.currency", "banks.0.name")
PAGES = ("/", "/plan", "/water", "/solution", "/stock", "/records", "/visit", "/sheets", "/nothing/" + HOSTILE)


def test_nothing_that_was_typed_runs(page: Page, here: Served) -> None:
    _write_hostile_plan(here)
    dialogs: list[str] = []
    page.on("dialog", lambda dialog: (dialogs.append(dialog.message), dialog.dismiss()))
    page.goto(f"{here.address}/visit")
    page.get_by_label("Who", exact=True).fill(HOSTILE)
    page.locator("#ec-1").fill("1.6")
    page.get_by_label("What", exact=True).select_option("other")
    page.get_by_label("Note").fill(HOSTILE)
    page.get_by_role("button", name="Keep").click()
    expect(page.locator("#unsent")).to_contain_text("2 recorded")
    token = page.locator("#visit").get_attribute("data-token") or ""
    row = dict.fromkeys(("place", "who", "note"), HOSTILE)
    row |= {
        "id": "0b6f6a9e-4c1e-4c39-9d2f-1d1f0c8d2a11",
        "date": date.today().isoformat(),
        "what": "EC",
        "value": "1.5",
    }
    row |= {"value": "1.5", "unit": "mS/cm"}
    sent = page.request.post(f"{here.address}/api/entries", data={"entries": [row]}, headers={"X-Form-Token": token})
    assert sent.json()["entries"][0]["state"] == "recorded", sent.text()
    for address in PAGES:
        with no_console_errors(page, expected="404"):
            page.goto(here.address + address)
            assert page.evaluate("window.ran === undefined"), address
            assert page.locator("main img, main script").count() == 0, address
    page.goto(f"{here.address}/records")
    expect(page.locator("main")).to_contain_text(HOSTILE)
    page.goto(f"{here.address}/plan")
    expect(page.locator('[id="f-title"]')).to_have_value(HOSTILE)
    assert dialogs == []


def test_a_phone_shows_what_waits_and_what_was_refused_as_text(page: Page, here: Served) -> None:
    page.goto(f"{here.address}/visit")
    page.get_by_label("Who", exact=True).fill("Tester")
    page.locator("#ec-1").fill(HOSTILE)
    page.get_by_role("button", name="Keep").click()
    expect(page.locator("#doubt")).to_contain_text(HOSTILE.replace(",", "."))
    page.get_by_role("button", name="Keep").click()
    expect(page.locator("#waiting li")).to_contain_text("not taken")
    expect(page.locator("#waiting li")).to_contain_text("<script>")
    assert page.evaluate("window.ran === undefined")
    assert page.locator("main img").count() == 0


def _write_hostile_plan(here: Served) -> None:
    text = changed_text(example_text(), {field: HOSTILE for field in PLAN_FIELDS})
    plan_from_text(text, here.season.folder)  # it can be built, whatever it is called
    (here.season.folder / "season.toml").write_text(text, "utf-8")
