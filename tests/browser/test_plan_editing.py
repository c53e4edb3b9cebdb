"""The plan is changed on its page: the drawing and the verdict follow while one types, before anything is saved."""

from __future__ import annotations

from browsing import Served, no_console_errors
from playwright.sync_api import Page, expect


def test_verdict_and_drawing_follow_the_typing_and_nothing_is_saved(page: Page, here: Served) -> None:
    plan = here.season.folder / "season.toml"
    before = plan.read_text("utf-8")
    page.goto(f"{here.address}/plan")
    with no_console_errors(page, expected="422"):
        page.get_by_text("Nests, Standard").click()
        level, nest = page.get_by_label("Set level"), page.locator("#beside figure", has_text="Nest standard")
        expect(nest).to_contain_text("set level 5 cm")
        level.fill("6 cm")
        expect(nest).to_contain_text("set level 6 cm")
        expect(page.locator("#told")).to_contain_text("This can be built.")
        level.fill("9 cm")
        expect(page.locator("#told")).to_contain_text("to mend before it can be saved")
        level.fill("a lot")
        expect(page.locator('[id="w-nests.standard.set_level"]')).to_be_visible()
        expect(level).to_have_attribute("aria-invalid", "true")
        expect(nest).to_contain_text("set level 6 cm")  # the last one that could be drawn
    assert plan.read_text("utf-8") == before


def test_a_saved_change_is_there_and_is_taken_back(page: Page, here: Served) -> None:
    plan = here.season.folder / "season.toml"
    before = plan.read_text("utf-8")
    page.goto(f"{here.address}/plan")
    page.locator("summary", has_text="Tank").click()
    page.locator('[id="f-tank.volume"]').fill("800 L")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_role("button", name="Undo the last saved change")).to_be_visible()
    assert 'volume = "800 L"' in plan.read_text("utf-8")
    expect(page.locator('[id="f-tank.volume"]')).to_be_visible()  # the part is still open
    page.get_by_role("button", name="Undo the last saved change").click()
    expect(page.locator('[id="f-tank.volume"]')).to_have_value("1000 L")
    assert plan.read_text("utf-8") == before


def test_the_plan_shows_every_part_without_a_script(open_phone: object, here: Served) -> None:
    page = open_phone(java_script_enabled=False).new_page()  # type: ignore[operator]
    page.goto(f"{here.address}/plan")
    page.locator("summary", has_text="Tank").click()
    page.locator('[id="f-tank.volume"]').fill("a lot")
    page.get_by_role("button", name="Try without saving").click()
    expect(page.locator('[id="w-tank.volume"]')).to_be_visible()
