"""Three years of an invented trial, taken in as files, end in a recommendation that goes into the plan.

That the readings of the tables are right is held to published figures in tests/trial and tests/web/test_trial_page.py;
here a person gets there with the page alone.
"""

from __future__ import annotations

import re
from pathlib import Path

from browsing import Served, no_console_errors
from playwright.sync_api import Page, expect

from wetfoot.answers.trial_demo import YEARS, write_demo_trial
from wetfoot.plan.file import read_plan

ANALYSED_MS = 120_000  # on a busy machine the first analysis also compiles


def test_from_three_tables_to_a_changed_plan(page: Page, here: Served, tmp_path: Path) -> None:
    write_demo_trial(tmp_path)
    before = read_plan(here.season.folder)
    page.set_default_timeout(ANALYSED_MS)
    with no_console_errors(page):
        page.goto(f"{here.address}/trial")
        for year in YEARS:
            page.get_by_label("A table").set_input_files(tmp_path / "trial" / f"{year}.csv")
            page.get_by_role("button", name="Take the table in").click()
            expect(page.locator("#table")).to_have_value(f"{year}.csv", timeout=ANALYSED_MS)
        page.locator("#table").select_option("all years together")
        page.get_by_role("button", name="Analyse").click()
        expect(page.locator("#recommendation")).to_contain_text("3 years (2023, 2024, 2025)", timeout=ANALYSED_MS)
        advice = page.locator("#recommendation h2").inner_text()
        pieces = int(re.findall(r"Plant (\d+) piece", advice)[0])
        page.get_by_role("button", name="Put it into the plan").click()
        expect(page).to_have_url(f"{here.address}/plan")
    after = read_plan(here.season.folder)
    assert after.crop.pieces_per_pot == pieces
    assert after.crop.yield_factor != before.crop.yield_factor
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_role("button", name="Undo")).to_have_count(0)
    assert read_plan(here.season.folder) == before
