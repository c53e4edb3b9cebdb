"""Who may do what, over the network and from foreign pages."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from page_forms import PHONE, token_on
from starlette.testclient import TestClient

from wetfoot.web.access import open_access
from wetfoot.web.app import create_app
from wetfoot.web.season import OpenSeason

Phone = Callable[[str], TestClient]


def test_without_a_passcode_a_phone_sees_nothing(folder: Path, season: OpenSeason) -> None:
    app = create_app(season, open_access(folder), lan=True)
    client = TestClient(app, base_url="http://192.0.2.1", client=PHONE)
    for address in ("/", "/plan", "/records", "/api/work"):
        answer = client.get(address)
        assert answer.status_code == 401
        assert "Example yard" not in answer.text


def test_a_wrong_passcode_is_told_and_many_are_slowed(folder: Path, season: OpenSeason) -> None:
    access = open_access(folder)
    access.set_passcode("record", "right passcode")
    client = TestClient(create_app(season, access, lan=True), base_url="http://192.0.2.1", client=PHONE)
    statuses = [client.post("/enter", data={"passcode": "wrong"}).status_code for _ in range(8)]
    assert statuses[:5] == [401] * 5
    assert 429 in statuses
    assert client.post("/enter", data={"passcode": "right passcode"}).status_code == 429


def test_roles_reach_as_far_as_they_should(phone: Phone) -> None:
    looker = phone("look")
    assert looker.get("/water").status_code == 200
    assert looker.get("/visit").status_code == 403
    recorder = phone("record")
    assert recorder.get("/visit").status_code == 200
    assert recorder.post("/plan", data={"text": "", "action": "save"}).status_code == 403
    assert recorder.get("/access").status_code == 403


def test_passcodes_are_set_on_the_machine_itself_only(phone: Phone, here: TestClient, folder: Path) -> None:
    assert phone("plan").get("/access").status_code == 403
    data = {"form_token": token_on(here, "/access"), "role": "look", "passcode": "a new passcode"}
    assert here.post("/access", data=data).status_code == 200
    assert open_access(folder).let_in("a new passcode", "phone") is not None


def test_a_form_without_our_token_does_nothing(here: TestClient, folder: Path) -> None:
    before = (folder / "season.toml").read_text("utf-8")
    for token in ({}, {"form_token": "0" * 64}):
        answer = here.post("/plan", data={**token, "action": "astext", "text": before.replace("1000 L", "10 L")})
        assert answer.status_code == 403
    assert (folder / "season.toml").read_text("utf-8") == before


@pytest.mark.parametrize("host", ["evil.example", "localhost.evil.example", "", "192.0.2.1"])
def test_a_foreign_name_for_this_machine_is_not_served(here: TestClient, host: str) -> None:
    """A page whose name was pointed at this machine must not read the season as if it were here."""
    assert here.get("/", headers={"host": host}).status_code == 421


def test_the_cookie_is_hidden_from_scripts_and_foreign_pages(here: TestClient) -> None:
    cookie = here.get("/").headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie


@pytest.mark.parametrize("back", ["//evil.example", "https://evil.example", "/\\evil.example"])
def test_after_entering_one_stays_here(phone: Phone, back: str) -> None:
    client = phone("look")
    answer = client.post("/enter", data={"passcode": "passcode of look", "back": back}, follow_redirects=False)
    assert answer.headers["location"] == "/"
