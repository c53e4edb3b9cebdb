"""A person brings a spreadsheet of readings. All files are invented."""

from __future__ import annotations

import csv
import shutil
import tempfile
import zipfile
from collections.abc import Callable
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wetfoot.book import spreadsheet
from wetfoot.book.exchange import ImportReport, PlacesKnown, held_rows, import_records
from wetfoot.book.records import Book, Event, Reading, TopUp, Visit, add, correct, current, every, history, open_book
from wetfoot.errors import WetfootError

NOW = datetime(2026, 6, 1, 20, tzinfo=UTC)
ZONE = "America/New_York"
BENCH = PlacesKnown({"East": 24, "West": 12}, tank_capacity_l=1000.0)
HEAD = "date,time,what,place,pot,value,unit,temperature,who,note\n"

Bring = Callable[..., ImportReport]


@pytest.fixture
def bring(book: Book, tmp_path: Path) -> Bring:
    def bring(text: str | bytes, name: str = "yard.csv", zone: str = ZONE, now: datetime = NOW) -> ImportReport:
        path = tmp_path / name
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return import_records(book, path, zone=zone, places=BENCH, who="Ann", now=now)

    return bring


def rows(reports: tuple[Any, ...]) -> list[int]:
    return [report.row for report in reports]


def test_every_kind_of_row_is_read(book: Book, bring: Bring) -> None:
    report = bring(
        HEAD + "2026-05-01,09:30,visit,,,,,,Bob,sunny\n"
        "2026-05-01,09:30,tank,,,412,L,,,\n"
        "2026-05-01,09:31,EC,West,3,1850,uS/cm,75.2 degF,,\n"
        "2026-05-01,,rain,,,1/2,in,,,\n"
        "2026-05-01,09:40,water added,tank,,109 gal,,,,\n"
        "2026-05-01,09:40,float stuck,east,,,,,,grit\n"
    )
    assert rows(report.recorded) == [2, 3, 4, 5, 6, 7]
    assert (report.doubtful, report.held, report.already_there) == ((), (), ())
    (visit,) = current(book, Visit)
    assert (visit.who, visit.note, visit.at) == ("Bob", "sunny", datetime(2026, 5, 1, 13, 30, tzinfo=UTC))
    tank, ec, rain = current(book, Reading)
    assert (tank.kind, tank.place, tank.value, tank.typed, tank.who) == ("tank_volume", "tank", 412, "412 L", "Ann")
    assert (ec.place, ec.pot, ec.value, ec.typed, ec.zone) == ("West", 3, 1.85, "1850 uS/cm", ZONE)
    assert ec.temperature_c == pytest.approx(24.0)
    # 1 in = 25.4 mm exactly; noon, New York summer time is UTC-4
    assert (rain.value, rain.at) == (12.7, datetime(2026, 5, 1, 16, tzinfo=UTC))
    # 1 US gal = 3.785411784 L exactly (NIST Handbook 44, appendix C)
    assert current(book, TopUp)[0].water_l == pytest.approx(109 * 3.785411784, rel=1e-11)
    (event,) = current(book, Event)
    assert (event.kind, event.place, event.note) == ("float_stuck", "East", "grit")


