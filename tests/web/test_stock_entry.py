"""A person types records of planting stock into the pages. Names and weights are invented."""

from __future__ import annotations

import re
from collections.abc import Callable
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from page_forms import token_on
from starlette.testclient import TestClient

from wetfoot.answers.stock_records import stock_state
from wetfoot.book.stock_layout import ITEMS, WORDS
from wetfoot.plan.file import read_plan

LOT = {
    "what": "lot",
    "date": "2026-01-10",
    "lot": "K-0",
    "generation": "0",
    "value": "2 kg",
    "species": "Z. officinale",
}
BATCH = {"what": "cutting", "date": "2026-03-20", "batch": "K-0a", "lot": "K-0", "pieces": "30", "value": "1.5 kg",
         "knife": "blue", "disinfectant": "alcohol", "temperature": "50 C", "minutes": "10"}  # fmt: skip
PLANTED = {"what": "planting", "date": "2026-04-05", "batch": "K-0a", "place": "East", "pot": "1", "pieces": "3"}


def send(client: TestClient, said: dict[str, str], **more: str) -> Any:
    token = token_on(client, f"/stock/enter?type={said['what']}")
    return client.post("/stock/enter", data={"form_token": token, "who": "Ann", **said, **more}, follow_redirects=False)


def told(answer: Any) -> str:
    return unescape(re.sub(r"<[^>]+>", " ", answer.text))


@pytest.mark.parametrize("word", WORDS)
def test_the_form_asks_for_every_column_that_a_type_has(here: TestClient, word: str) -> None:
    page = here.get(f"/stock/enter?type={word}").text
    asked = set(re.findall(r'<(?:input|select)[^>]* name="([^"]+)"', page))
    wanted = {item.column for item in ITEMS[WORDS[word][0]]} - ({"cause"} if word == "harvest" else set())
    assert wanted | {"date", "time", "who", "note"} <= asked


def test_a_chain_from_lot_to_shipment_is_typed_without_a_file(here: TestClient, folder: Path) -> None:
    chain = [
        LOT, BATCH, PLANTED,
        {"what": "pot moved", "date": "2026-05-01", "place": "East", "pot": "East 1", "to": "West"},
        {"what": "lot", "date": "2026-12-06", "lot": "K-1", "generation": "1"},
        {"what": "harvest", "date": "2026-12-06", "place": "West", "pot": "East 1", "lot": "K-1", "value": "4.9 kg",
         "grade": "seed"},
        {"what": "cull", "date": "2026-12-07", "lot": "K-1", "value": "0.5 kg", "cause": "small"},
        {"what": "store check", "date": "2027-01-06", "lot": "K-1", "value": "4.2 kg", "rot": "100 g",
         "temperature": "13 C", "humidity": "85 %"},
        {"what": "test", "date": "2027-01-07", "lot": "K-1", "agent": "bacterial wilt", "result": "negative",
         "method": "strip", "lab": "own", "detection limit": "1e5 cells/mL", "samples": "6", "pool size": "10",
         "sensitivity": "90 %", "specificity": "99 %"},
        {"what": "hold", "date": "2027-01-08", "lot": "K-1", "cause": "second test outstanding"},
        {"what": "release", "date": "2027-01-12", "lot": "K-1", "cause": "second test clean"},
        {"what": "shipment", "date": "2027-02-01", "lot": "K-1", "value": "2 kg", "to": "Grower Lee", "permit": "P 7"},
    ]  # fmt: skip
    for said in chain:
        answer = send(here, said)
        assert answer.status_code == 303, (said["what"], told(answer))
    state = stock_state(read_plan(folder), folder)
    assert [finding.words for finding in state.problems if finding.kind != "open"] == []
    assert state.parents["K-1"] == {"K-0"}
    assert state.held == ()
    assert state.records.tests[0].detection_limit == "1e5 cells/mL"
    assert (state.records.tests[0].sensitivity, state.records.tests[0].specificity) == (0.9, 0.99)
    assert state.records.cuttings[0].dip_c == 50.0
    listed = here.get("/stock/records").text
    assert listed.index("Grower Lee") < listed.index("4.9 kg") < listed.index("1.5 kg")  # the newest first
    assert "Grower Lee" not in here.get("/stock/records?type=harvest").text


def test_what_is_wrong_stands_beside_its_field_and_nothing_typed_is_lost(here: TestClient) -> None:
    answer = send(here, BATCH, pieces="many", temperature="150 C", note="the <b>second</b> knife")
    assert answer.status_code == 422
    page = answer.text
    assert re.search(r'name="pieces" value="many"[^>]*aria-invalid="true"', page)
    assert "is not a whole number" in page
    assert 'value="the &lt;b&gt;second&lt;/b&gt; knife"' in page
    again = send(here, LOT | {"value": "2"})  # kilograms or pounds?
    assert re.search(r'name="value" value="2"[^>]*aria-invalid="true"', again.text)
    assert "none is written yet" in told(here.get("/stock/records")).lower()


def test_an_impossible_number_is_told_at_its_own_column(here: TestClient) -> None:
    answer = send(here, BATCH, temperature="150 C")
    assert re.search(r'name="temperature" value="150 C"[^>]*aria-invalid="true"', answer.text)


