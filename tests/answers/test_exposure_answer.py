"""One positive pot in the invented season: the whole bank is held, the others are not, and the ways are told."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from wetfoot.answers.demo import demo_folder
from wetfoot.answers.exposure import Exposure, exposure
from wetfoot.answers.stock_records import stock_state
from wetfoot.drawing.exposure_map import exposure_map_svg
from wetfoot.errors import WetfootError
from wetfoot.plan.file import read_plan


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    where = tmp_path_factory.mktemp("exposed") / "season"
    demo_folder(where)
    return where


def found(folder: Path, suspect: str, agent: str = "not known", since: date | None = None) -> Exposure:
    return exposure(read_plan(folder), folder, suspect, agent, since)


def test_the_demo_has_lots_that_balance_and_nothing_impossible(folder: Path) -> None:
    state = stock_state(read_plan(folder), folder)
    assert set(state.lots) == {"G0 plantlets", "G1 2026"}
    assert not state.problems, [problem.words for problem in state.problems]
    assert state.held


def test_all_pots_of_the_bank_are_held_and_no_others(folder: Path) -> None:
    by_wilt = found(folder, "East 3", "bacterial wilt")
    assert set(by_wilt.pots) == {f"East {number}" for number in range(1, 11)}
    assert len(by_wilt.clear_pots) == 30
    assert by_wilt.ways["East 7"] == "East 3 → bank East → East 7 (shared water)"
    assert "hold 10 of 40" in by_wilt.answer.words
    assert {"G1 2026", "G0 plantlets"} <= set(by_wilt.sources)


def test_a_sick_lot_reaches_its_batches_its_pots_and_its_buyers(folder: Path) -> None:
    lot = found(folder, "G1 2026")
    assert len(lot.pots) == 40
    assert set(lot.people) == {"invented grower"}
    assert lot.answer.state == "no"
    assert "tell them" in lot.answer.words


def test_a_virus_stays_in_its_pot(folder: Path) -> None:
    assert set(found(folder, "East 3", "virus").pots) == {"East 3"}


def test_the_drawing_marks_suspect_exposed_and_clear(folder: Path) -> None:
    svg = exposure_map_svg(found(folder, "East 3"))
    assert svg.count("<circle") == 30 + 1  # the clear pots and the one of the key
    for word in ("suspect", "exposed: hold", "not exposed"):
        assert word in svg


@pytest.mark.parametrize(("suspect", "agent"), [("Eest 3", "not known"), ("East 3", "flu")])
def test_what_is_not_known_is_refused_with_what_is_near(folder: Path, suspect: str, agent: str) -> None:
    with pytest.raises(WetfootError) as refused:
        found(folder, suspect, agent)
    assert refused.value.problems[0].fix
