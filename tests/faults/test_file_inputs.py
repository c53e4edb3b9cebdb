"""Tables and codes with anything in them: read or refused in words. Records are invented."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path
from types import SimpleNamespace

import pytest
from hostile import CASES, bounded, texts
from hypothesis import given, settings
from hypothesis import strategies as st

from wetfoot.answers.trial_demo import write_demo_trial
from wetfoot.book.exchange import PlacesKnown, import_records
from wetfoot.book.opening import open_book
from wetfoot.book.spreadsheet import write_rows
from wetfoot.book.stock_rows import pot_code
from wetfoot.errors import WetfootError
from wetfoot.plan.example import new_folder
from wetfoot.trial.check_character import with_check, without_check
from wetfoot.trial.data import read_trial
from wetfoot.trial.layout_file import read_layout

PLACES = PlacesKnown({"East": 12}, 400.0)
ROWS = [["2026-06-01", "EC", "East", "1.5", "mS/cm"], ["2026-06-01", "tank", "tank", "400", "L"]]
SPLICES = (
    b"\x00",
    b"\xff\xfe",
    b"\n",
    b"\r",
    b",",
    b";",
    b'"',
    b"9" * 400,
    b"-",
    b"PK\x03\x04",
    b"=1+1",
    b"1e400",
    b"\xf0",
)
Reader = Callable[[Path], object]


def records(path: Path) -> object:
    with open_book(path.parent) as book:
        now = datetime(2026, 7, 1, tzinfo=UTC)
        return import_records(book, path, zone="UTC", places=PLACES, who="tester", now=now)


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> SimpleNamespace:
    """A folder to work in, and valid files of each kind."""
    folder = tmp_path_factory.mktemp("files")
    new_folder(folder / "season")
    trial = write_demo_trial(folder / "season")
    found = {
        "layout.csv": next(path for path in trial if "layout" in path.name and path.suffix == ".csv").read_bytes(),
        "trial.csv": next(path for path in trial if "layout" not in path.name and path.suffix == ".csv").read_bytes(),
    }
    for name in ("rows.csv", "rows.xlsx"):
        write_rows(folder / name, ["date", "what", "place", "value", "unit"], ROWS)
        found[name] = (folder / name).read_bytes()
    return SimpleNamespace(folder=folder, files=found)


READERS: dict[str, Reader] = {
    "rows.csv": records,
    "rows.xlsx": records,
    "trial.csv": read_trial,
    "layout.csv": read_layout,
}


@pytest.mark.parametrize("name", READERS)
def test_the_files_are_read_as_they_are(kept: SimpleNamespace, name: str) -> None:
    path = kept.folder / name
    path.write_bytes(kept.files[name])
    assert READERS[name](path)


@pytest.mark.parametrize("name", READERS)
@settings(bounded, max_examples=10 * CASES)
@given(data=st.data())
def test_any_bytes_in_a_table_are_read_or_refused(kept: SimpleNamespace, name: str, data: st.DataObject) -> None:
    raw = bytearray(kept.files[name])
    for _ in range(data.draw(st.integers(1, 5))):
        at = data.draw(st.integers(0, len(raw)))
        gone = data.draw(st.sampled_from([0, 0, 1, 2, 10, 200]))
        raw[at : at + gone] = data.draw(st.one_of(st.sampled_from(SPLICES), st.binary(max_size=6)))
    path = kept.folder / f"mangled-{name}"
    path.write_bytes(bytes(raw))
    with suppress(WetfootError):
        READERS[name](path)


@settings(bounded, max_examples=50 * CASES)
@given(text=texts)
def test_whatever_a_label_says_is_a_code_or_none(text: str) -> None:
    code = without_check(text)
    assert code is None or without_check(with_check(code)) == code
    with suppress(WetfootError):
        assert isinstance(pot_code(text, "East", PLACES), str)
    with suppress(WetfootError):
        assert isinstance(pot_code(text, "", PLACES), str)


@settings(bounded, max_examples=50 * CASES)
@given(code=st.text("0123456789ABCDEFGHJKLMNPQRSTUVWXYZ", min_size=1, max_size=12), data=st.data())
def test_a_code_with_one_character_misread_or_two_exchanged_is_noticed(code: str, data: st.DataObject) -> None:
    # ISO/IEC 7064:2003: its systems detect every single substitution and every transposition of two neighbours
    whole = with_check(code)
    at = data.draw(st.integers(0, len(code) - 1))
    other = data.draw(st.sampled_from("0123456789ABCDEFGHJKLMNPQRSTUVWXYZ"))
    wrong = whole[:at] + other + whole[at + 1 :]
    assert wrong == whole or without_check(wrong) is None
    swapped = whole[:at] + whole[at + 1] + whole[at] + whole[at + 2 :]
    assert swapped == whole or without_check(swapped) is None