@pytest.mark.parametrize(
    ("before", "said", "words"),
    [
        ([LOT], {"what": "harvest", "date": "2026-12-06", "place": "East", "pot": "1", "lot": "K-0", "value": "4 kg"},
         "pot East 1 was harvested, but not planted before"),
        ([LOT], {"what": "shipment", "date": "2026-02-01", "lot": "K-0", "value": "3 kg", "to": "Grower Lee"},
         "1 kg more went out than had come in until then"),
        ([LOT, BATCH], PLANTED | {"pieces": "31"}, "31 pieces were planted, 30 were cut"),
        ([], {"what": "store check", "date": "2026-02-01", "lot": "K-9", "value": "3 kg"}, "there is no lot 'K-9'"),
    ],
)  # fmt: skip
def test_what_may_still_come_right_is_refused_with_its_rows_but_can_be_taken(
    here: TestClient, folder: Path, before: list[dict[str, str]], said: dict[str, str], words: str
) -> None:
    for each in before:
        send(here, each)
    answer = send(here, said)
    assert answer.status_code == 422
    assert words in told(answer)
    if before and "lot" in said and said["what"] == "shipment":
        assert "lot of 2026-01-10, K-0, by Ann" in told(answer)
    assert len(here.get("/stock/records").text.split('<th scope="row">')) - 1 == len(before)
    assert send(here, said, despite="yes").status_code == 303
    state = stock_state(read_plan(folder), folder)
    assert words in " ".join(finding.words for finding in state.problems)


def test_a_circle_of_parents_and_a_pot_in_two_places_are_never_taken(here: TestClient) -> None:
    send(here, LOT)
    send(here, {"what": "lot", "date": "2026-02-01", "lot": "K-1", "parents": "K-0"})
    first = re.search(r"corrects=([0-9a-f-]{36})[^>]*lot of 2026-01-10", here.get("/stock/records").text)
    assert first
    round_ = send(here, LOT | {"parents": "K-1", "corrects": first[1], "reason": "try"}, despite="yes")
    assert round_.status_code == 422
    assert "a lot cannot descend from itself" in told(round_)
    assert "lot of 2026-02-01, K-1, by Ann" in told(round_)
    for each in (BATCH, PLANTED):
        assert send(here, each).status_code == 303
    twice = send(here, PLANTED | {"place": "West", "pot": "East 1", "date": "2026-04-20"}, despite="yes")
    assert twice.status_code == 422
    assert "two places at once" in told(twice)
    assert "planting of 2026-04-05, K-0a, East 1, by Ann" in told(twice)


def test_a_correction_keeps_what_it_corrects(here: TestClient, folder: Path) -> None:
    send(here, LOT)
    page = here.get("/stock/records").text
    found = re.search(r"/stock/enter\?corrects=([0-9a-f-]{36})", page)
    assert found
    form = here.get(found[0]).text
    assert 'name="value" value="2.0 kg"' in form or 'name="value" value="2 kg"' in form
    assert send(here, LOT | {"value": "2.5 kg"}, corrects=found[1]).status_code == 422  # no reason
    answer = send(here, LOT | {"value": "2.5 kg"}, corrects=found[1], reason="the bag was weighed with it")
    assert answer.status_code == 303
    assert "2.5 kg" in here.get("/stock/records").text
    assert "2.0 kg" not in here.get("/stock/records").text
    assert "corrected or withdrawn" in here.get("/stock/records?all=true").text
    late = send(here, LOT | {"value": "9 kg"}, corrects=found[1], reason="again")
    assert late.status_code == 422  # the older one was corrected already


def test_a_withdrawn_record_counts_no_more(here: TestClient, folder: Path) -> None:
    send(here, LOT)
    id = re.search(r"corrects=([0-9a-f-]{36})", here.get("/stock/records").text)
    assert id
    token = token_on(here, "/stock/records")
    here.post("/stock/withdraw", data={"form_token": token, "id": id[1], "who": "Ann", "reason": "another station's"})
    assert stock_state(read_plan(folder), folder).lots == {}
    assert "another station" in here.get("/stock/records?all=true").text


def test_the_button_pressed_twice_records_once(here: TestClient, folder: Path) -> None:
    id = "0b7a3c1e-58a6-4d28-9d59-6a3f1f6f0001"
    assert [send(here, LOT, id=id).status_code for _ in range(2)] == [303, 303]
    assert len(stock_state(read_plan(folder), folder).records.lots) == 1
    assert send(here, LOT | {"value": "3 kg"}, id=id).status_code == 422


def test_who_may_record_can_and_who_may_look_cannot(phone: Callable[[str], TestClient]) -> None:
    recorder = phone("record")
    assert send(recorder, LOT).status_code == 303
    looker = phone("look")
    assert "K-0" in looker.get("/stock/records").text
    assert looker.get("/stock/enter?type=lot").status_code == 403
    assert looker.post("/stock/enter", data=LOT).status_code == 403


def test_an_unknown_type_is_told(here: TestClient) -> None:
    answer = here.get("/stock/enter?type=nonsense")
    assert answer.status_code == 422
    assert "is no record of planting stock" in told(answer)
