"""Odds, levers and the frontier: what must hold whatever the weather, on the same seasons and draws."""

from __future__ import annotations

from pathlib import Path

import pytest

from wetfoot.answers.odds import Odds, lever_rows, odds, with_tank, with_visits
from wetfoot.answers.visit_today import visit_today
from wetfoot.answers.visits import LONGEST_D, Frontier, frontier
from wetfoot.answers.weather import season_weather
from wetfoot.drawing.frontier import frontier_svg
from wetfoot.errors import WetfootError
from wetfoot.plan.example import example_text, new_folder
from wetfoot.plan.file import changed_text, plan_from_text, read_plan
from wetfoot.plan.model import Plan
from wetfoot.season.ensemble import Ensemble, run_ensemble
from wetfoot.weather.seasons import Seasons

RUNS = 12


@pytest.fixture(scope="module")
def thirsty(tmp_path_factory: pytest.TempPathFactory) -> tuple[Plan, Seasons, Ensemble]:
    """A small tank that is filled rarely: now and then it runs dry."""
    folder = tmp_path_factory.mktemp("odds") / "season"
    new_folder(folder)
    _, seasons = season_weather(read_plan(folder), folder)
    plan = plan_from_text(changed_text(example_text(), {"tank.volume": "350 L", "visits.every": "10 days"}))
    return plan, seasons, run_ensemble(plan, seasons, RUNS, 20)


@pytest.fixture(scope="module")
def found(thirsty: tuple[Plan, Seasons, Ensemble]) -> Odds:
    return odds(*thirsty, RUNS)


@pytest.fixture(scope="module")
def tried(thirsty: tuple[Plan, Seasons, Ensemble]) -> Frontier:
    return frontier(thirsty[0], thirsty[1], RUNS)


def test_a_larger_tank_is_never_worse_and_no_gutter_spills_more(found: Odds) -> None:
    after = {lever.name: lever.after for lever in found.levers}
    tanks = [outcome.empty for name, outcome in after.items() if name.startswith("a tank of")]
    assert tanks == sorted(tanks, reverse=True)  # half, one and a half, twice
    assert found.base.empty > after["a tank of 700 L"].empty
    assert after["gutters that take 0 % of the rain"].spilled_l > found.base.spilled_l
    assert after["gutters that take 66 % of the rain"].spilled_l < found.base.spilled_l


def test_splits_only_make_it_worse_and_a_shut_off_helps(found: Odds) -> None:
    assert found.with_splits.empty >= found.base.empty
    guarded = {lever.name: lever.after for lever in found.safeguards}
    assert guarded["somebody shuts a leaking bank off within 24 hours"].empty <= found.with_splits.empty


def test_chances_carry_the_bounds_of_so_few_runs(found: Odds) -> None:
    number = next(n for n in found.answer.numbers if n.name == "chance that the tank runs empty")
    assert number.low is not None
    assert number.high is not None
    assert number.low <= number.value <= number.high
    assert number.high - number.low > 10  # twelve runs tell little
    assert "typical year" in found.answer.words


def test_the_chance_falls_with_the_tank_and_rises_with_the_interval(tried: Frontier) -> None:
    chance = {(pair.every_d, pair.tank_l): pair.chance for pair in tried.pairs}
    for (every_d, tank_l), each in chance.items():
        for (other_d, other_l), other in chance.items():
            if other_d <= every_d and other_l >= tank_l:
                assert other <= each


def test_the_pair_to_take_is_the_cheapest_that_is_accepted(tried: Frontier) -> None:
    fit = [pair for pair in tried.pairs if pair.chance <= tried.accepted and pair.every_d <= LONGEST_D]
    assert tried.best in fit
    assert tried.best is not None
    assert tried.best.cost == min(pair.cost for pair in fit if pair.cost is not None)
    assert f"every {tried.best.every_d} days" in tried.answer.words
    assert tried.answer.state == "watch"


def test_the_frontier_is_drawn_with_its_words(tried: Frontier, thirsty: tuple[Plan, Seasons, Ensemble]) -> None:
    svg = frontier_svg(tried, thirsty[0])
    assert svg.count(" %") >= len(tried.pairs)
    assert "cheapest within what is accepted" in svg


def test_rows_start_with_the_bench_as_it_is(found: Odds, thirsty: tuple[Plan, Seasons, Ensemble]) -> None:
    rows = lever_rows(thirsty[0], found)
    assert rows[0][0] == "as planned"
    assert {len(row) for row in rows} == {8}


def test_changed_plans_change_nothing_else(thirsty: tuple[Plan, Seasons, Ensemble]) -> None:
    plan = thirsty[0]
    assert with_tank(plan, 2.0).tank.volume_l == 2 * plan.tank.volume_l
    assert with_visits(plan, 3).visits.every_d == 3
    assert with_tank(with_tank(plan, 2.0), 0.5) == plan


def test_today_is_told_from_a_folder_alone(tmp_path: Path) -> None:
    new_folder(tmp_path / "season")
    told = "\n".join(visit_today(tmp_path / "season", "2027-07-01", 10).lines())
    assert "Tank:" in told
    assert "Come again on" in told
    with pytest.raises(WetfootError):
        visit_today(tmp_path / "season", "the first of July", 10)