PLANTED = [
    # each row with what is wrong with it, or None
    ("2026-05-01,09:00,tank,,,412,L,,,", None, ""),
    ("2026-05-02,09:00,tank,,,1412,L,,,", "doubtful", "the tank holds 1000 L"),
    ("2026-05-02,09:01,EC,,,1.8,mS/cm,,,", "doubtful", "no place was given"),
    ("2026-05-02,09:02,EC,East,30,1.8,mS,24,,", "doubtful", "bank 'East' has 24 pots"),
    ("2026-05-02,09:03,EC,North,,1.8,mS/cm,,,", "doubtful", "no bank is called 'North'"),
    ("2026-05-02,09:04,EC,tank,2,1.8,mS/cm,,,", "doubtful", "a pot without its bank"),
    ("2026-05-01,09:00,tank,,,412,L,,,", "doubtful", "the same as row 2"),
    ("2026-05-01,09:00,tank,,,412.0,L,,,again", "doubtful", "the same as row 2"),
    ("2027-05-01,09:00,rain,,,3,mm,,,", "doubtful", "in the future"),
    ("2026-05-02,09:05,EC,East,,18,mS/cm,,,", "doubtful", "EC above 5 mS/cm"),
    ("05/06/2026,09:00,tank,,,400,L,,,", "held", "'05/06/2026' is not a date"),
    ("2026-02-30,09:00,tank,,,400,L,,,", "held", "'2026-02-30' is not a date"),
    ("2026-05-03,25:00,tank,,,400,L,,,", "held", "'25:00' is not a time of day"),
    ("2026-05-03,09:00,pH,,,6.1,,,,", "held", "'pH' is not something that the book records"),
    ("2026-05-03,09:00,tank,,,400,,,,", "held", "'400' is not a number with a unit"),
    ("2026-05-03,09:00,tank,,,lots,L,,,", "held", "'lots' is not a number in 'L'"),
    ("2026-05-03,09:00,tank,,,400,mm,,,", "held", "a unit of another kind"),
    ('2026-05-03,09:00,tank,,,"1,400",L,,,', "held", "has a comma in it"),
    ("2026-05-03,09:00,tank,,,,L,,,", "held", "there is no value for tank"),
    ("2026-05-03,09:00,tank,,,-4,L,,,", "held", "-4 L cannot be"),
    ("2026-05-03,09:00,tank,,,109 gal,L,,,", "held", "not a number in 'L'"),
    ("2026-05-03,09:00,EC,East,,80,mS/cm,,,", "held", "80 mS/cm cannot be"),
    ("2026-05-03,09:00,level,East,,5,m,,,", "held", "5 m cannot be"),
    ("2026-05-03,09:00,level,,,5,cm,,,", "held", "a level needs a place"),
    ("2026-05-03,09:00,level,East,3b,5,cm,,,", "held", "'3b' is not the number of a pot"),
    ("2026-05-03,,,,,,,,,what was this", "held", "'' is not something that the book records"),
]


def test_every_planted_problem_is_found_and_told(book: Book, bring: Bring) -> None:
    report = bring(HEAD + "\n".join(row for row, *_ in PLANTED))
    found = {each.row: (name, each.reason) for name in ("doubtful", "held") for each in getattr(report, name)}
    for number, (row, verdict, reason) in enumerate(PLANTED, start=2):
        if verdict is None:
            assert number not in found
        else:
            assert (number, row, found[number][0]) == (number, row, verdict)
            assert reason in found[number][1]
    assert len(report.recorded) + len(report.held) == len(PLANTED)
    assert len(current(book, Reading)) == sum(verdict != "held" for _, verdict, _ in PLANTED)
    doubts = {reading.doubt for reading in current(book, Reading)}
    assert {each.reason for each in report.doubtful} | {None} == doubts


def test_all_that_is_wrong_with_a_row_is_told_at_once(bring: Bring) -> None:
    (held,) = bring(HEAD + "soon,late,EC,East,x,much,mS/cm,,,\n").held
    assert "'soon' is not a date" in held.reason
    assert "much" in held.reason or "'x'" in held.reason


def test_held_rows_are_kept_word_for_word(book: Book, bring: Bring) -> None:
    bring(HEAD + "soon,,tank,,,400,L,,,=1+1\n")
    (held,) = held_rows(book)
    assert (held.file, held.row, held.who, held.written_at) == ("yard.csv", 2, "Ann", NOW)
    assert held.headings == tuple(HEAD.strip().split(","))
    assert held.cells == ("soon", "", "tank", "", "", "400", "L", "", "", "=1+1")


