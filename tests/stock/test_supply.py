import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetfoot.answers.supply import supply
from wetfoot.plan.model import Plan
from wetfoot.stock.supply import (
    clean_seed_kg,
    demand,
    pots_needed,
    seed_for_pots_kg,
    seed_rate_from_spacing_kg_m2,
)


def test_a_hectare_worked_by_hand() -> None:
    """1 ha at 2000 kg/ha, cutting 5 %, storage 20 %, culling 10 %, 4.9 kg a pot, 95 % survive: worked by hand."""
    wanted = demand(10_000, 0.2, 0.0, 0.05, 0.20, 0.10)
    assert wanted.uncut_kg == pytest.approx(2105.26, abs=0.005)
    assert wanted.harvest_kg == pytest.approx(2923.98, abs=0.005)
    assert pots_needed(wanted.harvest_kg, 4.9, 0.95) == 629


def test_multiplication_of_one_cycle() -> None:
    """y q (1-cull)(1-store)(1-cut)/(n s) = 18.99 for 4.9, .95, .15, .20, .10, 3 x 50 g: worked by hand."""
    seed = clean_seed_kg(1, 4.9, 0.95, 0.20, 0.15) * 0.9
    assert seed / 0.15 == pytest.approx(18.99, abs=0.005)


def test_a_field_rate_from_spacing() -> None:
    """76 g pieces at 8 in x 5 ft (CTAHR ginger wilt project plots, 2011) are about 2,446 kg/ha."""
    rate = seed_rate_from_spacing_kg_m2(5 * 0.3048, 8 * 0.0254, 15 / 90 * 0.45359237)
    assert rate * 10_000 == pytest.approx(2446, rel=2e-3)


@given(
    st.floats(1, 1e6), st.floats(0.01, 1), st.floats(0, 100), st.floats(0, 0.9), st.floats(0, 0.9), st.floats(0, 0.9),
    st.floats(0.1, 10), st.floats(0.1, 1),
)  # fmt: skip
def test_the_pots_give_back_what_was_asked_for(
    area: float, rate: float, kept: float, cut: float, store: float, cull: float, kg: float, survival: float
) -> None:
    wanted = demand(area, rate, kept, cut, store, cull)
    pots = pots_needed(wanted.harvest_kg, kg, survival)
    left = clean_seed_kg(pots, kg, survival, store, cull)
    assert (left - kept) * (1 - cut) >= area * rate * (1 - 1e-6)


def test_impossible_losses_are_refused() -> None:
    with pytest.raises(ValueError, match="loss_storage"):
        demand(1, 1, 0, 0.1, 1.0, 0.1)
    with pytest.raises(ValueError, match="yield_kg"):
        pots_needed(1, 0, 1)


def test_poor_seasons_need_more_pots_than_good_ones(example_plan: Plan) -> None:
    found = supply(example_plan)
    assert found.pots_high_yield < found.pots_expected < found.pots_low_yield
    assert found.answer.state == "watch"
    assert str(found.pots_expected) in found.answer.words
    assert seed_for_pots_kg(40, 3, 0.05, 0.05) == pytest.approx(6.3158, abs=1e-4)
