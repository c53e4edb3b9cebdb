"""A person writes down planting stock: lots, cuttings, pots, harvests, stores, tests, holds. All is invented."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Callable
from dataclasses import fields, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wetfoot.book.exchange import ImportReport, PlacesKnown, export_records, import_records
from wetfoot.book.layout import COLUMNS
from wetfoot.book.records import Book, Event, Record, add, all_current, correct, current, every, open_book
from wetfoot.book.stock_entries import (
    RESULTS,
    STOCK_TYPES,
    Cutting,
    Harvest,
    HealthTest,
    Hold,
    Lot,
    Move,
    Planting,
    Shipment,
    StoreCheck,
)
from wetfoot.book.stock_layout import ITEMS
from wetfoot.errors import WetfootError

NOW = datetime(2026, 6, 1, 20, tzinfo=UTC)
SAME: dict[str, Any] = {"at": datetime(2026, 5, 1, 12, tzinfo=UTC), "zone": "UTC", "who": "Ann"}
BENCH = PlacesKnown({"East": 24, "West": 12}, tank_capacity_l=1000.0)
HEAD = (
    "date,what,lot,batch,place,pot,to,value,unit,pieces,parents,generation,source,permit,knife,disinfectant,temperature,"
    "minutes,grade,cause,rot,humidity,agent,method,detection limit,samples,pool size,sensitivity,specificity,result"
)

Bring = Callable[..., ImportReport]


@pytest.fixture
def bring(book: Book, tmp_path: Path) -> Bring:
    def bring(*rows: dict[str, str]) -> ImportReport:
        path = tmp_path / "yard.csv"
        columns = HEAD.split(",")
        lines = [",".join(({"date": "2026-05-01"} | row).get(column, "") for column in columns) for row in rows]
        path.write_text("\n".join([HEAD, *lines]))
        return import_records(book, path, zone="UTC", places=BENCH, who="Ann", now=NOW)

    return bring


def row(what: str, **cells: str) -> dict[str, str]:
    return {"what": what} | {name.replace("_", " "): text for name, text in cells.items()}


SEASON = (
    row("lot", lot="A", parents="X; Y", generation="G1", source="Station North", permit="P-7", value="10 lb"),
    row("cutting", batch="A1", lot="A", value="4", unit="kg", pieces="80", knife="blue", disinfectant="alcohol",
        temperature="122 degF", minutes="10"),
    row("planting", batch="A1", place="east", pot="3", pieces="3"),
    row("pot moved", place="East", pot="3", to="west"),
    row("pot moved", place="East", pot="4"),
    row("harvest", lot="B", pot="east 3", value="4.9", unit="kg", grade="seed"),
    row("cull", lot="B", pot="East 3", value="300 g", cause="rot"),
    row("store check", lot="B", value="4.5 kg", rot="100 g", temperature="13 degC", humidity="85 %"),
    row("shipment", lot="B", value="2 kg", to="Grower Lee", permit="P-9"),
    row("test", place="West", agent="bacterial wilt", method="strip", detection_limit="10 CFU/mL", samples="2",
        pool_size="10", sensitivity="90 %", specificity="0.99", result="Negative"),
    row("hold", pot="East 3", cause="wilt seen"),
    row("release", pot="East 3", cause="test negative"),
    row("bank cleaned", place="East"),
)  # fmt: skip


def test_every_kind_of_row_is_read(book: Book, bring: Bring) -> None:
    report = bring(*SEASON)
    assert (report.held, report.doubtful) == ((), ())
    (lot,) = current(book, Lot)
    assert (lot.lot, lot.parents, lot.generation, lot.source, lot.permit) == (
        "A",
        ("X", "Y"),
        1,
        "Station North",
        "P-7",
    )
    assert lot.kg == pytest.approx(10 * 0.45359237, rel=1e-11)  # the international pound, exact (NIST Handbook 44)
    (cut,) = current(book, Cutting)
    assert (cut.batch, cut.lot, cut.pieces, cut.kg, cut.knife, cut.disinfectant) == (
        "A1",
        "A",
        80,
        4,
        "blue",
        "alcohol",
    )
    assert cut.dip_minutes == 10.0
    assert cut.dip_c == pytest.approx(50.0)  # 122 F is 50 C
    (planted,) = current(book, Planting)
    assert (planted.pot, planted.place, planted.batch, planted.lot, planted.pieces) == ("East 3", "East", "A1", None, 3)
    (move,) = current(book, Move)
    assert (move.pot, move.place, move.to) == ("East 3", "East", "West")
    sound, cull = sorted(current(book, Harvest), key=lambda harvest: -harvest.kg)
    assert (sound.pot, sound.kg, sound.grade, sound.cause) == ("East 3", 4.9, "seed", None)
    assert (cull.pot, cull.kg, cull.grade, cull.cause) == ("East 3", 0.3, None, "rot")
    (check,) = current(book, StoreCheck)
    assert (check.kg, check.rot_kg, check.temperature_c, check.humidity) == (4.5, 0.1, 13.0, 0.85)
    (sent,) = current(book, Shipment)
    assert (sent.lot, sent.kg, sent.to, sent.permit) == ("B", 2.0, "Grower Lee", "P-9")
    (test,) = current(book, HealthTest)
    assert (test.subject, test.agent, test.result, test.detection_limit) == (
        "West",
        "bacterial wilt",
        "negative",
        "10 CFU/mL",
    )
    assert (test.samples, test.pool_size, test.sensitivity, test.specificity) == (2, 10, 0.9, 0.99)
    assert {(hold.kind, hold.subject) for hold in current(book, Hold)} == {("hold", "East 3"), ("release", "East 3")}


def test_a_pot_moved_without_where_to_stays_the_event_it_was(book: Book, bring: Bring) -> None:
    bring(*SEASON)
    assert {(event.kind, event.place, event.pot) for event in current(book, Event)} == {
        ("pot_moved", "East", 4),
        ("bank_cleaned", "East", None),
    }


def test_importing_twice_writes_nothing_twice(book: Book, bring: Bring) -> None:
    first = bring(*SEASON)
    written = every(book)
    second = bring(*SEASON)
    assert (second.recorded, second.held, len(second.already_there)) == ((), (), len(first.recorded))
    assert every(book) == written


@pytest.mark.parametrize(
    ("bad", "says"),
    [
        (row("lot", lot="A", parents="B; A"), "cannot descend from itself"),
        (row("lot"), "lot: it is missing"),
        (row("lot", lot="A", value="-2 kg"), "cannot be"),
        (row("lot", lot="A", value="7"), "not a number with a unit"),
        (row("lot", lot="A", generation="two"), "not a whole number"),
        (row("cutting", batch="A", lot="A", pieces="3"), "batch and lot are both 'A'"),
        (row("cutting", batch="B", lot="A"), "pieces: it is missing"),
        (row("cutting", batch="B", lot="A", pieces="0"), "0 cannot be"),
        (row("cutting", batch="B", lot="A", pieces="3", temperature="140 degC", minutes="1"), "140 degC cannot be"),
        (row("planting", place="East", pot="3", pieces="3"), "neither batch nor lot"),
        (row("planting", place="East", pot="3", pieces="3", lot="A", batch="B"), "both a batch and a lot"),
        (row("planting", pot="3", pieces="3", lot="A"), "pot 3 needs its bank"),
        (row("planting", place="tank", pot="East 3", pieces="3", lot="A"), "no pot stands in the tank"),
        (row("pot moved", place="East", pot="3", to="east"), "in 'East' already"),
        (row("pot moved", pot="East 3", to="West"), "place: it is missing"),
        (row("harvest", lot="B", value="3 kg"), "a harvest needs its pot"),
        (row("harvest", lot="B", pot="East 3"), "kg: it is missing"),
        (row("harvest", lot="B", pot="East 3", value="3 kg", cause="rot"), "harvested sound has no cause"),
        (row("cull", lot="B", value="3 kg"), "a cull needs its cause"),
        (row("store check", lot="B", value="3 kg", humidity="85"), "85 (1 is 100 %) cannot be"),
        (row("shipment", lot="B", value="3 kg"), "to: it is missing"),
        (row("test", lot="B", agent="virus", result="fine"), "'fine' is not a kind"),
        (row("test", agent="virus", result="negative"), "what it is about is not said"),
        (row("test", lot="B", pot="East 3", agent="virus", result="negative"), "lot and pot at once"),
        (row("test", lot="B", agent="virus", result="negative", sensitivity="120 %"), "1.2 (1 is 100 %) cannot be"),
        (row("hold", lot="B"), "cause: it is missing"),
    ],
)  # fmt: skip
def test_what_one_row_alone_shows_to_be_impossible_is_held(
    book: Book, bring: Bring, bad: dict[str, str], says: str
) -> None:
    report = bring(bad)
    assert [held.row for held in report.held] == [2]
    assert says in report.held[0].reason
    assert every(book) == []


@pytest.mark.parametrize(
    ("odd", "doubt"),
    [
        (row("lot", lot="A", generation="6"), "generation outside 0 to 5"),
        (row("cutting", batch="B", lot="A", pieces="3", temperature="60 degC", minutes="10"), "temperature of the dip"),
        (row("cutting", batch="B", lot="A", pieces="3", temperature="50 degC"), "both temperature and minutes"),
        (row("cutting", batch="B", lot="A", pieces="3", value="3 kg"), "pieces outside 5 to 300 g"),
        (row("planting", place="North", pot="3", pieces="3", lot="A"), "no bank is called 'North'"),
        (row("pot moved", place="East", pot="3", to="North"), "no bank is called 'North'"),
        (row("harvest", lot="B", pot="East 3", value="49 kg"), "more than 15 kg from a pot"),
        (row("test", lot="B", agent="virus", result="negative", sensitivity="30 %"), "sensitivity outside"),
        (row("hold", lot="B", cause="x", date="2027-05-01"), "in the future"),
    ],
)  # fmt: skip
def test_what_is_unlikely_is_recorded_and_marked(book: Book, bring: Bring, odd: dict[str, str], doubt: str) -> None:
    (doubtful,) = bring(odd).doubtful
    assert doubt in doubtful.reason
    assert doubt in str(all_current(book)[0].doubt)


def test_what_has_no_place_in_a_row_is_kept_in_its_note(book: Book, bring: Bring) -> None:
    bring(row("shipment", lot="B", value="2 kg", to="Lee", knife="blue"))
    assert current(book, Shipment)[0].note == "knife: blue"


def test_a_test_confirms_one_that_is_in_the_book(book: Book, tmp_path: Path) -> None:
    (first,) = add(book, HealthTest(**SAME, lot="B", agent="virus", result="positive"), now=NOW)
    again = replace(first, id="6a3f7d54-52c5-4d1b-9a8e-0a6d0d2f3b11", confirms=first.id, written_at=None)
    add(book, again, now=NOW)
    for wrong in (first.id[:-1] + ("0" if first.id[-1] != "0" else "1"), "17"):
        with pytest.raises(WetfootError, match=r"there is no test|not an id"):
            add(book, replace(again, id="c0a8012e-7b1d-4f5c-8e7e-2f4a9d1b6c22", confirms=wrong), now=NOW)
    with pytest.raises(WetfootError, match="cannot confirm itself"):
        add(book, replace(again, confirms=again.id), now=NOW)


def test_confirming_tests_may_stand_before_what_they_confirm(empty_book: Path, book: Book, tmp_path: Path) -> None:
    (first,) = add(book, HealthTest(**SAME, lot="B", agent="virus", result="positive"), now=NOW)
    earlier: dict[str, Any] = SAME | {"at": datetime(2026, 4, 1, tzinfo=UTC)}
    add(book, HealthTest(**earlier, lot="B", agent="virus", result="positive", confirms=first.id), now=NOW)
    assert moved(book, tmp_path / "all.csv", empty_book) == every(book)


def test_a_correction_takes_the_place_of_a_harvest(book: Book) -> None:
    (old,) = add(book, Harvest(**SAME, lot="B", pot="East 3", kg=49.0), now=NOW)
    new = correct(book, old.id, replace(old, kg=4.9), "Bob", "decimal point", NOW)
    assert (current(book, Harvest), new.doubt) == ([new], None)


@pytest.mark.parametrize("pot", ["", "3", "East  3", "East 03", "East\n3", "x" * 101, 3])
def test_a_pot_has_one_spelling(book: Book, pot: Any) -> None:
    with pytest.raises(WetfootError):
        add(book, Planting(**SAME, pot=pot, place="East", pieces=3, lot="A"), now=NOW)


def moved(book: Book, path: Path, empty_book: Path) -> list[Record]:
    """Return all records of a book after a way through a file into an empty one, and a second time in vain."""
    export_records(book, path, overwrite=True)
    with tempfile.TemporaryDirectory() as folder, open_book(shutil.copy(empty_book, folder)) as other:
        report = import_records(other, path, zone="UTC", places=BENCH, who="Eve", now=NOW)
        assert report.held == ()
        again = import_records(other, path, zone="UTC", places=BENCH, who="Eve", now=NOW)
        assert (again.recorded, again.held) == ((), ())
        return every(other)


def test_every_field_of_every_record_has_a_column() -> None:
    shared = {item.name for item in fields(Record)} | {"kind"}
    for what in STOCK_TYPES:
        assert {item.name for item in fields(what)} - shared == {item.field for item in ITEMS[what]}
        assert {item.column for item in ITEMS[what]} <= set(COLUMNS)


names = st.text(min_size=1, max_size=20).filter(lambda text: any(mark.isalnum() for mark in text))
lot_names = names.filter(lambda text: ";" not in text and "\n" not in text and "\r" not in text)
pots = st.builds("{} {}".format, st.sampled_from(["East", "West"]), st.integers(1, 12))
banks = st.sampled_from(["East", "West"])
kilos = st.floats(0.0, 20.0) | st.sampled_from([0.1 + 0.2, 1e-7])
shares = st.floats(0.0, 1.0)
counts = st.integers(1, 1000)
subjects = st.one_of(
    st.fixed_dictionaries({"lot": names}),
    st.fixed_dictionaries({"batch": names}),
    st.fixed_dictionaries({"pot": pots}, optional={"place": banks}),
    st.fixed_dictionaries({"place": banks}),
)
common = st.fixed_dictionaries(
    {
        "at": st.datetimes(datetime(1901, 1, 1), datetime(2100, 1, 1), timezones=st.just(UTC)),
        "zone": st.sampled_from(["America/New_York", "Pacific/Honolulu", "UTC"]),
        "who": names,
        "note": st.text(max_size=20),
    }
)


def either(**own: st.SearchStrategy[Any]) -> dict[str, st.SearchStrategy[Any]]:
    return {name: st.none() | strategy for name, strategy in own.items()}


def of(what: type[Record], own: st.SearchStrategy[dict[str, Any]]) -> st.SearchStrategy[Record]:
    return st.builds(lambda common, own: what(**common, **own), common, own)


Own = dict[str, st.SearchStrategy[Any]]
texts: Own = {name: st.none() | names for name in ("species", "cultivar", "source", "permit")}
lots: Own = {"lot": lot_names.map("lot {}".format), "parents": st.lists(lot_names, max_size=3).map(tuple), **texts}
cuttings: Own = {"batch": names.map("batch {}".format), "lot": names.map("lot {}".format), "pieces": counts}
dips: Own = either(dip_c=st.floats(0, 99), dip_minutes=st.floats(0, 999))
plantings: Own = {"pot": pots, "place": banks, "pieces": counts}
harvests: Own = {"lot": names, "kg": kilos, "pot": pots, **either(place=banks, grade=names, cause=names)}
checks: Own = {"lot": names, "kg": kilos, "rot_kg": kilos, **either(temperature_c=st.floats(-40, 90), humidity=shares)}
tests: Own = {
    "agent": names,
    "result": st.sampled_from(RESULTS),
    **either(method=names, lab=names, detection_limit=names, samples=counts, pool_size=counts),
    **either(sensitivity=shares, specificity=shares),
}
holds: Own = {"kind": st.sampled_from(["hold", "release"]), "cause": names}


def about(own: Own) -> st.SearchStrategy[dict[str, Any]]:
    return st.builds(lambda subject, rest: subject | rest, subjects, st.fixed_dictionaries(own))


anything = st.one_of(
    of(Lot, st.fixed_dictionaries(lots | either(generation=st.integers(0, 9), kg=kilos))),
    of(Cutting, st.fixed_dictionaries(cuttings | dips | either(kg=kilos, knife=names, disinfectant=names))),
    of(Planting, st.fixed_dictionaries(plantings | {"batch": names} | either(kg=kilos))),
    of(Planting, st.fixed_dictionaries(plantings | {"lot": names})),
    of(Move, st.fixed_dictionaries({"pot": pots, "place": st.just("East"), "to": st.just("West")})),
    of(Harvest, st.fixed_dictionaries(harvests)),
    of(StoreCheck, st.fixed_dictionaries(checks)),
    of(Shipment, st.fixed_dictionaries({"lot": names, "kg": kilos, "to": names, "permit": st.none() | names})),
    of(HealthTest, about(tests)),
    of(Hold, about(holds)),
)


@settings(max_examples=25, deadline=None)
@given(records=st.lists(anything, max_size=8), suffix=st.sampled_from([".csv", ".xlsx"]))
def test_any_record_survives_the_way_through_a_file(empty_book: Path, records: list[Record], suffix: str) -> None:
    with tempfile.TemporaryDirectory() as folder, open_book(shutil.copy(empty_book, folder)) as book:
        add(book, *records, now=NOW)
        assert moved(book, Path(folder) / f"all{suffix}", empty_book) == every(book)
