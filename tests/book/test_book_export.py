"""A person takes the whole book out into a spreadsheet, and brings it into an empty book. All is invented."""

from __future__ import annotations

import csv
import shutil
import tempfile
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wetfoot.book.entries import EVENT_KINDS, READING_KINDS, TOP_UP_PARTS
from wetfoot.book.exchange import PlacesKnown, export_records, import_records
from wetfoot.book.records import (
    Book,
    Event,
    Reading,
    Record,
    TopUp,
    Visit,
    add,
    correct,
    current,
    every,
    open_book,
    withdraw,
)
from wetfoot.errors import WetfootError

NOW = datetime(2026, 6, 1, 20, tzinfo=UTC)
SAME: dict[str, Any] = {"at": NOW - timedelta(days=1), "zone": "America/New_York", "who": "Ann"}
BENCH = PlacesKnown({"East": 24, "-West": 12}, tank_capacity_l=1000.0)
FORMULA = '=HYPERLINK("x","y")'


def season(book: Book) -> None:
    """Write one of everything, with a correction, a withdrawal and a doubt."""
    (visit,) = add(book, Visit(**SAME, note="line\nbreak; and, signs\t'"), now=NOW)
    old, twice, _ = add(
        book,
        Reading(**SAME, kind="ec", value=18.0, place="East", pot=3, typed="18 mS", visit_id=visit.id),
        Reading(**SAME, kind="tank_volume", value=412.609884456, place="tank", typed="109 gal"),
        Reading(**SAME, kind="solution_temperature", value=-3.5, place="-West", note=FORMULA),
        now=NOW,
    )
    right = replace(old, value=1.8, temperature_c=-1.25, compensated=False)
    correct(book, old.id, right, "@Bob", "+decimal point", NOW)
    withdraw(book, twice.id, "Ann", "written twice", NOW)
    add(book, TopUp(**SAME, water_l=100.0, stock_a_l=0.25, stock_b_l=0.0), now=NOW)
    add(book, *(Event(**SAME, kind=kind, note="'=1") for kind in EVENT_KINDS), now=NOW)


def moved(book: Book, path: Path, empty_book: Path) -> list[Record]:
    """Return all records of a book after a way through a file into an empty one."""
    export_records(book, path, overwrite=True)
    with tempfile.TemporaryDirectory() as folder, open_book(shutil.copy(empty_book, folder)) as other:
        report = import_records(other, path, zone="UTC", places=BENCH, who="Eve", now=NOW)
        assert report.held == ()
        assert [current(other, what) for what in (Visit, Reading, TopUp, Event)] == [
            current(book, what) for what in (Visit, Reading, TopUp, Event)
        ]
        return every(other)


@pytest.mark.parametrize("suffix", [".csv", ".xlsx"])
def test_an_export_makes_the_same_book_again(book: Book, tmp_path: Path, empty_book: Path, suffix: str) -> None:
    season(book)
    assert moved(book, tmp_path / f"all{suffix}", empty_book) == every(book)


@pytest.mark.parametrize("suffix", [".csv", ".xlsx"])
def test_an_export_into_the_same_book_adds_nothing(book: Book, tmp_path: Path, suffix: str) -> None:
    season(book)
    before = every(book)
    export_records(book, tmp_path / f"all{suffix}")
    report = import_records(book, tmp_path / f"all{suffix}", zone="UTC", places=BENCH, who="Eve", now=NOW)
    assert (report.recorded, report.held) == ((), ())
    assert every(book) == before


texts = st.text(max_size=30)
names = st.text(min_size=1, max_size=20).filter(lambda text: any(mark.isalnum() for mark in text))
common: st.SearchStrategy[dict[str, Any]] = st.fixed_dictionaries(
    {
        "at": st.datetimes(datetime(1901, 1, 1), datetime(2100, 1, 1), timezones=st.just(UTC)),
        "zone": st.sampled_from(["America/New_York", "Pacific/Honolulu", "Australia/Lord_Howe", "UTC"]),
        "who": names,
        "note": texts,
        "doubt": texts,
    }
)
numbers = st.floats(0.0, 2.0) | st.sampled_from([0.1 + 0.2, 412.609884456123 / 1000, 1e-7])
pots = st.none() | st.integers(1, 12)
readings = st.builds(
    lambda common, **own: Reading(**common, **own),
    common,
    kind=st.sampled_from(READING_KINDS),
    value=numbers,
    place=st.just("tank"),
    typed=texts,
).map(lambda r: replace(r, place="East") if r.kind in ("level", "medium_temperature") else r)
ec = st.builds(
    lambda common, **own: Reading(**common, **own, kind="ec", place="-West"),
    common,
    value=numbers,
    pot=pots,
    temperature_c=st.none() | st.floats(-40.0, 90.0),
    compensated=st.booleans(),
)
top_ups = st.builds(
    lambda common, parts: TopUp(**common, **parts, place="East"),
    common,
    st.dictionaries(st.sampled_from(TOP_UP_PARTS), numbers, min_size=1),
)
events = st.builds(
    lambda common, **own: Event(**common, **own, place="East"),
    common,
    kind=st.sampled_from(EVENT_KINDS),
    pot=pots,
)