def test_importing_twice_writes_nothing_twice(book: Book, bring: Bring) -> None:
    text = HEAD + "\n".join(row for row, *_ in PLANTED)
    first = bring(text)
    written, kept = every(book), held_rows(book)
    second = bring(text, name="copy of yard.csv", now=NOW + timedelta(days=400))
    assert second.recorded == ()
    assert rows(second.already_there) == rows(first.recorded)
    assert rows(second.held) == rows(first.held)
    assert (every(book), held_rows(book)) == (written, kept)


def test_a_longer_copy_of_the_file_adds_only_what_is_new(book: Book, bring: Bring) -> None:
    start = HEAD + "2026-05-01,09:00,tank,,,412,L,,,\n"
    bring(start)
    report = bring(start + "2026-05-08,09:00,tank,,,300,L,,,\n")
    assert (rows(report.already_there), rows(report.recorded)) == ([2], [3])


def test_a_row_is_known_again_after_its_record_was_corrected(book: Book, bring: Bring) -> None:
    text = HEAD + "2026-05-01,09:00,tank,,,412,L,,,\n"
    bring(text)
    (old,) = current(book, Reading)
    new = correct(book, old.id, Reading(**_same(old), kind="tank_volume", value=421.0, place="tank"), "Bob", "typo")
    assert rows(bring(text).already_there) == [2]
    assert current(book, Reading) == [new]


def _same(record: Reading) -> dict[str, Any]:
    return {"at": record.at, "zone": record.zone, "who": record.who}


def test_what_was_written_by_hand_before_makes_a_row_doubtful(book: Book, bring: Bring) -> None:
    at = datetime(2026, 5, 1, 13, tzinfo=UTC)
    (hand,) = add(book, Reading(at=at, zone=ZONE, who="Bob", kind="tank_volume", value=412.0, place="tank"))
    (doubtful,) = bring(HEAD + "2026-05-01,09:00,tank,,,412,L,,,\n").doubtful
    assert doubtful.reason == f"the same as record {hand.id}"


ID, OTHER = "6a3f7d54-52c5-4d1b-9a8e-0a6d0d2f3b11", "c0a8012e-7b1d-4f5c-8e7e-2f4a9d1b6c22"
LONG = "id,date,time,what,place,value,unit,note,corrects,reason\n"


def test_a_correction_in_a_file_may_stand_before_what_it_corrects(book: Book, bring: Bring) -> None:
    report = bring(
        LONG + f"{OTHER},2026-05-01,09:00,tank,,421,L,,{ID},swapped digits\n"
        f"{ID.upper()},2026-05-01,09:00,tank,,412,L,,,\n"
    )
    assert rows(report.recorded) == [2, 3]
    assert [record.id for record in history(book, ID)] == [ID, OTHER]
    assert [reading.value for reading in current(book, Reading)] == [421.0]


@pytest.mark.parametrize(
    ("row", "says"),
    [
        (f",2026-05-02,,tank,,1,L,,{OTHER},typo", "there is no record"),
        (f",2026-05-02,,tank,,1,L,,{ID},", "needs a reason"),
        (f",2026-05-02,,leak,,,,,{ID},typo", "cannot correct it"),
        (f"{ID},2026-05-02,,tank,,1,L,,,", "row 2 has the same id, but says otherwise"),
        ("17,2026-05-02,,tank,,1,L,,,", "'17' is not an id of the book"),
        (f"{OTHER},2026-05-02,,tank,,1,L,,{OTHER},typo", "cannot correct itself"),
    ],
)
def test_a_correction_that_cannot_be_is_held(book: Book, bring: Bring, row: str, says: str) -> None:
    report = bring(LONG + f"{ID},2026-05-01,09:00,tank,,412,L,,,\n{row}\n")
    assert rows(report.recorded) == [2]
    assert [each.row for each in report.held] == [3]
    assert says in report.held[0].reason


def test_corrections_in_a_circle_are_held(book: Book, bring: Bring) -> None:
    report = bring(LONG + f"{ID},2026-05-01,,tank,,1,L,,{OTHER},typo\n{OTHER},2026-05-01,,tank,,2,L,,{ID},typo\n")
    assert rows(report.held) == [2, 3]
    assert every(book) == []


