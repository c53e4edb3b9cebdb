"""Money and enough seed against worked examples and simulation."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from wetfoot.stock.enough import best_pots, best_stock, chance_enough, pots_for_service, stake
from wetfoot.stock.generations import Losses, chain, net_multiplication, stored_kg
from wetfoot.stock.money import Option, break_even_yield_kg, partial_budget, recommended, swings, yearly_cost

LOSSES = Losses(culling=0.15, storage=0.20, cutting=0.0)


@pytest.mark.parametrize(("years", "cost"), [(3, 3.880335), (5, 2.504565), (10, 1.490295)])
def test_equivalent_annual_cost(years: int, cost: float) -> None:
    assert yearly_cost(10.0, 0.08, years) == pytest.approx(cost, abs=6e-7)  # annuity tables at 8 %


def test_equivalent_annual_cost_pays_the_price_back() -> None:
    """The present value of the yearly payments is the price, by definition."""
    payment = yearly_cost(100.0, 0.06, 7)
    assert sum(payment / 1.06**year for year in range(1, 8)) == pytest.approx(100.0)


def test_a_published_newsvendor_exercise() -> None:
    # demand 300,000 +/- 100,000, cu 37, co 5: about 418,000 in the printed solution
    assert best_stock(300_000.0, 100_000.0, 37.0, 5.0) == pytest.approx(417_976, abs=1.0)
    assert best_stock(400.0, 80.0, 15.0, 6.0) == pytest.approx(445.28, abs=6e-3)


@pytest.mark.parametrize(("short_cost", "pots"), [(15.0, 116.17), (25.0, 136.80), (40.0, 150.91)])
def test_pots_under_a_random_season(short_cost: float, pots: float) -> None:
    # closed form worked out in the project handbook: need 400 kg, 3.3 kg a pot, log-sd 0.25, pot 32, surplus sold at 4
    assert best_pots(400.0, 3.3, 0.25, 32.0, short_cost, -4.0) == pytest.approx(pots, abs=6e-3)


def test_the_stake_agrees_with_simulated_seasons() -> None:
    found = stake(116, 400.0, 3.3, 0.25, 32.0, 15.0, -4.0)
    assert found.cost == pytest.approx(4310.252, abs=1e-3)  # the formula's value in the project handbook
    yields = np.random.default_rng(1).lognormal(np.log(3.3) - 0.25**2 / 2, 0.25, 1_000_000)
    short, over = np.maximum(400.0 - 116 * yields, 0.0), np.maximum(116 * yields - 400.0, 0.0)
    costs = 32.0 * 116 + 15.0 * short - 4.0 * over
    error = costs.std() / 1000.0
    assert abs(costs.mean() - found.cost) < 4 * error
    assert abs((short > 0).mean() - found.chance_short) < 0.002


def test_the_best_number_of_pots_costs_least() -> None:
    best = best_pots(400.0, 3.3, 0.25, 32.0, 25.0, -4.0)
    assert best is not None
    costs = [stake(best * factor, 400.0, 3.3, 0.25, 32.0, 25.0, -4.0).cost for factor in (0.97, 1.0, 1.03)]
    assert costs[1] < min(costs[0], costs[2])


def test_where_pots_cost_more_than_they_save_none_are_grown() -> None:
    assert best_pots(400.0, 3.3, 0.25, 60.0, 15.0, 0.0) is None


def test_the_chance_of_enough_agrees_with_simulated_seasons() -> None:
    """A reference of its own: every pot of 40,000 seasons drawn one by one."""
    random = np.random.default_rng(3)
    seasons = random.lognormal(-(0.35**2) / 2, 0.35, 40_000)
    alive = random.binomial(150, 0.95, 40_000)
    totals = 3.3 * seasons * (alive + 0.20 * np.sqrt(alive) * random.normal(size=40_000))
    for need in (300.0, 400.0, 550.0):
        error = 0.5 / 200.0
        assert abs((totals >= need).mean() - chance_enough(150, need, 3.3, 0.95, 0.20, 0.35)) < 4 * error


def test_the_chance_of_enough_has_its_two_known_limits() -> None:
    # no spread between seasons: normal in the number of pots; very many pots: the season's lognormal alone
    mean, sd = 150 * 0.95 * 3.3, 3.3 * math.sqrt(150 * (0.95 * 1.04 - 0.95**2))
    assert chance_enough(150, 480.0, 3.3, 0.95, 0.20, 0.0) == pytest.approx(norm.sf((480.0 - mean) / sd), abs=1e-9)
    many, need = 1_000_000, 2_500_000.0
    alone = norm.sf((math.log(need / (many * 0.95 * 3.3)) + 0.15**2 / 2) / 0.15)
    assert chance_enough(many, need, 3.3, 0.95, 0.20, 0.15) == pytest.approx(alone, abs=1e-3)


@given(st.floats(0.05, 0.9), st.floats(10.0, 1000.0), st.floats(0.0, 0.3), st.floats(0.0, 0.4))
def test_the_pots_for_a_service_level_are_the_fewest(level: float, need: float, season: float, pot: float) -> None:
    pots = pots_for_service(level, need, 3.3, 0.95, pot, season)
    assert pots is not None
    assert chance_enough(pots, need, 3.3, 0.95, pot, season) >= level
    if pots > 1:
        assert chance_enough(pots - 1, need, 3.3, 0.95, pot, season) < level


def test_from_twelve_clean_pots_to_a_field_in_three_generations() -> None:
    # worked example of the project handbook: 12 pots of 2 kg, then 4.9 kg a pot, 0.85 x 0.80 kept, 3 pieces a pot
    found = chain(12, 2.0, 4.9, 0.95, LOSSES, 3, 0.05 / 0.9, 3)
    assert (found[0].harvest_kg, found[0].seed_kg) == pytest.approx((24.0, 16.32))
    assert [generation.pieces for generation in found[:2]] == [293, 5526]
    assert [generation.pots for generation in found] == [12, 97, 1842]
    assert found[1].harvest_kg == pytest.approx(451.5, abs=0.05)


def test_net_multiplication() -> None:
    assert net_multiplication(4.9, 0.95, Losses(0.15, 0.20, 0.10), 3, 0.05) == pytest.approx(18.99, abs=5e-3)


def test_three_months_in_a_cool_chamber() -> None:
    # 28 % in 3 months: Chittaragi et al. (2022), PLoS ONE 17(5):e0265320, abstract
    assert stored_kg(100.0, 3.0, 0.1095, 0.0) == pytest.approx(72.0, abs=0.01)


def test_a_partial_budget_by_pieces() -> None:
    # marginal returns worked out in the project handbook: +5.841, +3.338, +2.160, +1.512 for 1.3222 more each time
    benefit, options = 0.0, []
    for pieces, gain in ((2, 0.0), (3, 5.841), (4, 3.338), (5, 2.160), (6, 1.512)):
        benefit += gain
        options.append(Option(f"{pieces} pieces", 1.3222 * pieces, benefit))
    steps = partial_budget(options)
    returns = [100 * step.marginal_return for step in steps[1:] if step.marginal_return is not None]
    assert returns == pytest.approx([341.8, 152.4, 63.4, 14.3], abs=0.1)
    assert recommended(steps, 1.0).option.name == "4 pieces"


def test_a_choice_that_costs_more_and_gives_no_more_is_dominated() -> None:
    steps = partial_budget([Option("plain", 1.0, 5.0), Option("dear", 2.0, 5.5), Option("good", 3.0, 9.0)])
    assert [step.dominated for step in steps] == [False, True, False]
    assert steps[2].marginal_return == pytest.approx(1.0)  # over plain, not over the dominated one


def test_break_even() -> None:
    assert break_even_yield_kg(22.397, 22.0, 0.7225) == pytest.approx(1.409, abs=6e-4)


def test_the_input_that_moves_the_result_most_comes_first() -> None:
    found = swings(lambda x: x["a"] * 10 + x["b"], {"a": 1.0, "b": 1.0}, {"b": (0.0, 2.0), "a": (0.9, 1.1)})
    assert [swing.name for swing in found] == ["b", "a"] or found[0].width == pytest.approx(found[1].width)
    assert found[0].width == pytest.approx(2.0)
