"""The page of the stock's sheets: each comes as PDF, what is refused stands beside its form."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from wetfoot.answers.demo import demo_folder
from wetfoot.web.access import open_access
from wetfoot.web.app import create_app
from wetfoot.web.season import OpenSeason


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> TestClient:
    folder = tmp_path_factory.mktemp("stock_page") / "season"
    demo_folder(folder)
    app = create_app(OpenSeason(folder, runs=10), open_access(folder))
    return TestClient(app, base_url="http://localhost", client=("127.0.0.1", 50000))


def test_the_page_has_a_form_for_each_sheet(page: TestClient) -> None:
    told = page.get("/stock/sheets")
    assert told.status_code == 200
    for name in ("inspection", "exposure", "labels", "pedigree", "dispatch"):
        assert f'action="/stock/sheets/{name}.pdf#{name}"' in told.text
    assert "None is a certificate" in told.text


@pytest.mark.parametrize(
    "address",
    [
        "labels.pdf",
        "labels.pdf?lot=G1+2026&grid=a4-21&start=3&each=2",
        "pedigree.pdf?lot=G1+2026",
        "inspection.pdf?on=2026-09-08&pool=3&level=20+%25&seed=x",
        "exposure.pdf?suspect=East+3&agent=bacterial+wilt",
        "exposure.pdf?suspect=East+3&since=2026-07-01",
    ],
)
def test_each_sheet_comes_as_pdf(page: TestClient, address: str) -> None:
    told = page.get(f"/stock/sheets/{address}")
    assert told.status_code == 200
    assert told.headers["content-type"] == "application/pdf"
    assert told.headers["content-disposition"].endswith('.pdf"')
    assert told.content.startswith(b"%PDF")


@pytest.mark.parametrize(
    ("address", "words"),
    [
        ("labels.pdf?lot=none&start=1", "no lot of this season"),
        ("labels.pdf?start=x", "not a whole number"),
        ("pedigree.pdf", "no lot of this season"),
        ("inspection.pdf?on=2020-01-01", "no pot stands"),
        ("inspection.pdf?on=today", "not a date"),
        ("inspection.pdf?on=2026-09-08&level=5", "prevalence"),
        ("exposure.pdf?suspect=%3Cscript%3E", "&lt;script&gt;"),
        ("dispatch.pdf?lot=G1+2026&to=x&kg=0.5+kg&on=2026-09-08", "tested positive"),
        ("dispatch.pdf?lot=G1+2026&to=x&kg=much", "not a number with a unit"),
    ],
)
def test_what_is_refused_stands_beside_its_form(page: TestClient, address: str, words: str) -> None:
    told = page.get(f"/stock/sheets/{address}")
    assert told.status_code == 422
    assert words in told.text
    assert "<script>" not in told.text.replace('<script src="/static', "")


def test_what_was_typed_stays_in_its_form(page: TestClient) -> None:
    told = page.get("/stock/sheets/dispatch.pdf?lot=G1+2026&to=Somebody+%22new%22&kg=1+kg&on=2026-09-08&permit=P1")
    assert 'value="Somebody &#34;new&#34;"' in told.text
    assert 'value="P1"' in told.text


def test_a_season_without_lots_has_the_list_only(here: TestClient) -> None:
    told = here.get("/stock/sheets")
    assert "No lots are written down yet" in told.text
    assert "/stock/sheets/dispatch.pdf" not in told.text


def test_a_phone_needs_a_passcode(phone: Callable[[str], TestClient], folder: Path) -> None:
    assert phone("look").get("/stock/sheets").status_code == 200
    stranger = TestClient(
        create_app(OpenSeason(folder, runs=10), open_access(folder), lan=True),
        base_url="http://192.0.2.1",
        client=("192.0.2.9", 40000),
    )
    assert stranger.get("/stock/sheets/labels.pdf").status_code == 401


def test_a_link_fills_the_forms(page: TestClient) -> None:
    told = page.get("/stock/sheets?suspect=East+3&agent=virus&lot=G1+2026").text
    assert 'value="East 3"' in told
    assert "<option selected>virus</option>" in told
    assert told.count("<option selected>G1 2026</option>") == 3
