"""Every page answers a person: on a new season, on a computed one, on a plan that needs mending."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from page_forms import token_on
from starlette.testclient import TestClient

from wetfoot.plan.file import changed_text
from wetfoot.web.app import HEADERS
from wetfoot.web.rendering import PAGES
from wetfoot.web.season import OpenSeason

ADDRESSES = [address for address, _ in PAGES] + ["/visit", "/access"]


@pytest.mark.parametrize("address", ADDRESSES)
def test_every_page_opens_on_a_new_season(here: TestClient, address: str) -> None:
    answer = here.get(address)
    assert answer.status_code == 200
    assert "<h1>" in answer.text
    for name, value in HEADERS.items():
        assert answer.headers[name] == value


def test_computing_fills_the_pages(here: TestClient, season: OpenSeason) -> None:
    assert here.post("/season/compute", data={"form_token": token_on(here, "/")}).status_code == 200
    season.wait(60)
    assert season.work.state == "done"
    assert not season.stale
    assert "holds" in here.get("/").text
    water = here.get("/water").text
    assert water.count("<svg") == 2  # bench and nest; the charts are files of their own
    charts = re.findall(r'<img src="([^"]+)"[^>]* alt="([^"]+)"', water + here.get("/solution").text)
    assert len(charts) == 1 + 2 * 4 + 1
    for chart, words in charts:
        assert words
        assert here.get(chart).text.startswith("<svg")
    assert "Source:" in water
    assert here.post("/sheets", data={"form_token": token_on(here, "/sheets")}).status_code == 200
    assert here.get("/sheets/3-mixing.pdf").content.startswith(b"%PDF")
    for address in ADDRESSES:
        assert here.get(address).status_code == 200


def test_computing_can_be_stopped_and_keeps_what_there_was(here: TestClient, season: OpenSeason) -> None:
    season.runs = 5000
    here.post("/season/compute", data={"form_token": token_on(here, "/")})
    here.post("/season/stop", data={"form_token": token_on(here, "/")})
    season.wait(60)
    assert season.work.state in ("stopped", "done")
    assert here.get("/").status_code == 200


def test_a_plan_that_needs_mending_is_told_on_every_page(here: TestClient, folder: Path) -> None:
    plan = folder / "season.toml"
    plan.write_text(changed_text(plan.read_text("utf-8"), {"tank.volume": "1000 kg"}), "utf-8")
    assert "tank.volume" in here.get("/").text
    for address in ADDRESSES:
        answer = here.get(address)
        assert answer.status_code in (200, 422), address
        assert "Traceback" not in answer.text


def test_what_is_not_there_is_said_in_words(here: TestClient) -> None:
    assert here.get("/nothing").status_code == 404
    assert "nothing here" in here.get("/nothing").text
    assert here.get("/api/nothing").json()["refused"]


@pytest.mark.parametrize("name", ["..%2fseason.toml", "%2e%2e%2fseason.toml", "....//season.toml", "x.pdf"])
def test_sheets_are_given_out_of_their_folder_only(here: TestClient, name: str) -> None:
    answer = here.get(f"/sheets/{name}")
    assert answer.status_code in (404, 422)
    assert "field_area" not in answer.text


def test_the_dose_is_worked_out_and_mistakes_are_named(here: TestClient) -> None:
    told = here.get("/solution", params={"tank": "400 L", "ec": "1.4 mS/cm"}).text
    assert "of stock A and as much of stock B" in told
    wrong = here.get("/solution", params={"tank": "400 L", "ec": "900 ppm"}).text
    assert "1.8 mS/cm" in wrong
    assert "--" not in here.get("/solution", params={"tank": "4000 L", "ec": "1 mS/cm"}).text.split("<main")[1]
