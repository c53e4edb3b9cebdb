"""The generations from a few clean pots, held to the handbook's chain (agronomy 1.6) and to balances by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from wetfoot.answers.generation_plan import generation_plan
from wetfoot.answers.generation_years import Start, in_later_year, in_store, most_pots, reached, years_of
from wetfoot.answers.supply import pot_yield_kg
from wetfoot.errors import WetfootError
from wetfoot.plan.model import Plan


@pytest.fixture
def plan(example_plan: Plan) -> Plan:
    """The invented example with the handbook's numbers: 4.9 kg a pot, 95 % live, losses 15, 20 and 10 %, 3 x 50 g."""
    crop = example_plan.crop.model_copy(update={"pieces_per_pot": 3})
    losses = {"loss_culling": 0.15, "loss_storage": 0.20, "loss_cutting": 0.10, "pot_survival": 0.95}
    goal = example_plan.goal.model_copy(
        update={
            **losses,
            "piece_mass_kg": 0.05,
            "field_area_m2": 100_000.0,
            "seed_rate_kg_m2": 0.2,
            "kept_back_kg": 0.0,
        }
    )
    found = example_plan.model_copy(update={"crop": crop, "goal": goal})
    factor = crop.yield_factor * 4.9 / pot_yield_kg(found)
    return found.model_copy(update={"crop": crop.model_copy(update={"yield_factor": factor})})


def test_the_handbooks_chain_from_twelve_plants(plan: Plan) -> None:
    """12 pots x 2 kg: 24 kg -> 16.32 kg seed -> 293 pieces -> 97 pots -> 451.5 kg -> 5526 pieces -> 1842 pots."""
    years = years_of(plan, Start(12, 2.0, 3), 100_000)
    assert [year.pots for year in years] == [12, 97, 1842]
    assert [year.pieces for year in years[1:]] == [291, 5526]  # 293 pieces, of which 97 pots take three each
    assert years[0].harvest_kg == pytest.approx(24.0)
    assert years[0].left_kg == pytest.approx(16.32)
    assert years[0].seed_kg / 0.05 == pytest.approx(293, abs=1)
    assert years[1].harvest_kg == pytest.approx(451.5, abs=0.05)


def test_one_batch_feeds_about_four_hectares_in_the_third_year(plan: Plan) -> None:
    """Handbook, agronomy 1.6: "one tissue-culture batch feeds ~4 ha in the third year"; 1842 pots at 2,000 kg/ha."""
    third = years_of(plan, Start(12, 2.0, 3), 100_000)[2]
    assert third.seed_kg / 2000.0 == pytest.approx(2.6, abs=0.1)  # after culling 15 %, storage 20 %, cutting 10 %
    assert third.harvest_kg / 2000.0 == pytest.approx(4.3, abs=0.1)  # as lifted: the handbook's round figure


def test_the_bench_bounds_the_pots_and_the_rest_goes_to_the_field(plan: Plan) -> None:
    years = years_of(plan, Start(12, 2.0, 4), 60)
    assert [year.pots for year in years] == [12, 60, 60, 60]
    for year in years:
        assert year.kept_kg + year.field_kg == pytest.approx(year.seed_kg)
        assert year.medium_l == pytest.approx(year.pots * years[0].medium_l / 12)
    assert years[2].field_kg == pytest.approx(60 * 0.95 * 4.9 * 0.612 - 60 * 0.15)  # 0.612 = 0.85 x 0.80 x 0.90


def test_enough_pots_plant_the_field_and_themselves(plan: Plan) -> None:
    enough = most_pots(plan, Start())
    a_pot = 4.9 * 0.95 * 0.612 - 0.15
    assert enough == -(-20_000 // a_pot)  # 10 ha at 2,000 kg/ha
    years = years_of(plan, Start(2000, None, 3), enough)
    assert reached(years) == 2
    assert reached(years_of(plan, Start(2000, None, 3), enough // 2)) is None


def test_every_year_has_its_days(plan: Plan) -> None:
    first, second = years_of(plan, Start(12, None, 2), 60)
    assert (first.planted, first.lifted, first.ready) == (
        plan.crop.planting, plan.crop.harvest, plan.goal.field_planting,
    )  # fmt: skip
    assert second.planted == plan.crop.planting.replace(year=plan.crop.planting.year + 1)
    assert first.planted < first.lifted < first.ready
    assert in_later_year(date(2028, 2, 29), 1) == date(2029, 2, 28)


def test_the_store_loses_what_the_plan_says_by_planting_time(plan: Plan) -> None:
    years = years_of(plan, Start(12, None, 2), 60)
    course = in_store(plan, years)
    assert dict(course)[years[0].lifted] == pytest.approx(years[0].stored_kg)
    assert dict(course)[years[0].ready] == pytest.approx(years[0].left_kg)


def test_what_to_do_when_short_is_told_with_what_it_brings(plan: Plan) -> None:
    found = generation_plan(plan, Start(12, 2.0, 5))
    assert found.answer.state == "no"
    assert "never plant the whole field" in found.answer.words
    assert any("Do not fill up with untested seed" in words for words in found.answer.warnings)
    by_name = {choice.name: choice for choice in found.choices}
    assert by_name["as planned, the bench's pots"].year is None
    enough = next(choice for name, choice in by_name.items() if name.startswith("enough pots"))
    assert enough.year == 4  # 12, 97, 1842, then all that the field asks for
    assert len(by_name) == len(found.choices) >= 5


def test_a_small_field_is_planted_soon(plan: Plan) -> None:
    small = plan.model_copy(update={"goal": plan.goal.model_copy(update={"field_area_m2": 100.0})})
    found = generation_plan(small, Start(12, 2.0, 3))
    assert found.answer.state == "yes"
    assert str(found.bench[1].ready) in found.answer.words
    low, middle, high = ((n.low, n.value, n.high) for n in found.answer.numbers if n.low is not None).__next__()
    assert low is not None
    assert high is not None
    assert low < middle < high


def test_an_impossible_start_is_refused_as_a_whole(plan: Plan) -> None:
    with pytest.raises(WetfootError) as refused:
        generation_plan(plan, replace(Start(), pots=0, years=40, pot_yield_kg=-1.0))
    assert [problem.where for problem in refused.value.problems] == ["pots", "years", "first_yield"]
