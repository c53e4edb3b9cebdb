import pytest

from wetfoot.answers.wetting import wetting_numbers
from wetfoot.plan.example import example_text
from wetfoot.plan.file import changed_text, plan_from_text
from wetfoot.plan.model import Plan


def days(plan: Plan, draw_l_d: float) -> dict[str, float]:
    return {number.name.split(" after")[0]: number.value for number in wetting_numbers(plan, "standard", draw_l_d)}


def test_a_store_lasts_shorter_when_more_is_drawn(example_plan: Plan) -> None:
    found = [days(example_plan, draw)["until plants go short without supply"] for draw in (1.0, 2.0, 3.0)]
    assert found == sorted(found, reverse=True)
    assert 0.5 < found[-1] < found[0] < 15.0


def test_the_store_is_between_the_basin_and_all_easily_drunk_water(example_plan: Plan) -> None:
    """The basin alone gives 3.4 L, basin and medium down to 5 kPa 6.8 L: at 2 L a day, drunk
    by daylight only, that is the second noon (day 1.5) to the fourth evening (day 3.8)."""
    assert 1.5 < days(example_plan, 2.0)["until plants go short without supply"] < 3.8


def test_a_fine_peat_wets_from_below_sooner_than_perlite() -> None:
    until = []
    for medium in ("peat, fine", "perlite"):
        plan = plan_from_text(changed_text(example_text(), {"nests.standard.medium": medium}))
        until.append(days(plan, 1.5)["until the top is wet"])
    assert until[0] < until[1]


def test_the_peak_hour_pulls_harder_than_the_mean_of_the_day(example_plan: Plan) -> None:
    assert (
        days(example_plan, 2.0)["highest suction at the top on hot days"]
        > days(example_plan, 0.1)["highest suction at the top on hot days"]
    )
    assert days(example_plan, 0.01)["highest suction at the top on hot days"] == pytest.approx(2.55, abs=0.1)
    # at rest 26 cm above the level: 0.26 m of water is 2.55 kPa
