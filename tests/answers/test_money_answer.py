"""Money and enough pots, as a person reads them: worked by hand from the plan's own prices."""

from __future__ import annotations

import pytest

from wetfoot.answers.enough import bank_size, enough
from wetfoot.answers.money import money, pot_items
from wetfoot.answers.supply import supply
from wetfoot.answers.trace import Answer
from wetfoot.plan.example import example_text
from wetfoot.plan.file import changed_text, plan_from_text
from wetfoot.plan.model import Plan


def planned(**changes: object) -> Plan:
    return plan_from_text(changed_text(example_text(), {key.replace("__", "."): new for key, new in changes.items()}))


def values(answer: Answer) -> dict[str, float]:
    return {number.name: number.value for number in answer.numbers}


def test_the_items_of_a_pot_by_hand() -> None:
    items = pot_items(planned())
    # annuity factor for 8 %, 5 years: 0.2504565 (printed tables); pot 8, basin 6, dome 1
    assert items["pots"] == pytest.approx(15.0 * 0.2504565, rel=1e-6)
    assert items["seed planted"] == pytest.approx(3 * 0.05 / 0.95 * 22.0)
    assert items["tests"] == 1.0


def test_cost_margin_and_break_even_agree_with_each_other() -> None:
    found = money(planned())
    assert found is not None
    told = values(found.answer)
    grown = 0.95 * 0.85 * 0.80  # survival, culling, storage
    assert told["harvest of a living pot that just pays"] * grown * 22.0 == pytest.approx(
        told["cost of a pot in a season"]
    )
    assert sum(found.items.values()) == pytest.approx(told["cost of a pot in a season"])
    assert found.swings == tuple(sorted(found.swings, key=lambda swing: -swing.width))


def test_dear_seed_takes_pieces_out_of_the_pot() -> None:
    # the price of seed moves cost and worth alike, so the loss in cutting is what makes a piece dear
    few = money(planned(goal__loss_cutting="60 %"))
    many = money(planned())
    assert few is not None
    assert many is not None
    taken = [int(each.answer.words.split("By money alone, ")[1][0]) for each in (few, many)]
    assert taken[0] < taken[1]


def test_without_prices_there_is_no_money_answer_but_still_one_on_pots() -> None:
    text = example_text()
    bare = text[: text.index("[costs]")]
    plan = plan_from_text(bare)
    assert money(plan) is None
    assert "prices" in enough(plan, supply(plan)).words


def test_more_pots_are_surer_and_more_certainty_asks_for_more() -> None:
    small, large = planned(), planned(banks__0__pots=60)
    chance = "chance that the seed is enough"
    assert values(enough(small, supply(small)))[chance] < values(enough(large, supply(large)))[chance]
    sure = planned(goal__certainty="99 %")
    assert (
        values(enough(sure, supply(sure)))["pots for 99 % certainty"]
        > values(enough(small, supply(small)))["pots for 90 % certainty"]
    )


def test_a_large_bank_is_warned_of() -> None:
    plan = planned(banks__0__pots=60)
    assert bank_size(plan).state == "watch"
    assert bank_size(planned()).state == "yes"


@pytest.mark.parametrize("units", ["metric", "US"])
def test_every_number_is_traced(units: str) -> None:
    plan = plan_from_text(example_text(units))
    found = money(plan)
    assert found is not None
    for answer in (found.answer, enough(plan, supply(plan)), bank_size(plan)):
        for number in answer.numbers:
            assert number.how
            assert number.source
            assert number.kind or number.unit
