"""Pages answer at once: what takes long is worked out beside them, charts are files that a browser keeps."""

from __future__ import annotations

import os
import re
import threading
from datetime import UTC, datetime
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from wetfoot.answers import today as answers_today
from wetfoot.answers.dossier import Dossier
from wetfoot.answers.listing import Text, texts
from wetfoot.book.entries import Visit
from wetfoot.book.records import add, open_book
from wetfoot.errors import WetfootError, refuse
from wetfoot.plan.file import changed_text, plan_path, read_plan_text
from wetfoot.plan.model import Plan
from wetfoot.web import season as season_module
from wetfoot.web.access import open_access
from wetfoot.web.app import create_app
from wetfoot.web.pages import records as records_page
from wetfoot.web.rendering import PAGES
from wetfoot.web.season import OpenSeason


def computed(season: OpenSeason) -> Dossier:
    season.compute()
    season.wait(120)
    assert season.dossier is not None, season.work
    return season.dossier


def test_what_takes_long_is_made_once_and_beside_the_page(folder: Path) -> None:
    season, go_on, made = OpenSeason(folder, patience_s=0.05), threading.Event(), []

    def slow() -> str:
        go_on.wait(30)
        made.append(1)
        return "made"

    assert season.kept_soon("thing", ("of",), slow) is None
    assert season.kept_soon("thing", ("of",), slow) is None
    assert season.kept_soon("thing", ("of something newer",), slow) is None
    go_on.set()
    season.patience_s = 30
    assert season.kept_soon("thing", ("of",), slow) == "made"
    assert season.kept_soon("thing", ("of",), slow) == "made"
    assert len(made) == 1
    assert season.kept_soon("thing", ("of something newer",), slow) == "made"
    assert len(made) == 2


def test_what_it_refuses_is_said_and_tried_anew(folder: Path) -> None:
    season, tries = OpenSeason(folder, patience_s=30), []

    def made() -> int:
        tries.append(1)
        if len(tries) == 1:
            raise refuse("book", "locked", "", "")
        return len(tries)

    with pytest.raises(WetfootError, match="locked"):
        season.kept_soon("thing", ("of",), made)
    assert season.kept_soon("thing", ("of",), made) == 2


def test_the_start_page_does_not_wait_for_what_is_learned(
    here: TestClient, season: OpenSeason, monkeypatch: pytest.MonkeyPatch
) -> None:
    computed(season)
    go_on, real = threading.Event(), answers_today.today

    def slow(*given: object) -> object:
        go_on.wait(30)
        return real(*given)  # type: ignore[arg-type]

    monkeypatch.setattr(answers_today, "today", slow)
    season.patience_s = 0.05
    first = here.get("/")
    assert "Learning from the readings" in first.text
    assert first.headers["Refresh"] == "1"
    go_on.set()
    season.patience_s = 60
    second = here.get("/")
    assert "Come" in second.text
    assert "Refresh" not in second.headers


def test_a_chart_is_sent_once_and_anew_when_the_season_is_computed_anew(here: TestClient, season: OpenSeason) -> None:
    computed(season)
    charts = re.findall(r'<img src="([^"]+)"', here.get("/solution").text)
    assert "/drawings/ec/0.svg" in charts
    first = here.get(charts[0])
    assert first.headers["content-type"].startswith("image/svg+xml")
    again = here.get(charts[0], headers={"If-None-Match": first.headers["ETag"]})
    assert (again.status_code, again.content) == (304, b"")
    text = read_plan_text(season.folder)
    plan_path(season.folder).write_text(changed_text(text, {"solution.source_ec": "0.6 mS/cm"}), "utf-8")
    computed(season)
    other = here.get(charts[0], headers={"If-None-Match": first.headers["ETag"]})
    assert (other.status_code, other.headers["ETag"] == first.headers["ETag"]) == (200, False)


@pytest.mark.parametrize("address", ["/drawings/ec/99.svg", "/drawings/ec/-1.svg", "/drawings/other/0.svg"])
def test_there_is_no_chart_of_another_name(here: TestClient, season: OpenSeason, address: str) -> None:
    computed(season)
    assert here.get(address).status_code in (404, 422)


def test_charts_are_for_who_may_look(folder: Path, season: OpenSeason) -> None:
    computed(season)
    stranger = TestClient(
        create_app(season, open_access(folder), lan=True), base_url="http://192.0.2.1", client=("192.0.2.9", 4)
    )
    assert stranger.get("/drawings/tank/0.svg").status_code == 401


@pytest.mark.parametrize("address", [address for address, _ in PAGES if address != "/trial"] + ["/visit", "/trial"])
def test_a_plan_that_an_editor_changed_is_seen_at_once(here: TestClient, folder: Path, address: str) -> None:
    path = plan_path(folder)
    _titled(path, "Before 1", 10**18)
    assert "Before 1" in here.get(address).text
    _titled(path, "After 22", 10**18)  # as long, and to the file's clock at the same time
    assert "After 22" in here.get(address).text


@pytest.mark.parametrize("address", [address for address, _ in PAGES] + ["/visit"])
def test_it_is_seen_on_a_disk_whose_clock_stands_still(
    here: TestClient, folder: Path, address: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """FAT counts time in steps of two seconds (Microsoft, FAT specification 1.03, from memory), and nothing else."""
    monkeypatch.setattr(season_module, "_mark", lambda path: f"{path.name} {path.stat().st_size}")
    path = plan_path(folder)
    _titled(path, "Before 1")
    assert "Before 1" in here.get(address).text
    _titled(path, "After 22")
    assert "After 22" in here.get(address).text


def test_a_plan_that_lay_still_is_not_read_again(season: OpenSeason, folder: Path) -> None:
    os.utime(plan_path(folder), ns=(10**18, 10**18))
    assert season.plan() is season.plan()


def _titled(path: Path, title: str, at_ns: int | None = None) -> None:
    """Write the plan with a title in place, as an editor does, and set the file's time if one is given."""
    path.write_text(changed_text(path.read_text("utf-8"), {"title": title}), "utf-8")
    if at_ns:
        os.utime(path, ns=(at_ns, at_ns))


def test_a_search_does_not_wait_until_all_is_read(
    here: TestClient, season: OpenSeason, monkeypatch: pytest.MonkeyPatch
) -> None:
    with open_book(season.folder) as book:
        add(book, Visit(at=datetime(2026, 5, 1, tzinfo=UTC), zone="UTC", who="Ann", note="a heron stood by"))
    go_on, real = threading.Event(), texts

    def slow(plan: Plan, folder: Path) -> list[Text]:
        go_on.wait(30)
        return real(plan, folder)

    monkeypatch.setattr(records_page, "texts", slow)
    season.patience_s = 0.05
    first = here.get("/records?find=heron")
    assert "Reading the records" in first.text
    assert first.headers["Refresh"] == "1"
    go_on.set()
    season.patience_s = 60
    assert "a heron stood by" in here.get("/records?find=heron").text
