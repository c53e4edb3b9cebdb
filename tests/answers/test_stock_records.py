"""A person asks what the book says of the planting stock. The season is the invented example."""

from __future__ import annotations

from datetime import datetime, time, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from wetfoot.answers.stock_records import stock_state
from wetfoot.book.entries import Record
from wetfoot.book.records import add, open_book, withdraw
from wetfoot.book.stock_entries import Cutting, Harvest, Hold, Lot, Move, Planting, Shipment
from wetfoot.plan.file import plan_from_text
from wetfoot.plan.model import Plan
from wetfoot.stock.exposure import exposed


@pytest.fixture
def plan() -> Plan:
    source = Path(__file__).parents[2] / "src" / "wetfoot" / "plan" / "example.toml"
    return plan_from_text(source.read_text("utf-8"))


def write(plan: Plan, folder: Path, *records: tuple[int, type[Record], dict[str, Any]]) -> tuple[Record, ...]:
    noon = datetime.combine(plan.crop.planting, time(12), tzinfo=ZoneInfo(plan.site.zone))
    made = [what(at=noon + timedelta(days=days), zone=plan.site.zone, who="Ann", **own) for days, what, own in records]
    with open_book(folder) as book:
        return add(book, *made)


def test_without_a_book_pots_still_share_the_water_of_their_bank(plan: Plan, tmp_path: Path) -> None:
    state = stock_state(plan, tmp_path)
    assert (state.lots, state.problems, state.balances, state.held) == ({}, (), {}, ())
    assert len(state.pots) == plan.pots
    bank = plan.banks[0]
    reached = exposed({f"{bank.name} 1": plan.crop.planting}, state.contacts, "water mould")
    assert set(reached) & set(state.pots) == {f"{bank.name} {number}" for number in range(1, bank.pots + 1)}
    assert not (tmp_path / "book.db").exists()  # asking does not make one


def test_a_season_of_records_is_told_as_a_whole(plan: Plan, tmp_path: Path) -> None:
    first, second = plan.banks[0].name, plan.banks[1].name
    *_, wrong = write(
        plan,
        tmp_path,
        (-9, Lot, {"lot": "A", "generation": 1, "kg": 2.0}),
        (-3, Cutting, {"batch": "A1", "lot": "A", "pieces": 30, "kg": 1.5, "knife": "blue"}),
        (0, Planting, {"batch": "A1", "pot": f"{first} 1", "place": first, "pieces": 3}),
        (30, Move, {"pot": f"{first} 1", "place": first, "to": second}),
        (240, Lot, {"lot": "B", "generation": 2}),
        (240, Harvest, {"lot": "B", "pot": f"{first} 1", "kg": 4.9}),
        (241, Hold, {"kind": "hold", "lot": "B", "cause": "test outstanding"}),
        (242, Shipment, {"lot": "B", "kg": 9.0, "to": "Grower Lee"}),
    )
    assert ["more went out" in finding.words for finding in stock_state(plan, tmp_path).problems] == [True]
    with open_book(tmp_path) as book:
        withdraw(book, wrong.id, "Ann", "never sent")
    state = stock_state(plan, tmp_path)
    assert state.problems == ()
    assert list(state.lots) == ["A", "B"]
    assert set(state.parents["B"]) == {"A"}
    assert [standing.bank for standing in state.pots[f"{first} 1"][0].standings] == [first, second]
    assert (state.balances["A"].in_store_kg, state.balances["B"].in_store_kg) == (0.5, 4.9)
    assert [hold.subject for hold in state.held] == ["B"]
    reached = exposed({"A1": plan.crop.planting}, state.contacts)
    assert {f"{first} 2", f"{second} 2", "B"} <= set(reached)
