"""The page of the trial: lay out, ask for power, take a table in, read the advice, put it into the plan."""

from __future__ import annotations

from pathlib import Path

import pytest
from page_forms import token_on
from starlette.testclient import TestClient

from wetfoot.answers.trial_demo import write_demo_trial
from wetfoot.plan.file import read_plan
from wetfoot.trial.layout_file import read_layout
from wetfoot.web.pages import trial
from wetfoot.web.pages.listed import ALL_PAGES

CASE_A = Path(__file__).parents[1] / "trial" / "data" / "trial_case_A.csv"
LAYOUT = {"factors": "gutter=no,yes@boards\npieces=1,2,3@pots", "blocks": "3", "seed": "invented", "year": "2026"}


@pytest.fixture
def page(here: TestClient) -> TestClient:
    if trial.router not in ALL_PAGES:
        here.app.include_router(trial.router)  # type: ignore[attr-defined]
    return here


def test_a_new_season_has_forms_only(page: TestClient) -> None:
    told = page.get("/trial")
    assert told.status_code == 200
    assert "Lay it out" in told.text
    assert "recommendation" not in told.text


def test_a_layout_is_drawn_and_shown(page: TestClient, folder: Path) -> None:
    token = token_on(page, "/trial")
    assert page.post("/trial/layout", data={**LAYOUT, "form_token": token}).status_code == 200
    assert read_layout(folder / "trial" / "layout.csv").recipe.seed == "invented"
    told = page.get("/trial").text
    assert "Block 3" in told
    assert page.get("/trial/files/labels.pdf").content.startswith(b"%PDF")


def test_another_layout_needs_a_yes(page: TestClient, folder: Path) -> None:
    token = token_on(page, "/trial")
    page.post("/trial/layout", data={**LAYOUT, "form_token": token})
    other = {**LAYOUT, "seed": "other", "form_token": token}
    refused = page.post("/trial/layout", data=other)
    assert refused.status_code == 422
    assert "another layout" in refused.text
    assert 'value="other"' in refused.text
    assert page.post("/trial/layout", data={**other, "replace": "yes"}).status_code == 200
    assert read_layout(folder / "trial" / "layout.csv").recipe.seed == "other"


def test_mistakes_in_a_layout_are_named(page: TestClient) -> None:
    wrong = {**LAYOUT, "factors": "gutter\n", "form_token": token_on(page, "/trial")}
    told = page.post("/trial/layout", data=wrong)
    assert told.status_code == 422
    assert "is not a factor" in told.text
    wrong = {**LAYOUT, "blocks": "four", "form_token": token_on(page, "/trial")}
    assert "not a whole number" in page.post("/trial/layout", data=wrong).text


def test_power_is_told(page: TestClient) -> None:
    query = {"power_factors": "gutter=no,yes@boards\npieces=1,2,3,4\npot=std,air", "cv": "12 %", "board_cv": "4 %",
             "difference": "15 %", "span": "2-6", "years": "1"}  # fmt: skip
    assert "take 5 blocks, 80 pots in all" in page.get("/trial", params=query).text  # handbook 7.3
    assert "no range" in page.get("/trial", params={**query, "span": "many"}).text


def test_a_table_is_taken_in_analysed_and_reported(page: TestClient, folder: Path) -> None:
    token = token_on(page, "/trial")
    with CASE_A.open("rb") as file:
        told = page.post("/trial/table", data={"form_token": token}, files={"file": ("mine.csv", file)})
    assert told.status_code == 200
    assert "F(1, 2.89) = 33.02" in told.text  # handbook 4.2, M3
    assert "Plant" in told.text
    made = page.post("/trial/report", data={"form_token": token, "table": "mine.csv"})
    assert made.status_code == 200
    assert page.get("/trial/files/trial-report.pdf").content.startswith(b"%PDF")


@pytest.mark.parametrize("name", ["../season.toml", "layout.csv", "a.exe", "season.toml", ".csv"])
def test_only_tables_are_kept_and_in_their_folder(page: TestClient, folder: Path, name: str) -> None:
    plan = (folder / "season.toml").read_bytes()
    token = token_on(page, "/trial")
    told = page.post("/trial/table", data={"form_token": token}, files={"file": (name, b"a,b\n1,2\n")})
    assert told.status_code == 422
    assert (folder / "season.toml").read_bytes() == plan
    assert not (folder / "trial").exists()


def test_a_table_that_cannot_be_read_is_told_with_fields_to_mend_it(page: TestClient) -> None:
    token = token_on(page, "/trial")
    told = page.post("/trial/table", data={"form_token": token}, files={"file": ("a.csv", b"wool,breaks\nA,26\n")})
    assert told.status_code == 200
    assert "no column found" in told.text
    assert 'id="response"' in told.text


def test_forms_need_our_token_and_files_a_known_name(page: TestClient) -> None:
    assert page.post("/trial/layout", data=LAYOUT).status_code == 403
    assert page.get("/trial/files/..%2fseason.toml").status_code in (404, 422)
    assert page.get("/trial/files/season.toml").status_code == 422


def test_the_demos_three_years_end_in_advice_that_goes_into_the_plan(page: TestClient, folder: Path) -> None:
    write_demo_trial(folder)
    told = page.get("/trial", params={"margin": "dome=yes by 5 %"}).text
    assert "Plant 3 pieces in a pot" in told
    assert "3 years (2023, 2024, 2025)" in told
    assert told.count("<svg") >= 4
    assert "<script" not in told.split("<main")[1]
    token = token_on(page, "/trial")
    assert page.post("/trial/accept", data={"form_token": token}).status_code == 200
    assert read_plan(folder).crop.yield_factor == pytest.approx(0.79, abs=0.02)
    assert "Undo" in page.get("/plan").text
