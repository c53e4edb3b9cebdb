"""A water analysis becomes a composition in balance, or is refused with the reason."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetfoot.solution.salts import net_charge_meq_l
from wetfoot.solution.water_analysis import MOST_GAP_FRACTION, source_water_from_analysis

# World mean river water in mg/L: Livingstone (1963), USGS Professional Paper 440-G, from memory.
RIVER = {"Ca": 15.0, "Mg": 4.1, "Na": 6.3, "K": 2.3, "HCO3": 58.4, "SO4": 11.2, "Cl": 7.8, "NO3": 1.0}


def test_the_worlds_mean_river_balances_within_a_laboratorys_error() -> None:
    water = source_water_from_analysis(RIVER)
    assert abs(water.gap_fraction) < 0.05
    assert abs(net_charge_meq_l(water.composition)) < 1e-12


def test_alkalinity_as_calcium_carbonate_is_bicarbonate() -> None:
    # 50 mg/L as CaCO3 is 1 meq/L, which is 61 mg/L of HCO3: Standard Methods 2320 B
    water = source_water_from_analysis({"Ca": 20.04, "alkalinity as CaCO3": 50.04})
    assert water.composition["HCO3"] == pytest.approx(1.0, abs=1e-3)


@pytest.mark.parametrize(
    ("analysis", "word"),
    [
        ({"Ca": 40.0}, "more cations"),
        ({"Cl": 40.0}, "more anions"),
        ({"Calcium": 40.0}, "not an ion"),
        ({"Ca": -1.0}, "not an amount"),
    ],
)
def test_what_cannot_be_an_analysis_is_refused(analysis: dict[str, float], word: str) -> None:
    with pytest.raises(ValueError, match=word):
        source_water_from_analysis(analysis)


@given(st.floats(0.1, 20), st.floats(-0.99, 0.99))
def test_every_analysis_that_is_taken_is_in_balance(ca_mmol: float, share: float) -> None:
    meq = 2.0 * ca_mmol
    anions = meq * (1.0 + share * MOST_GAP_FRACTION / 1.2)
    water = source_water_from_analysis({"Ca": ca_mmol * 40.078, "Cl": anions * 35.45})
    assert net_charge_meq_l(water.composition) == pytest.approx(0.0, abs=1e-9)
