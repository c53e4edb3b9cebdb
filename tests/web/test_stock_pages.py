"""A person looks at a lot, the store, dips and generations, and holds what was exposed. All names are invented."""

from __future__ import annotations

import re
from collections.abc import Callable
from html import unescape
from pathlib import Path

import pytest
from page_forms import token_on
from starlette.testclient import TestClient

from wetfoot.answers.stock_records import stock_state
from wetfoot.plan.file import read_plan

ROWS = (
    {"what": "lot", "date": "2027-01-10", "lot": "K 0", "generation": "0", "value": "2 kg", "source": "Lab (invented)"},
    {"what": "lot", "date": "2027-01-10", "lot": "Z/9", "generation": "0", "value": "40 kg"},
    {"what": "cutting", "date": "2027-03-20", "batch": "K-0a", "lot": "K 0", "pieces": "30", "value": "1.5 kg",
     "knife": "blue"},
    {"what": "planting", "date": "2027-04-05", "batch": "K-0a", "place": "East", "pot": "1", "pieces": "3"},
    {"what": "lot", "date": "2027-12-06", "lot": "K 1", "generation": "1"},
    {"what": "harvest", "date": "2027-12-06", "place": "East", "pot": "1", "lot": "K 1", "value": "4.9 kg"},
    {"what": "store check", "date": "2028-01-06", "lot": "K 1", "value": "4.5 kg", "rot": "100 g"},
    {"what": "shipment", "date": "2028-02-01", "lot": "K 1", "value": "2 kg", "to": "Grower Lee"},
)  # fmt: skip


@pytest.fixture
def written(here: TestClient) -> TestClient:
    token = token_on(here, "/stock/enter?type=lot")
    for said in ROWS:
        answer = here.post("/stock/enter", data={"form_token": token, "who": "Ann", **said}, follow_redirects=False)
        assert answer.status_code == 303, text(answer.text)
    return here


def text(page: str) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", page)).split())


def test_a_lot_tells_its_story(written: TestClient) -> None:
    page = written.get("/stock/lot/K%201")
    said = text(page.text)
    assert page.status_code == 200
    assert "Generation 1" in said
    assert 'href="/stock/lot/K%200"' in page.text  # its parent
    assert "sent to Grower Lee 2 kg" in said
    assert "rot taken out in store 0.1 kg" in said
    assert "It closes" in said
    assert "<svg" in page.text
    parent = text(written.get("/stock/lot/K%200").text)
    assert "Went into: K 1" in parent
    assert "cut into batch K-0a, 30 pieces 1.5 kg" in parent
    assert "Pots planted with it: East 1" in parent


def test_a_name_with_a_stroke_has_its_page_and_an_unknown_lot_is_told(written: TestClient) -> None:
    assert "Lot Z/9" in written.get("/stock/lot/Z/9").text
    answer = written.get("/stock/lot/K1")
    assert answer.status_code == 422
    assert "is no lot of this season" in text(answer.text)


def test_the_store_shows_weighings_beside_what_was_expected(written: TestClient) -> None:
    said = text(written.get("/stock/store").text)
    assert "2028-01-06 weighed 4.5 kg" in said
    assert "2028-02-01: sent 2 kg" in said
    later = text(written.get("/stock/store?on=2028-01-01").text)
    assert "Grower" not in later
    assert "Expected on 2028-01-01" in later
    wrong = written.get("/stock/store?on=soon")
    assert wrong.status_code == 422
    assert "is not a date" in wrong.text


def test_the_dip_is_worked_out_and_a_slip_stands_beside_its_field(here: TestClient) -> None:
    """25 mm, 50 C, 10 minutes: core 48.2 C, 10 % of cold pieces cool the bath to 47.5 C (handbook, agronomy 1.5)."""
    said = text(here.get("/stock/dip?diameter=25+mm&bath=50+C&minutes=10&load=10+%25").text)
    assert "48.2°C" in said
    assert "47.5°C" in said
    assert "scalds" in said
    wrong = here.get("/stock/dip?diameter=25&minutes=ten&load=95+%25")
    assert wrong.status_code == 422
    assert re.search(r'name="diameter" value="25" aria-invalid="true"', wrong.text)
    assert re.search(r'name="minutes" value="ten" aria-invalid="true"', wrong.text)


def test_the_generations_are_worked_out_and_a_slip_stands_beside_its_field(here: TestClient) -> None:
    page = here.get("/stock/generations?pots=12&first_yield=2+kg&years=4")
    assert page.status_code == 200
    assert "24 kg" in text(page.text)  # 12 pots x 2 kg (handbook, agronomy 1.6)
    assert "<svg" in page.text
    wrong = here.get("/stock/generations?pots=few&first_yield=2")
    assert wrong.status_code == 422
    assert wrong.text.count('aria-invalid="true"') == 2


def test_a_positive_test_leads_to_the_exposed_pots_and_they_are_held(written: TestClient, folder: Path) -> None:
    token = token_on(written, "/stock/enter?type=test")
    said = {"what": "test", "date": "2027-06-01", "place": "East", "pot": "3", "agent": "bacterial wilt",
            "result": "positive", "who": "Ann", "form_token": token}  # fmt: skip
    page = written.post("/stock/enter", data=said)
    assert page.url.path == "/stock/exposed"
    shown = text(page.text)
    assert "The test is recorded" in shown
    assert "Lots neither exposed nor on hold: Z/9 ." in shown  # K 1 grew in the water of East 3
    assert "it may have come from them: test K 0 before any of it goes out" in shown  # planted in East 1 beside it
    back = written.post("/stock/exposed/hold", data={"form_token": token, "suspect": "East 3", "who": "Ann",
                        "agent": "bacterial wilt"})  # fmt: skip
    assert "Every exposed pot, lot and batch is on hold" in text(back.text)
    plan = read_plan(folder)
    held = {hold.subject for hold in stock_state(plan, folder).held}
    east = next(bank for bank in plan.banks if bank.name == "East")
    assert {f"East {number}" for number in range(1, east.pots + 1)} <= held
    assert "K 1" in held
    assert "Z/9" not in held
    assert "On hold: do not use it" in text(written.get("/stock/lot/K%201").text)


def test_a_hold_on_a_bank_holds_the_pots_that_stand_in_it(written: TestClient) -> None:
    token = token_on(written, "/stock/enter?type=hold")
    written.post("/stock/enter", data={"what": "hold", "date": "2027-06-02", "place": "East", "cause": "a strip",
                                       "who": "Ann", "form_token": token})  # fmt: skip
    shown = text(written.get("/stock/exposed?suspect=West+3").text)
    assert re.search("Pots neither exposed nor on hold: Middle 1 to 10[;,] South 1 to 10", shown)
    assert "on hold for another reason: East 1" in shown


def test_who_may_only_look_cannot_hold(phone: Callable[[str], TestClient]) -> None:
    looker = phone("look")
    assert looker.get("/stock/dip").status_code == 200
    assert looker.post("/stock/exposed/hold", data={"suspect": "East 3", "who": "Ann"}).status_code == 403


def test_the_stock_page_leads_to_all_of_them(written: TestClient) -> None:
    page = written.get("/stock").text
    for address in ("/stock/exposed", "/stock/records", "/stock/store", "/stock/generations", "/stock/dip"):
        assert f'href="{address}"' in page
    assert 'href="/stock/lot/K%200"' in page