def test_only_the_first_of_two_corrections_of_one_record_counts(book: Book, bring: Bring) -> None:
    report = bring(
        LONG + f"{ID},2026-05-01,,tank,,1,L,,,\n,2026-05-01,,tank,,2,L,,{ID},typo\n,2026-05-01,,tank,,3,L,,{ID},typo\n"
    )
    assert rows(report.held) == [4]
    assert "corrected already" in report.held[0].reason
    assert current(book, Reading)[0].value == 2.0


def test_the_same_id_with_other_content_is_held_and_the_book_not_changed(book: Book, bring: Bring) -> None:
    bring(LONG + f"{ID},2026-05-01,09:00,tank,,412,L,,,\n")
    report = bring(LONG + f"{ID},2026-05-01,09:00,tank,,999,L,,,\n")
    assert "the book has this record with another value" in report.held[0].reason
    assert current(book, Reading)[0].value == 412.0


def test_rows_of_one_top_up_become_one_record(book: Book, bring: Bring) -> None:
    rows_ = [f"{ID},2026-05-01,09:00,{what},tank,{n},L,,,\n" for n, what in enumerate(["water", "stock A"], 1)]
    report = bring(LONG + "".join(rows_))
    assert rows(report.recorded) == [2, 3]
    (top_up,) = current(book, TopUp)
    assert (top_up.id, top_up.water_l, top_up.stock_a_l, top_up.stock_b_l) == (ID, 1.0, 2.0, None)
    assert rows(bring(LONG + "".join(rows_)).already_there) == [2, 3]


def test_a_top_up_with_an_unreadable_part_is_held_whole(book: Book, bring: Bring) -> None:
    report = bring(LONG + f"{ID},2026-05-01,09:00,water,tank,100,L,,,\n{ID},2026-05-01,09:00,stock A,tank,some,L,,,\n")
    assert rows(report.held) == [2, 3]
    assert len(held_rows(book)) == 2
    assert every(book) == []


def test_what_has_no_column_in_the_book_is_kept_in_the_note(book: Book, bring: Bring) -> None:
    report = bring(
        "Date,What,Value,Unit,Temp,Remarks,pH\n"
        "2026-05-01,tank,412,L,24 degC,low,6.1\n"
        "2026-05-02,tank,400,L,,a note, cut by commas, and more\n"
    )
    assert report.kept_in_notes == ("pH",)
    first, second = current(book, Reading)
    assert first.note == "low; temperature: 24 degC; pH: 6.1"
    assert second.note == "a note; pH: cut by commas; column 8: and more"


@pytest.mark.parametrize(
    "text",
    [
        "\ufeffDATE ; Local Time;Kind;Bank;Reading;Units\n2026-05-01;9:30;ec;East;1.8;mS/cm\n",
        "Readings\n\nday\ttime\tWHAT\tplace\tvalue (as read)\tunit\n2026-5-1\t9:30 AM\tEC\tEast\t1.8\tmS/cm\n",
        '"unit","value","what","where","time","date"\r\n"mS/cm","1.8","Conductivity"," east ","09:30","2026-05-01"\r\n',
        "date,what,place,value\n2026-05-01 09:30:00,EC,East,1.8 mS/cm\n",
    ],
)
def test_headings_and_separators_may_differ(book: Book, bring: Bring, text: str) -> None:
    report = bring(text)
    assert len(report.recorded) == 1
    (found,) = current(book, Reading)
    assert (found.value, found.place, found.at) == (1.8, "East", datetime(2026, 5, 1, 13, 30, tzinfo=UTC))


def test_a_western_one_byte_file_is_read(book: Book, bring: Bring) -> None:
    bring("date,what,value,note\n2026-05-01,pest,,caf\xe9 \u2013 \xb5m\n".encode("cp1252"))
    assert current(book, Event)[0].note == "café – µm"


