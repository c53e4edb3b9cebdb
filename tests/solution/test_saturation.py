"""Saturation: what falls out brings the index back to 0, and more of an ion never helps."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wetfoot.solution.forms import state
from wetfoot.solution.pitzer import activities
from wetfoot.solution.salts import load_salts, molar_mass_g_mol
from wetfoot.solution.saturation import dissolves_g_l, saturation
from wetfoot.solution.solubility import solubility_g_100g


def index_of(solid: str, composition: dict[str, float], **how: float) -> float:
    return {row.solid: row.saturation_index for row in saturation(composition, **how)}[solid]


def test_what_falls_out_leaves_a_saturated_solution() -> None:
    strong = {"Ca": 100.0, "NO3": 100.0, "SO4": 100.0, "Na": 100.0}
    row = saturation(strong)[0]
    assert row.solid == "gypsum"
    lost = 1000.0 * row.falls_out_g_l / molar_mass_g_mol("CaSO4.2H2O")
    left = {**strong, "Ca": 100.0 - lost, "SO4": 100.0 - lost}
    assert index_of("gypsum", left) == pytest.approx(0.0, abs=1e-3)


def test_just_what_dissolves_is_saturated() -> None:
    mmol = 1000.0 * dissolves_g_l("gypsum", {"Na": 200.0, "Cl": 200.0}) / molar_mass_g_mol("CaSO4.2H2O")
    assert index_of("gypsum", {"Na": 200.0, "Cl": 200.0, "Ca": mmol, "SO4": mmol}) == pytest.approx(0.0, abs=1e-6)


@settings(deadline=None, max_examples=25)
@given(st.floats(1.0, 60.0), st.floats(1.05, 2.0))
def test_more_calcium_nitrate_never_makes_gypsum_more_soluble_in_a_feed(calcium: float, more: float) -> None:
    def index(mmol: float) -> float:
        return index_of("gypsum", {"Ca": mmol, "NO3": 2 * mmol, "Mg": 2.0, "SO4": 2.0})

    assert index(more * calcium) > index(calcium)


def test_phosphate_precipitates_as_ph_rises() -> None:
    feed = {"K": 6.0, "Ca": 5.0, "Mg": 2.0, "NO3": 15.0, "H2PO4": 1.0, "SO4": 2.0}
    at = [index_of("calcium hydrogen phosphate", feed, ph=ph) for ph in (5.0, 6.0, 7.0)]
    assert at[0] < at[1] < at[2]


def test_forms_of_phosphate_and_carbonate_add_up() -> None:
    at = state({"K": 20.0, "H2PO4": 10.0, "HCO3": 10.0}, 20.0, 6.5)
    water = at.molality["K"] / 20.0
    assert sum(at.molality[form] for form in ("H3PO4", "H2PO4", "HPO4")) == pytest.approx(10.0 * water, rel=1e-6)
    assert sum(at.molality[form] for form in ("CO2", "HCO3", "CO3")) == pytest.approx(10.0 * water, rel=1e-6)


def test_activities_obey_gibbs_and_duhem() -> None:
    # d ln a_w = -M_w sum m d ln(m gamma) along a ray of one mixture: holds for any real solution.
    mixture, step = {"K": 1.0, "Ca": 0.3, "NO3": 1.2, "Cl": 0.2, "SO4": 0.1}, 1e-4
    low, high = (activities({i: m * f for i, m in mixture.items()}) for f in (1.0 - step, 1.0 + step))
    from math import log

    rise = sum(
        m * (log(high.coefficient[i] / low.coefficient[i]) + log((1.0 + step) / (1.0 - step)))
        for i, m in mixture.items()
    )
    assert log(high.water / low.water) == pytest.approx(-0.018015 * rise, rel=1e-4)


def test_too_strong_is_refused_and_not_judged() -> None:
    with pytest.raises(ValueError, match="beyond what can be judged"):
        saturation({"Ca": 4000.0, "NO3": 8000.0})


@pytest.mark.parametrize("at_c", [-1.0, 41.0])
def test_solubility_is_not_extrapolated(at_c: float) -> None:
    with pytest.raises(ValueError, match="between 0 and 40 C"):
        solubility_g_100g(load_salts()["potassium nitrate"], at_c)


def test_solubility_that_is_not_held_is_said() -> None:
    with pytest.raises(ValueError, match="no solubility"):
        solubility_g_100g(load_salts()["iron DTPA 11 %"], 20.0)


def test_bad_input_is_named() -> None:
    with pytest.raises(ValueError, match="ph: 14"):
        saturation({"K": 1.0, "NO3": 1.0}, 25.0, 14)
    with pytest.raises(ValueError, match=r"-1.* mmol/L of K"):
        saturation({"K": -1.0})
    with pytest.raises(ValueError, match="no species"):
        saturation({"Xx": 1.0})
