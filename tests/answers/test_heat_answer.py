from pathlib import Path

import pytest

from wetfoot.answers.heat import heat, hottest_day
from wetfoot.answers.weather import season_weather
from wetfoot.plan.file import changed_text, plan_from_text
from wetfoot.plan.model import Plan


def with_wrap(folder: Path, wrap: str) -> Plan:
    changes = {f"banks.{bank}.wrap": wrap for bank in range(4)}
    return plan_from_text(changed_text((folder / "season.toml").read_text("utf-8"), changes))


@pytest.fixture
def found(season_folder: Path) -> dict[str, dict[str, float]]:
    plans = {wrap: with_wrap(season_folder, wrap) for wrap in ("none", "white")}
    _, laid = season_weather(plans["none"], season_folder)
    answers = {wrap: heat(plan, laid)[0] for wrap, plan in plans.items()}
    assert "white wrap takes off" in answers["none"].words
    assert "cooler" in answers["white"].words
    assert ("yes", "watch", "no").index(answers["none"].state) > ("yes", "watch", "no").index(answers["white"].state)
    return {wrap: {number.name: number.value for number in answer.numbers} for wrap, answer in answers.items()}


def test_a_wrap_cools_by_several_degrees(found: dict[str, dict[str, float]]) -> None:
    """Published order of size: white or shaded walls are 5 to 10 C cooler than black ones, from memory."""
    saved = found["none"]["hottest roots, edge row"] - found["white"]["hottest roots, edge row"]
    assert saved > 5.0
    assert found["none"]["hottest centre of the pot"] < found["none"]["hottest roots, edge row"]


def test_what_another_wall_would_do_is_the_same_number(found: dict[str, dict[str, float]]) -> None:
    assert found["white"]["edge row, black"] == pytest.approx(found["none"]["hottest roots, edge row"])


def test_the_hottest_day_is_in_summer_and_under_supply(season_folder: Path, example_plan: Plan) -> None:
    _, laid = season_weather(example_plan, season_folder)
    run, day = hottest_day(example_plan, laid)
    assert run.dates[day].month in (6, 7, 8)
    assert day < example_plan.crop.tops_cut_d


def test_banks_that_stand_alike_are_answered_once(season_folder: Path, example_plan: Plan) -> None:
    _, laid = season_weather(example_plan, season_folder)
    assert len(heat(example_plan, laid)) == 1
