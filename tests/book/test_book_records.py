"""A person writes into the book, corrects, and reads what holds. All records are invented."""

from __future__ import annotations

import threading
from dataclasses import fields, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from wetfoot.book.entries import EVENT_KINDS, READING_KINDS
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
    history,
    open_book,
    withdraw,
)
from wetfoot.errors import WetfootError

NOON = datetime(2026, 5, 1, 22, tzinfo=UTC)  # noon in Honolulu
NOW = NOON + timedelta(days=1)
SAME: dict[str, Any] = {"at": NOON, "zone": "Pacific/Honolulu", "who": "Ann"}


def ec(value: float = 1.8, **other: Any) -> Reading:
    return Reading(**(SAME | {"kind": "ec", "value": value, "place": "tank"} | other))


def test_what_was_written_is_read_again(book: Book) -> None:
    visit = add(book, Visit(**SAME, note="hot day"), now=NOW)[0]
    reading = add(book, ec(temperature_c=24.0, typed="1.8 mS/cm", compensated=False, visit_id=visit.id), now=NOW)
    top_up = add(book, TopUp(**SAME, water_l=100.0, stock_a_l=0.5), now=NOW)
    event = add(book, Event(**SAME, kind="split_pot", place="east", pot=7), now=NOW)
    assert current(book, Visit) == [visit]
    assert current(book, Reading) == list(reading)
    assert current(book, TopUp) == list(top_up)
    assert current(book, Event) == list(event)
    assert visit.written_at == NOW
    assert {record.id for record in every(book)} == {visit.id, reading[0].id, top_up[0].id, event[0].id}


def test_instants_are_kept_in_utc_with_the_zone_beside_them(book: Book) -> None:
    local = NOON.astimezone(None) - timedelta(hours=3)
    add(book, ec(at=local), now=NOW)
    (found,) = current(book, Reading)
    assert (found.at, found.at.tzinfo, found.zone) == (local, UTC, "Pacific/Honolulu")


def test_current_is_cut_by_kind_and_time(book: Book) -> None:
    days = [ec(at=NOON + timedelta(days=day), value=1.0 + day) for day in range(4)]
    add(book, *reversed(days), Reading(**SAME, kind="rain", value=5.0), now=NOW + timedelta(days=9))
    until = NOON + timedelta(days=3)
    found = current(book, Reading, "ec", since=NOON + timedelta(days=1), until=until)
    assert [reading.value for reading in found] == [2.0, 3.0]


def test_an_unknown_kind_is_refused_everywhere(book: Book) -> None:
    with pytest.raises(WetfootError, match="'ph' is not a kind"):
        current(book, Reading, "ph")
    with pytest.raises(WetfootError, match="'ph' is not a kind"):
        add(book, ec(kind="ph"))
    with pytest.raises(WetfootError, match="'fire' is not a kind"):
        add(book, Event(**SAME, kind="fire"))


def test_a_correction_takes_the_place_of_the_older_record(book: Book) -> None:
    (old,) = add(book, ec(18.0), now=NOW)
    new = correct(book, old.id, replace(old, value=1.8), "Bob", "decimal point", NOW)
    assert (new.supersedes, new.who, new.reason, new.written_at) == (old.id, "Bob", "decimal point", NOW)
    assert old.doubt is not None
    assert new.doubt is None  # it was judged anew
    assert current(book, Reading) == [new]
    assert history(book, old.id) == history(book, new.id) == [old, new]


def test_corrections_can_be_corrected(book: Book) -> None:
    (one,) = add(book, ec(1.0), now=NOW)
    two = correct(book, one.id, ec(2.0), "Ann", "typo", NOW)
    three = correct(book, two.id, ec(3.0), "Ann", "typo again", NOW)
    assert current(book, Reading) == [three]
    assert history(book, two.id) == [one, two, three]


def test_what_was_corrected_cannot_be_corrected_again(book: Book) -> None:
    (one,) = add(book, ec(1.0), now=NOW)
    two = correct(book, one.id, ec(2.0), "Ann", "typo", NOW)
    three = correct(book, two.id, ec(3.0), "Ann", "typo again", NOW)
    with pytest.raises(WetfootError, match=f"corrected already, by {three.id}"):
        correct(book, one.id, ec(4.0), "Bob", "I saw it too", NOW)
    assert current(book, Reading) == [three]


def test_a_record_that_never_should_have_been_is_withdrawn(book: Book) -> None:
    one, _ = add(book, ec(1.0), ec(1.0), now=NOW)
    gone = withdraw(book, one.id, "Ann", "written twice", NOW)
    assert len(current(book, Reading)) == 1
    assert history(book, one.id) == [one, gone]
    back = correct(book, gone.id, one, "Ann", "no, it was two samples", NOW)
    assert back in current(book, Reading)


@pytest.mark.parametrize(
    ("new", "reason", "says"),
    [
        (Event(**SAME, kind="leak"), "typo", "cannot correct it"),
        (ec(2.0), " ", "needs a reason"),
        (ec(-2.0), "typo", "cannot be"),
    ],
)
def test_what_is_no_correction_is_refused(book: Book, new: Record, reason: str, says: str) -> None:
    (old,) = add(book, ec(1.0), now=NOW)
    with pytest.raises(WetfootError, match=says):
        correct(book, old.id, new, "Ann", reason, NOW)
    assert current(book, Reading) == [old]


