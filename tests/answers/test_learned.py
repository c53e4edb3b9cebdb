"""What the book teaches: the invented season's known thirst, its EC, a leak that was planted, and readings left out."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest
from book_made_up import at, on_day, reading, tank_rows, top_up, write

from wetfoot.answers.demo import TRUE_WATER_USE, demo_folder
from wetfoot.answers.learned import learned
from wetfoot.answers.weather import season_weather
from wetfoot.book.entries import Event
from wetfoot.plan.file import read_plan
from wetfoot.plan.model import Plan
from wetfoot.season.ensemble import Ensemble, run_ensemble
from wetfoot.season.expected_draw import ExpectedDraw, expected_draw
from wetfoot.weather.seasons import Seasons


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("season") / "demo"
    demo_folder(folder)
    return folder


@pytest.fixture(scope="module")
def plan(demo: Path) -> Plan:
    return read_plan(demo)


@pytest.fixture(scope="module")
def laid(plan: Plan, demo: Path) -> Seasons:
    return season_weather(plan, demo)[1]


@pytest.fixture(scope="module")
def ensemble(plan: Plan, laid: Seasons) -> Ensemble:
    return run_ensemble(plan, laid, runs=20, seed=1)


@pytest.fixture(scope="module")
def own(laid: Seasons) -> Seasons:
    """The invented season's weather as if the file held it."""
    return replace(laid, own=laid.runs[0])


@pytest.fixture(scope="module")
def expected(plan: Plan, own: Seasons) -> ExpectedDraw:
    return expected_draw(plan, own)


def test_the_invented_crops_thirst_is_learned(plan: Plan, demo: Path, laid: Seasons, ensemble: Ensemble) -> None:
    # the readings were made with this multiplier, which the plan does not know
    found = learned(plan, demo, laid, ensemble)
    assert found.after.low <= TRUE_WATER_USE <= found.after.high
    assert found.after.high - found.after.low < 0.5 * (found.before.high - found.before.low)
    assert found.verdict.state == "yes"
    assert "more than the plan expects" in found.use.words
    assert len(found.ec) == len(plan.banks)
    json.dumps(found.record())


def test_ec_residuals_are_readings_less_the_middle_of_the_runs(
    plan: Plan, laid: Seasons, ensemble: Ensemble, tmp_path: Path
) -> None:
    name = plan.banks[1].name
    for day in (50, 57, 64):
        write(tmp_path, reading(plan, day, "ec", name, float(ensemble.ec_free_ms_cm.middle[day - 1, 1]) + 0.8))
    (answer,) = learned(plan, tmp_path, laid, ensemble).ec
    numbers = {number.name: number.value for number in answer.numbers}
    assert numbers["mean residual of EC"] == pytest.approx(0.8)
    assert numbers["spread of the residuals"] == pytest.approx(0.0, abs=1e-9)
    assert numbers["readings above the expected band"] == 3


def test_the_weather_that_is_not_known_is_told(plan: Plan, demo: Path, laid: Seasons, own: Seasons) -> None:
    by_gauge = " ".join(learned(plan, demo, laid).use.warnings)
    assert "the gauge tells the rain of 161 more" in by_gauge
    assert "other years'" in by_gauge
    known = learned(plan, demo, own)
    assert not any("gauge" in words for words in known.use.warnings)
    assert known.after.low <= TRUE_WATER_USE <= known.after.high
    plain = learned(plan, demo, laid).after
    assert known.after.high - known.after.low < 0.5 * (plain.high - plain.low)


def test_an_empty_book_teaches_nothing_and_says_what_to_do(plan: Plan, laid: Seasons, tmp_path: Path) -> None:
    found = learned(plan, tmp_path, laid)
    assert found.after == found.before
    assert "write its litres down" in found.use.words
    assert found.leak is None
    assert found.ec == ()


def test_a_planted_leak_is_told_with_its_litres_and_its_day(
    plan: Plan, own: Seasons, expected: ExpectedDraw, tmp_path: Path
) -> None:
    days, leak_from, l_d = range(3, 171, 7), 129, 18.0
    write(tmp_path, *tank_rows(plan, expected, days, 1.0, l_d, leak_from))
    found = learned(plan, tmp_path, own)
    assert found.leak is not None
    assert found.leak.l_d.low <= l_d <= found.leak.l_d.high
    assert abs(found.leak.since_d - leak_from) <= 14.0
    assert found.verdict.state == "no"
    assert found.after.middle == pytest.approx(1.0, abs=0.1)
    hours = next(number for number in found.verdict.numbers if number.unit == "h")
    # by hand: nothing else would draw more than the crop's largest day beside the leak
    left_l = found.plan.tank.volume_l - 7 * (l_d + expected.demand_l.max())
    assert 24.0 * left_l / (found.leak.l_d.high + expected.demand_l.max()) < hours.value < 24.0 * 1000.0 / l_d
    assert hours.low is not None
    assert hours.high is not None
    assert hours.low <= hours.value <= hours.high
    earlier = learned(plan, tmp_path, own, until=on_day(plan, leak_from))
    assert earlier.leak is None


def test_a_leak_written_down_as_found_clears_the_verdict(
    plan: Plan, own: Seasons, expected: ExpectedDraw, tmp_path: Path
) -> None:
    rows = tank_rows(plan, expected, range(3, 171, 7), 1.0, 18.0, 129)
    mended = Event(at=at(plan, 164, 12), zone=plan.site.zone, who="invented", kind="leak", place=plan.banks[0].name)
    write(tmp_path, *rows, mended)
    assert learned(plan, tmp_path, own, until=on_day(plan, 164)).verdict.state == "yes"


def test_doubtful_unwritten_and_missed_readings_are_told(
    plan: Plan, laid: Seasons, expected: ExpectedDraw, tmp_path: Path
) -> None:
    rows = tank_rows(plan, expected, range(3, 101, 7))
    above = reading(plan, 103, "tank_volume", "tank", 1200.0)
    full_again = reading(plan, 122, "tank_volume", "tank", 990.0)
    drawn = reading(plan, 121, "tank_volume", "tank", 500.0)
    write(tmp_path, *rows, above, drawn, full_again)
    warnings = " ".join(learned(plan, tmp_path, laid).use.warnings)
    assert "above what the tank holds" in warnings
    assert "no top-up was written down" in warnings
    assert "days without a reading" in warnings


def test_a_doubtful_top_up_leaves_its_stretch_out(plan: Plan, laid: Seasons, tmp_path: Path) -> None:
    poured = top_up(plan, 100, 300.0)
    write(
        tmp_path,
        reading(plan, 100, "tank_volume", "tank", 650.0),
        replace(poured, doubt="written from memory"),
        reading(plan, 107, "tank_volume", "tank", 700.0),
    )
    found = learned(plan, tmp_path, laid)
    assert found.found == ()
    assert "no known amount" in " ".join(found.use.warnings)
