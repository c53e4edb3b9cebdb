"""Rows that an import kept aside are settled on a page: mended and recorded, or dropped; nothing is lost or changed."""

from __future__ import annotations

import re
import sqlite3
from pathlib import Path

import pytest
from page_forms import token_on
from starlette.testclient import TestClient

from wetfoot.book.entries import Reading
from wetfoot.book.held import held_rows, open_rows, settled_rows
from wetfoot.book.opening import open_book
from wetfoot.book.records import current

ADDRESS = "/records/kept-aside"
FILE = (
    "date,time,what,place,value,unit,note\n"
    "2026-05-01,09:00,EC,East,1.6,mS/cm,\n"
    "2026-05-32,09:00,EC,East,1.7,mS/cm,<b>no such day</b>\n"
    "2026-05-03,09:00,EC,East,abc,mS/cm\n"
)


@pytest.fixture
def taken(here: TestClient) -> TestClient:
    data = {"form_token": token_on(here, "/records"), "who": "Importer"}
    told = here.post("/records/import", data=data, files={"file": ("yard.csv", FILE, "text/csv")}).text
    assert f'href="{ADDRESS}"' in told
    return here


def ids_on(client: TestClient) -> list[str]:
    return re.findall(r'name="id" value="([^"]+)"', client.get(ADDRESS).text)


def settle(client: TestClient, how: str, id: str, **fields: object) -> tuple[int, str]:
    data = {"form_token": token_on(client, ADDRESS), "id": id, "who": "Mender", **fields}
    answer = client.post(f"{ADDRESS}/{how}", data=data)
    return answer.status_code, answer.text


def test_a_row_is_mended_and_recorded_and_stays_as_it_was(taken: TestClient, folder: Path) -> None:
    assert "2 rows of files could not be recorded" in taken.get("/records").text
    first, _ = ids_on(taken)
    cells = ["2026-05-02", "09:00", "EC", "East", "1.7", "mS/cm", ""]
    assert settle(taken, "mend", first, cell=cells)[0] == 200
    with open_book(folder) as book:
        assert [reading.value for reading in current(book, Reading)] == [1.6, 1.7]
        assert [reading.who for reading in current(book, Reading)] == ["Importer", "Importer"]
        ((row, done),) = settled_rows(book)
        assert row.cells[0] == "2026-05-32"
        assert done.record_id == current(book, Reading)[1].id
        assert (done.who, len(held_rows(book)), len(open_rows(book))) == ("Mender", 2, 1)
    assert "date: 2026-05-32 became 2026-05-02" in taken.get(ADDRESS).text


def test_what_still_cannot_be_recorded_goes_on_waiting_as_it_was_typed(taken: TestClient, folder: Path) -> None:
    _, second = ids_on(taken)
    code, page = settle(taken, "mend", second, cell=["2026-05-03", "09:00", "EC", "East", "abd", "mS/cm", ""])
    assert code == 422
    assert "still cannot be recorded" in page
    assert 'value="abd"' in page
    assert len(ids_on(taken)) == 2
    with open_book(folder) as book:
        assert len(current(book, Reading)) == 1


def test_a_row_is_dropped_only_with_a_reason_and_only_once(taken: TestClient, folder: Path) -> None:
    first, second = ids_on(taken)
    assert settle(taken, "drop", first, reason=" ")[0] == 422
    assert settle(taken, "drop", first, reason="no such day")[0] == 200
    assert ids_on(taken) == [second]
    assert settle(taken, "drop", first, reason="again")[0] == 422
    assert settle(taken, "mend", first, cell=["2026-05-02"])[0] == 422
    page = taken.get(ADDRESS).text
    assert "dropped: no such day" in page
    assert "&lt;b&gt;no such day" in page
    with open_book(folder) as book:
        assert len(current(book, Reading)) == 1


def test_the_same_file_again_does_not_bring_settled_rows_back(taken: TestClient) -> None:
    first, second = ids_on(taken)
    settle(taken, "drop", first, reason="no such day")
    settle(taken, "mend", second, cell=["2026-05-03", "09:00", "EC", "East", "1.8", "mS/cm", ""])
    data = {"form_token": token_on(taken, "/records"), "who": "Importer"}
    taken.post("/records/import", data=data, files={"file": ("yard.csv", FILE, "text/csv")})
    assert ids_on(taken) == []


def test_what_was_settled_is_never_changed(taken: TestClient, folder: Path) -> None:
    settle(taken, "drop", ids_on(taken)[0], reason="no such day")
    raw = sqlite3.connect(folder / "book.db")
    for statement in ("UPDATE settled_rows SET reason = 'other'", "DELETE FROM settled_rows"):
        with pytest.raises(sqlite3.IntegrityError, match="never changed or deleted"):
            raw.execute(statement)
    raw.close()