def test_ids_that_are_not_there_are_named(book: Book) -> None:
    nobody = "00000000-0000-4000-8000-000000000000"
    for refused in (
        lambda: history(book, nobody),
        lambda: correct(book, nobody, ec(), "Ann", "typo"),
        lambda: add(book, ec(visit_id=nobody)),
        lambda: add(book, ec(supersedes=nobody, reason="typo")),
    ):
        with pytest.raises(WetfootError, match=nobody):
            refused()


def test_an_id_is_taken_once_in_the_whole_book(book: Book) -> None:
    (written,) = add(book, ec(), now=NOW)
    for again in (ec(id=written.id), Event(**SAME, kind="leak", id=written.id)):
        with pytest.raises(WetfootError, match="in the book already"):
            add(book, again)


def test_one_bad_record_keeps_all_out_and_all_problems_are_told(book: Book) -> None:
    with pytest.raises(WetfootError) as refused:
        add(book, ec(), ec(-1.0), ec(float("nan")), ec(zone="Mars/Base"), ec(who=" "), TopUp(**SAME))
    said = [problem.where for problem in refused.value.problems]
    assert said == ["record 2, EC", "record 3, EC", "record 4, zone", "record 5, who", "record 6, top-up"]
    assert current(book, Reading) == []


@pytest.mark.parametrize(
    "record",
    [
        ec(80.0),
        ec(-0.1),
        ec(float("inf")),
        ec("1.8"),  # type: ignore[arg-type]
        ec(True),
        ec(temperature_c=300.0),
        ec(place=None),
        ec(place=3),
        ec(pot=0),
        ec(pot=2.5),
        ec(at=datetime(2026, 5, 1, 12)),
        ec(at=datetime(1, 1, 1, tzinfo=UTC)),
        ec(at="2026-05-01"),
        ec(zone="../../etc/passwd"),
        ec(id="17"),
        ec(note="x" * 10_001),
        ec(who="x" * 101),
        ec(kind="level", value=5.0, place="east"),
        ec(kind="level", value=0.05),
        ec(kind="tank_volume", value=400.0, place="east"),
        ec(kind="tank_volume", value=-1.0),
        ec(kind="rain", value=1e5),
        ec(kind="rain", value=1.0, temperature_c=20.0),
        TopUp(**SAME, water_l=-5.0),
        TopUp(**SAME, water_l=float("nan")),
        TopUp(**SAME),
    ],
)
def test_the_impossible_is_refused(book: Book, record: Record) -> None:
    with pytest.raises(WetfootError):
        add(book, record)
    assert every(book) == []


@pytest.mark.parametrize(
    ("record", "doubt"),
    [
        (ec(5.1), "EC above 5 mS/cm"),
        (ec(5.0), None),
        (ec(temperature_c=51.0), "temperature outside -5 to 50 degC"),
        (ec(compensated=False), "EC without compensation and without a temperature"),
        (ec(kind="solution_temperature", value=-6.0), "solution temperature below -5 degC"),
        (ec(kind="medium_temperature", value=50.5, place="east"), "medium temperature above 50 degC"),
        (ec(kind="level", value=0.51, place="east"), "level above 0.5 m"),
        (ec(kind="rain", value=301.0, place=None), "rain above 300 mm"),
        (ec(at=NOW + timedelta(minutes=11)), "in the future"),
        (ec(at=NOW + timedelta(minutes=9)), None),  # clocks of two phones
    ],
)
def test_the_unlikely_is_written_and_marked(book: Book, record: Reading, doubt: str | None) -> None:
    (written,) = add(book, record, now=NOW)
    assert written.doubt == doubt
    assert current(book, Reading) == [written]


def test_each_kind_has_its_place_in_the_book(book: Book) -> None:
    add(book, *(ec(0.04, kind=kind, place="tank" if kind == "tank_volume" else "east") for kind in READING_KINDS))
    add(book, *(Event(**SAME, kind=kind) for kind in EVENT_KINDS))
    assert {reading.kind for reading in current(book, Reading)} == set(READING_KINDS)
    assert {event.kind for event in current(book, Event)} == set(EVENT_KINDS)


def test_of_two_who_correct_at_once_one_is_told(tmp_path: Path) -> None:
    with open_book(tmp_path) as one, open_book(tmp_path) as two:
        (old,) = add(one, ec(), now=NOW)
        refused: list[str] = []

        def write(book: Book) -> None:
            try:
                correct(book, old.id, ec(2.0), "Ann", "typo", NOW)
            except WetfootError as error:
                refused.append(str(error))

        threads = [threading.Thread(target=write, args=[book]) for book in (one, two)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert len(refused) == 1
        assert "corrected already" in refused[0]
        assert len(current(one, Reading)) == 1


def test_a_reader_is_not_stopped_by_a_writer(tmp_path: Path) -> None:
    with open_book(tmp_path) as one, open_book(tmp_path) as two:
        add(one, ec(), now=NOW)
        with one.writing():
            assert len(current(two, Reading)) == 1


def test_records_cannot_be_changed_in_memory_either() -> None:
    record = ec()
    for item in fields(record):
        with pytest.raises(AttributeError):
            setattr(record, item.name, None)


def test_texts_and_numbers_are_kept_so_that_every_file_can_carry_them() -> None:
    record = ec(412.60988445612345, note="  a\r\nb\x00 ", place="", typed="  ")
    # 12 significant digits
    assert (record.value, record.note, record.place, record.typed) == (412.609884456, "a\nb", None, None)
