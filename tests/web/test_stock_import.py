"""A file of planting stock that cannot be says so with its rows, in the words of the form. All names are invented."""

from __future__ import annotations

import json
import re
from html import unescape
from pathlib import Path

import pytest
from page_forms import token_on
from starlette.testclient import TestClient

from wetfoot.answers.records import import_file

HEAD = "date,what,lot,parents,place,pot,pieces,value,unit,to,who\n"
# The harvest is before the planting of the plan, from which on its pots are taken to be planted.
HISTORIES = {
    "a lot cannot descend from itself (rows 2, 3)": ("2027-01-01,lot,A,B,,,,,,,Ann\n2027-01-02,lot,B,A,,,,,,,Ann\n"),
    "two places at once (rows 3, 4)": (
        "2027-01-01,lot,A,,,,,9,kg,,Ann\n2027-04-05,planting,A,,East,East 1,3,0.15,kg,,Ann\n"
        "2027-05-05,planting,A,,West,East 1,3,0.15,kg,,Ann\n"
    ),
    "was harvested, but not planted before (row 3)": (
        "2027-01-01,lot,A,,,,,9,kg,,Ann\n2026-12-05,harvest,A,,East,East 1,,4,kg,,Ann\n"
    ),
    "1 kg more went out than had come in until then (rows 2, 3)": (
        "2027-01-01,lot,A,,,,,9,kg,,Ann\n2027-02-01,shipment,A,,,,,10,kg,Lee,Ann\n"
    ),
}


@pytest.mark.parametrize("words", HISTORIES)
def test_an_impossible_history_is_told_with_its_rows(here: TestClient, words: str) -> None:
    sent = {"file": ("stock.csv", HEAD + HISTORIES[words], "text/csv")}
    page = here.post("/records/import", data={"form_token": token_on(here, "/records"), "who": "Ann"}, files=sent)
    assert words in unescape(re.sub(r"<[^>]+>", " ", page.text))


def test_a_sound_file_is_told_as_sound_and_the_result_is_for_machines_too(folder: Path, tmp_path: Path) -> None:
    file = tmp_path / "stock.csv"
    file.write_text(HEAD + "2027-01-01,lot,A,,,,,9,kg,,Ann\n", "utf-8")
    assert import_file(folder, file).contradictions == ()
    file.write_text(HEAD + "2027-02-01,shipment,A,,,,,10,kg,Lee,Ann\n", "utf-8")
    found = import_file(folder, file).record()
    assert "more went out" in json.dumps(found["answer"]["contradictions"])
    assert import_file(folder, file).contradictions == ()  # told once: it is in the book already