@pytest.mark.parametrize(
    ("name", "content", "says"),
    [
        ("a.csv", b"day,kind\n2026-05-01,tank\n", "no column value.*columns found: day, kind"),
        ("a.csv", b"date,day,what,value\n", "'date' and 'day' both mean 'date'"),
        ("a.csv", b"", "the file is empty"),
        ("a.csv", b"PK\x03\x04rest", "not a text file"),
        ("a.csv", b"date,what,value\n2026-05-01,pest,'" + b"x" * 200_000, "cannot be cut into cells"),
        ("a.xlsx", b"not a workbook", "workbook cannot be read"),
        ("a.ods", b"", "'.ods' are not read"),
        ("a.csv", b"date,what,value" + b",x" * 300 + b"\n", "303 columns"),
    ],
)
def test_a_file_that_cannot_be_read_is_refused(bring: Bring, name: str, content: bytes, says: str) -> None:
    with pytest.raises(WetfootError, match=says):
        bring(content, name)


def test_absurdly_large_files_are_refused(bring: Bring, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(spreadsheet, "MOST_ROWS", 3)
    with pytest.raises(WetfootError, match="more than 3 rows"):
        bring(HEAD + "2026-05-01,09:00,tank,,,412,L,,,\n" * 4)
    monkeypatch.setattr(spreadsheet, "MOST_BYTES", 50)
    with pytest.raises(WetfootError, match="the file has 0 MB"):
        bring(HEAD)


def test_a_workbook_that_unpacks_without_end_is_refused(
    bring: Bring, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(spreadsheet, "MOST_UNPACKED_BYTES", 5_000_000)
    with zipfile.ZipFile(tmp_path / "bomb.xlsx", "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("sheet.xml", bytes(6_000_000))
    with pytest.raises(WetfootError, match="6 MB inside"):
        bring((tmp_path / "bomb.xlsx").read_bytes(), "bomb2.xlsx")


def test_a_missing_file_zone_or_name_is_refused(book: Book, bring: Bring, tmp_path: Path) -> None:
    with pytest.raises(WetfootError, match="cannot be read"):
        import_records(book, tmp_path / "no.csv", zone=ZONE, places=BENCH, who="Ann", now=NOW)
    with pytest.raises(WetfootError, match="'Yard/Time' is not a time zone"):
        bring(HEAD, zone="Yard/Time")
    with pytest.raises(WetfootError, match="is no name"):
        import_records(book, tmp_path / "no.csv", zone=ZONE, places=BENCH, who=" ", now=NOW)


def workbook(path: Path, *rows_: list[Any]) -> bytes:
    made = openpyxl.Workbook()
    sheet: Any = made.active
    for row in rows_:
        sheet.append(row)
    made.create_sheet("Plan").append(["something else"])
    made.save(path)
    return path.read_bytes()


def test_cells_of_a_workbook_may_be_dates_times_and_numbers(book: Book, bring: Bring, tmp_path: Path) -> None:
    content = workbook(
        tmp_path / "made.xlsx",
        ["Date", "Time", "What", "Place", "Pot", "Value", "Unit"],
        [date(2026, 5, 1), time(9, 30), "EC", "East", 3, 1.8, "mS/cm"],
        [datetime(2026, 5, 1, 9, 45), None, "tank", None, None, 412, "L"],
        [None] * 7,
        ["2026-05-02", "10:00", "level", "East", 4.0, "5 cm", None],
    )
    report = bring(content, "yard.xlsx")
    assert (rows(report.recorded), report.held, report.left_out) == ([2, 3, 5], (), ("Plan",))
    ec, tank, level = current(book, Reading)
    assert (ec.pot, ec.value, ec.at) == (3, 1.8, datetime(2026, 5, 1, 13, 30, tzinfo=UTC))
    assert (tank.value, tank.typed, tank.at.minute) == (412.0, "412 L", 45)
    assert (level.pot, level.value) == (4, 0.05)


def test_the_same_rows_from_csv_and_workbook_are_the_same_records(bring: Bring, tmp_path: Path) -> None:
    bring("date,time,what,value,unit\n2026-05-01,09:30:00,tank,412,L\n")
    head, row = ["what", "date", "time", "value", "unit"], ["tank", date(2026, 5, 1), time(9, 30), 412.0, "L"]
    report = bring(workbook(tmp_path / "made.xlsx", head, row), "yard.xlsx")
    assert rows(report.already_there) == [2]


# The United States put clocks forward on 8 March 2026 at 02:00 and back on 1 November 2026 at 02:00
# (Energy Policy Act of 2005: second Sunday of March, first Sunday of November); New York is UTC-5, in summer UTC-4.
@pytest.mark.parametrize(
    ("day", "clock", "utc", "doubt"),
    [
        ("2026-03-08", "02:30", datetime(2026, 3, 8, 7, 30, tzinfo=UTC), "does not exist"),
        ("2026-03-08", "03:00", datetime(2026, 3, 8, 7, tzinfo=UTC), ""),
        ("2026-11-01", "01:30", datetime(2026, 11, 1, 5, 30, tzinfo=UTC), "comes twice"),
        ("2026-11-01", "01:30-05:00", datetime(2026, 11, 1, 6, 30, tzinfo=UTC), ""),
        ("2026-11-01", "02:00", datetime(2026, 11, 1, 7, tzinfo=UTC), ""),
    ],
)
def test_days_on_which_clocks_change(book: Book, bring: Bring, day: str, clock: str, utc: datetime, doubt: str) -> None:
    report = bring(f"date,time,what,value\n{day},{clock},visit,\n", now=datetime(2027, 1, 1, tzinfo=UTC))
    assert current(book, Visit)[0].at == utc
    assert doubt in report.recorded[0].reason
    assert len(report.doubtful) == bool(doubt)


def test_a_date_of_today_is_not_in_the_future(bring: Bring) -> None:
    morning = datetime(2026, 5, 1, 11, tzinfo=UTC)  # 07:00 in New York; the row counts as noon
    report = bring("date,what,value\n2026-05-01,visit,\n2026-05-02,visit,\n", now=morning)
    assert rows(report.doubtful) == [3]


def test_dates_at_the_ends_of_the_calendar_do_not_crash(bring: Bring) -> None:
    report = bring("date,time,what,value\n0001-01-01,00:01,visit,\n9999-12-31,23:59,visit,\n")
    assert rows(report.held) == [2, 3]


def test_a_failing_import_leaves_nothing_behind(book: Book, bring: Bring, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object) -> None:
        raise WetfootError([])

    monkeypatch.setattr("wetfoot.book.exchange.keep_held", fail)
    with pytest.raises(WetfootError):
        bring(HEAD + "2026-05-01,09:00,tank,,,412,L,,,\n")
    assert every(book) == []


cells = st.lists(
    st.sampled_from(
        ["2026-05-01", "09:30", "tank", "EC", "water", "visit", "East", "3", "412", "L", "1/0", "1e999", ID]
    )
    | st.text(st.characters(exclude_categories=["Cs"]), max_size=12),
    max_size=12,
)


@settings(max_examples=60, deadline=None)
@given(table=st.lists(cells, max_size=6))
def test_whatever_stands_in_the_cells_no_row_is_lost(empty_book: Path, table: list[list[str]]) -> None:
    with tempfile.TemporaryDirectory() as folder, open_book(shutil.copy(empty_book, folder)) as book:
        path = Path(folder) / "yard.csv"
        with path.open("w", encoding="utf-8", newline="") as file:
            csv.writer(file).writerows(
                [["date", "time", "what", "place", "pot", "value", "unit", "note", "id"], *table]
            )
        report = import_records(book, path, zone=ZONE, places=BENCH, who="Ann", now=NOW)
        told = rows(report.recorded) + rows(report.held) + rows(report.already_there)
        filled = [number for number, row in enumerate(table, start=2) if any(cell.strip(" '\t\r\n") for cell in row)]
        assert set(filled) <= set(told)
        assert len(told) == len(set(told))
        assert len(held_rows(book)) == len(report.held)
