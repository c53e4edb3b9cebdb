"""Stocks worked out for a plan: levels reached, refusals that name the salts, and the plan with them in it."""

from __future__ import annotations

from pathlib import Path

import pytest

from wetfoot.answers.stocks import Stocks, stocks, write_stocks
from wetfoot.errors import WetfootError
from wetfoot.plan.example import example_text
from wetfoot.plan.file import changed_text, plan_from_text, read_plan
from wetfoot.plan.model import Plan

HOAGLAND = "Hoagland & Arnon 1950, no 1"


def planned(**changes: object) -> Plan:
    return plan_from_text(changed_text(example_text(), {key.replace("__", "."): new for key, new in changes.items()}))


def reached(found: Stocks) -> dict[str, float]:
    return {number.name: number.value for number in found.answer.numbers}


def test_a_standard_solution_comes_out_of_its_own_salts_in_rain_water() -> None:
    # levels of solution no 1 from its own salts: N 210, P 31, K 235, Ca 200, Mg 48.6, S 64 mg/L (Hoagland & Arnon 1950)
    found = reached(stocks(planned(solution__source_ec="0 mS/cm"), HOAGLAND))
    for element, mg_l in (("N", 210), ("P", 31), ("K", 235), ("Ca", 200), ("Mg", 48.6), ("S", 64)):
        assert found[element] == pytest.approx(mg_l, rel=0.01)
    assert found["EC at working strength"] == pytest.approx(2.14, rel=0.03)  # project handbook, by another model


def test_the_rows_to_weigh_are_grams_a_litre_times_the_barrel() -> None:
    found = stocks(planned(), HOAGLAND)
    for stock, salts in (("A", found.design.stock_a_g_l), ("B", found.design.stock_b_g_l)):
        names = [row[1] for row in found.rows() if row[0] == stock]
        assert set(names) == set(salts)
    assert "calcium nitrate tetrahydrate" in found.design.stock_a_g_l
    assert "magnesium sulfate heptahydrate" in found.design.stock_b_g_l


def test_too_strong_a_stock_is_refused_with_how_strong_it_may_be() -> None:
    with pytest.raises(WetfootError) as refused:
        stocks(planned(), HOAGLAND, fold=400)
    assert any(
        "fold stays dissolved" in problem.fix or "keep apart" in problem.fix for problem in refused.value.problems
    )


def test_an_element_that_nothing_supplies_is_named_with_what_would() -> None:
    plan = planned(solution__recipe__shelf=["potassium nitrate", "calcium nitrate tetrahydrate"])
    with pytest.raises(WetfootError) as refused:
        stocks(plan, HOAGLAND)
    assert "no salt on the shelf holds P" in refused.value.problems[0].what


def test_an_unknown_target_is_refused_with_the_known_ones() -> None:
    with pytest.raises(WetfootError) as refused:
        stocks(planned(), "a secret recipe")
    assert HOAGLAND in refused.value.problems[0].allowed


def test_the_plan_takes_the_stocks_and_keeps_its_comments(season_folder: Path) -> None:
    found = stocks(read_plan(season_folder), HOAGLAND)
    write_stocks(found, season_folder)
    text = (season_folder / "season.toml").read_text("utf-8")
    assert "calcium stays apart from sulfate and phosphate" in text
    plan = read_plan(season_folder)
    for name, grams in found.design.stock_a_g_l.items():
        assert plan.solution.stock_a[name] == pytest.approx(grams, rel=1e-3)


def test_a_blend_by_its_label_is_a_salt_like_any_other() -> None:
    blend = '[solution.products."my blend"]\n"NO3-N" = "8 %"\n"P2O5" = "16 %"\n"K2O" = "36 %"\n\n[solution.stock_a]'
    text = example_text().replace("[solution.stock_a]", blend, 1)
    text = text.replace('"monopotassium phosphate" = "14 g/L"', '"my blend" = "30 g/L"')
    assert "my blend" in plan_from_text(text).solution.stock_b
    with pytest.raises(WetfootError) as refused:
        plan_from_text(text.replace('"P2O5" = "16 %"', '"P2O5" = "96 %"'))
    assert refused.value.problems[0].where == "solution.products.my blend"