@settings(max_examples=40, deadline=None)
@given(
    records=st.lists(readings | ec | top_ups | events | common.map(lambda c: Visit(**c)), max_size=6),
    suffix=st.sampled_from([".csv", ".xlsx"]),
)
def test_any_record_survives_the_way_through_a_file(empty_book: Path, records: list[Record], suffix: str) -> None:
    with tempfile.TemporaryDirectory() as folder, open_book(shutil.copy(empty_book, folder)) as book:
        add(book, *records, now=NOW)
        assert moved(book, Path(folder) / f"all{suffix}", empty_book) == every(book)


def test_times_that_come_twice_are_told_apart(book: Book, tmp_path: Path, empty_book: Path) -> None:
    # New York, 1 November 2026: 05:30 and 06:30 UTC are both 01:30 (Energy Policy Act of 2005)
    twice = [SAME | {"at": datetime(2026, 11, 1, hour, 30, tzinfo=UTC)} for hour in (5, 6)]
    add(book, *(Visit(**each) for each in twice), now=NOW)
    assert [record.at.hour for record in moved(book, tmp_path / "all.csv", empty_book)] == [5, 6]


def test_no_text_in_a_csv_can_act_as_a_formula(book: Book, tmp_path: Path) -> None:
    season(book)
    export_records(book, tmp_path / "all.csv")
    with (tmp_path / "all.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    texts_ = [(column, cell) for row in rows for column, cell in row.items() if column != "value"]
    assert f"'{FORMULA}" in [cell for _, cell in texts_]
    # OWASP, CSV injection: cells must not begin with one of these
    assert [each for each in texts_ if each[1].startswith(("=", "+", "-", "@", "\t", "\r"))] == []
    assert "-3.5" in [row["value"] for row in rows]  # a number stays a number


def test_no_text_in_a_workbook_is_a_formula(book: Book, tmp_path: Path) -> None:
    season(book)
    export_records(book, tmp_path / "all.xlsx")
    sheet: Any = openpyxl.load_workbook(tmp_path / "all.xlsx").active
    cells = [cell for row in sheet.iter_rows(min_row=2) for cell in row if cell.value is not None]
    assert FORMULA in [cell.value for cell in cells]
    assert {cell.data_type for cell in cells} == {"s", "n"}


def test_an_export_tells_units_and_what_was_superseded(book: Book, tmp_path: Path) -> None:
    season(book)
    export_records(book, tmp_path / "all.csv")
    with (tmp_path / "all.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = {row["id"]: row for row in csv.DictReader(file)}
    new = next(row for row in rows.values() if row["reason"] == "'+decimal point")
    old = rows[new["corrects"]]
    assert (old["superseded by"], new["superseded by"]) == (new["id"], "")
    assert (new["what"], new["value"], new["unit"], new["temperature"]) == ("EC", "1.8", "mS/cm", "'-1.25 degC")
    # 20:00 UTC is 16:00 in New York's summer
    assert (new["date"], new["time"], new["zone"]) == ("2026-05-31", "16:00", "America/New_York")


def test_a_file_that_is_there_is_kept_unless_told_otherwise(book: Book, tmp_path: Path) -> None:
    path = tmp_path / "all.csv"
    path.write_text("mine")
    with pytest.raises(WetfootError, match="such a file already"):
        export_records(book, path)
    assert path.read_text() == "mine"
    assert export_records(book, path, overwrite=True) == 0
    assert path.read_text(encoding="utf-8-sig").startswith("id,date,time,what,place,pot,value,unit,temperature,")


@pytest.mark.parametrize("name", ["all.pdf", "no/such/folder/all.csv", "no/such/folder/all.xlsx"])
def test_what_cannot_be_written_is_refused(book: Book, tmp_path: Path, name: str) -> None:
    with pytest.raises(WetfootError, match="written"):
        export_records(book, tmp_path / name)
    assert list(tmp_path.glob("*.part")) == []
