"""Without a terminal: a folder without a plan shows the page that begins a season, on this machine only."""

from __future__ import annotations

from pathlib import Path

import pytest
from page_forms import token_on
from starlette.testclient import TestClient

from wetfoot.plan.example import example_text
from wetfoot.plan.file import changed_text, read_plan, read_plan_text
from wetfoot.web.access import open_access
from wetfoot.web.app import NEED_A_PLAN, create_app
from wetfoot.web.season import OpenSeason


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder that is not there yet."""
    return tmp_path / "mine"


def begin(here: TestClient, **typed: str) -> tuple[int, str, str]:
    answer = here.post("/begin", data={"form_token": token_on(here, "/begin"), "title": "East yard 2027", **typed})
    return answer.status_code, answer.url.path, answer.text


@pytest.mark.parametrize("address", sorted(NEED_A_PLAN))
def test_every_page_leads_there_and_nothing_is_written(here: TestClient, folder: Path, address: str) -> None:
    answer = here.get(address)
    assert (answer.status_code, answer.url.path) == (200, "/begin")
    assert "<h1>Begin a season</h1>" in answer.text
    assert str(folder) in answer.text
    assert not folder.exists()


@pytest.mark.parametrize("units", ["metric", "US"])
def test_it_writes_the_plan_that_the_command_writes(here: TestClient, folder: Path, units: str) -> None:
    assert begin(here, units=units)[:2] == (200, "/plan")
    assert read_plan_text(folder) == changed_text(example_text(units), {"title": "East yard 2027"})
    assert read_plan(folder).units == units
    assert "East yard 2027" in here.get("/").text
    assert here.get("/begin").url.path == "/plan"


def test_the_season_keeps_its_id_when_it_is_opened_again(here: TestClient, season: OpenSeason) -> None:
    begin(here)
    assert OpenSeason(season.folder).id == season.id


def test_an_empty_folder_is_not_asked_about(here: TestClient, folder: Path) -> None:
    folder.mkdir()
    assert "Other files" not in here.get("/").text
    assert begin(here)[:2] == (200, "/plan")


def test_beside_other_files_it_asks_first_and_changes_none(here: TestClient, folder: Path) -> None:
    folder.mkdir()
    (folder / "weather.csv").write_text("mine", "utf-8")
    (folder / "<b>.txt").write_text("mine too", "utf-8")
    page = here.get("/").text
    assert "weather.csv" in page
    assert "&lt;b&gt;.txt" in page
    status, address, text = begin(here)
    assert (status, address) == (422, "/begin")
    assert "other files are in it" in text
    assert sorted(path.name for path in folder.iterdir()) == ["<b>.txt", "weather.csv"]
    assert begin(here, beside="yes")[1] == "/plan"
    assert (folder / "weather.csv").read_text("utf-8") == "mine"


@pytest.mark.parametrize("typed", [{"title": " "}, {"title": "x" * 101}, {"units": "cubits"}])
def test_what_cannot_be_is_said_and_writes_nothing(here: TestClient, folder: Path, typed: dict[str, str]) -> None:
    assert begin(here, **typed)[0] == 422
    assert not folder.exists()


def test_a_plan_that_is_there_is_never_written_over(here: TestClient, folder: Path) -> None:
    token = token_on(here, "/begin")
    folder.mkdir()
    (folder / "season.toml").write_text("mine", "utf-8")
    here.post("/begin", data={"form_token": token, "title": "Other", "beside": "yes"})
    assert (folder / "season.toml").read_text("utf-8") == "mine"


def test_a_title_of_any_letters_comes_back_as_it_was_typed(here: TestClient, folder: Path) -> None:
    title = 'Yard "7" \\ <east> # é'
    begin(here, title=title)
    assert read_plan(folder).title == title


def test_a_form_that_is_not_ours_begins_nothing(here: TestClient, folder: Path) -> None:
    assert here.post("/begin", data={"title": "East"}).status_code == 403
    assert not folder.exists()


def test_over_the_network_nobody_begins(folder: Path, season: OpenSeason) -> None:
    folder.mkdir()
    access = open_access(folder)
    access.set_passcode("plan", "passcode of plan")
    phone = TestClient(create_app(season, access, lan=True), base_url="http://192.0.2.1", client=("192.0.2.9", 4))
    phone.post("/enter", data={"passcode": "passcode of plan"})
    assert phone.get("/").status_code == 403
    assert phone.post("/begin", data={"title": "East"}).status_code == 403
    assert not (folder / "season.toml").exists()
