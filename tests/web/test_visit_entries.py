"""What a phone sends is recorded once each, told about, and never lost."""

from __future__ import annotations

import base64
import io
from pathlib import Path
from uuid import uuid4

import pytest
from page_forms import token_on
from PIL import Image
from starlette.testclient import TestClient

from wetfoot.book.entries import Reading
from wetfoot.book.opening import open_book
from wetfoot.book.records import current
from wetfoot.web.season import OpenSeason


def entry(**more: str) -> dict[str, str]:
    row = {"id": str(uuid4()), "date": "2026-06-01", "time": "08:00", "what": "EC", "place": "East", "value": "1.6",
           "unit": "mS/cm", "who": "tester", "note": ""}  # fmt: skip
    return {**row, **more}


def send(here: TestClient, *rows: dict[str, str], photos: dict[str, str] | None = None) -> list[dict[str, str]]:
    token = {"X-Form-Token": token_on(here, "/visit")}
    answer = here.post("/api/entries", json={"entries": rows, "photos": photos or {}}, headers=token)
    assert answer.status_code == 200, answer.text
    found: list[dict[str, str]] = answer.json()["entries"]
    return found


def held(folder: Path) -> list[Reading]:
    with open_book(folder) as book:
        return current(book, Reading)


def test_an_entry_that_is_sent_twice_is_there_once(here: TestClient, folder: Path) -> None:
    row = entry()
    assert [each["state"] for each in send(here, row)] == ["recorded"]
    assert [each["state"] for each in send(here, row, row)] == ["there", "there"]
    assert len(held(folder)) == 1
    assert held(folder)[0].id == row["id"]


def test_two_phones_that_read_the_same_place_are_both_kept(here: TestClient, folder: Path) -> None:
    send(here, entry(value="1.6"))
    send(here, entry(value="1.9", who="other"))
    assert sorted(reading.value for reading in held(folder)) == [1.6, 1.9]


def test_a_doubtful_value_is_recorded_and_told(here: TestClient, folder: Path) -> None:
    assert "EC" in send(here, entry(value="9.5"))[0]["told"] or held(folder)[0].doubt


def test_a_row_that_cannot_be_read_is_refused_alone(here: TestClient, folder: Path) -> None:
    states = [each["state"] for each in send(here, entry(), entry(value="much"), entry(what="nonsense"))]
    assert states == ["recorded", "refused", "refused"]
    assert len(held(folder)) == 1


def test_text_that_looks_like_a_page_stays_text(here: TestClient) -> None:
    hostile = "<script>alert(1)</script>"
    send(here, entry(who=hostile, note=f'"><img src=x onerror=alert(1)>{hostile}'))
    page = here.get("/records").text
    assert hostile not in page
    assert "<img src=x" not in page
    assert "&lt;script&gt;" in page


def test_a_photo_is_kept_as_pixels_alone(here: TestClient, folder: Path) -> None:
    picture = Image.new("RGB", (3000, 2000), "green")
    exif = Image.Exif()
    exif[0x010E] = "taken at a secret place"
    raw = io.BytesIO()
    picture.save(raw, "JPEG", exif=exif)
    row = entry()
    send(here, row, photos={row["id"]: "data:image/jpeg;base64," + base64.b64encode(raw.getvalue()).decode()})
    kept = (folder / "photos" / f"{row['id']}.jpg").read_bytes()
    assert b"secret place" not in kept
    assert max(Image.open(io.BytesIO(kept)).size) <= 1600
    assert here.get(f"/photos/{row['id']}").headers["content-type"] == "image/jpeg"


@pytest.mark.parametrize("photo", ["not base64 !", base64.b64encode(b"GIF89a nonsense").decode(), ""])
def test_what_is_no_picture_is_refused_but_the_entry_stays(here: TestClient, folder: Path, photo: str) -> None:
    row, token = entry(), token_on(here, "/visit")
    answer = here.post(
        "/api/entries", json={"entries": [row], "photos": {row["id"]: photo}}, headers={"X-Form-Token": token}
    )
    (told,) = answer.json()["photos"]
    assert (told["id"], told["state"]) == (row["id"], "refused")
    assert "cannot be read as a picture" in told["told"]
    assert [each["state"] for each in answer.json()["entries"]] == ["recorded"]
    assert len(held(folder)) == 1


def test_entries_of_another_season_are_not_taken(here: TestClient, folder: Path, season: OpenSeason) -> None:
    token = {"X-Form-Token": token_on(here, "/visit")}
    sent = {"entries": [entry()], "photos": {}}
    assert here.post("/api/entries", json={**sent, "season": str(uuid4())}, headers=token).status_code == 409
    assert held(folder) == []
    assert here.post("/api/entries", json={**sent, "season": season.id}, headers=token).status_code == 200
    assert OpenSeason(folder).id == season.id


def test_a_reading_is_corrected_with_a_reason_and_its_history_stays(here: TestClient, folder: Path) -> None:
    row = entry(value="16")
    send(here, row)
    data = {"form_token": token_on(here, "/records"), "id": row["id"], "value": "1.6 mS/cm", "who": "tester"}
    assert here.post("/records/correct", data={**data, "reason": " "}).status_code == 422
    assert here.post("/records/correct", data={**data, "reason": "decimal point"}).status_code == 200
    assert [reading.value for reading in held(folder)] == [1.6]
    assert "corrected or withdrawn" in here.get("/records?all=true").text


def test_records_go_out_and_a_file_comes_in(here: TestClient, folder: Path) -> None:
    send(here, entry())
    given = here.get("/records/export/records.csv")
    assert b"EC" in given.content
    data = {"form_token": token_on(here, "/records"), "who": "tester"}
    told = here.post("/records/import", data=data, files={"file": ("mine.csv", given.content, "text/csv")}).text
    assert "1 already there" in told
    wrong = here.post("/records/import", data=data, files={"file": ("mine.exe", b"MZ", "application/x")})
    assert wrong.status_code == 422


def test_a_plan_or_book_that_cannot_be_used_is_no_fault_of_the_entry(here: TestClient, folder: Path) -> None:
    """The phone keeps what it could not send: 503 is not an answer about the entry."""
    token = token_on(here, "/visit")
    (folder / "book.db").write_bytes(b"SQLite format 3\x00" + b"spoilt" * 500)
    answer = here.post("/api/entries", json={"entries": [entry()], "photos": {}}, headers={"X-Form-Token": token})
    assert answer.status_code == 503
    assert answer.json()["refused"]
