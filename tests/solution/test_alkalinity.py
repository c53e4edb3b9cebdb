"""Carbonate equilibrium and acids against textbooks, and laws that hold whatever the numbers."""

from __future__ import annotations

from math import log10

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetfoot.solution import acids, alkalinity
from wetfoot.solution.alkalinity import acid_need_meq_l, carbonate_of_alkalinity, ph_closed, ph_open
from wetfoot.solution.salts import molar_mass_g_mol

OLD_AIR_ATM = 10.0**-3.5  # the air of the textbooks
ALKALINITY = st.floats(0.05, 10.0)
PH = st.floats(4.5, 8.5)
WARMTH = st.floats(0.0, 40.0)
STRENGTH = st.floats(0.0, 0.1)


@pytest.mark.parametrize(
    ("temperature_c", "carbonic", "water"),
    [
        # pK1 Harned & Davis (1943), pK2 Harned & Scholes (1941), pKw Harned & Owen (1958), as tabled in Stumm & Morgan,
        # Aquatic Chemistry, and handbooks of chemistry (from memory).
        (0.0, (6.58, 10.63), 14.94),
        (10.0, (6.46, 10.49), 14.53),
        (25.0, (6.35, 10.33), 14.00),
        (40.0, (6.30, 10.22), 13.53),
    ],
)
def test_constants_are_the_tabled_ones(temperature_c: float, carbonic: tuple[float, float], water: float) -> None:
    k = alkalinity.constants(temperature_c)
    found = [-log10(x) for x in (k.carbonic_first, k.carbonic_second, k.water)]
    assert found == pytest.approx([*carbonic, water], abs=0.011)


def test_phosphoric_and_henry_at_25() -> None:
    # Handbook of chemistry: pK1 2.148, pK2 7.198; Stumm & Morgan: -log KH 1.47 (from memory).
    k = alkalinity.constants(25.0)
    found = [-log10(x) for x in (k.phosphoric_first, k.phosphoric_second, k.henry)]
    assert found == pytest.approx([2.148, 7.198, 1.47], abs=0.004)


def test_rain_in_equilibrium_with_air() -> None:
    # Stumm & Morgan, Aquatic Chemistry, ch. 4: pure water at pCO2 10^-3.5 atm has pH 5.65; 5.6 with today's air.
    assert ph_open(0.0, co2_atm=OLD_AIR_ATM) == pytest.approx(5.65, abs=0.02)
    assert ph_open(0.0) == pytest.approx(5.6, abs=0.02)


@pytest.mark.parametrize("meq_l", [0.1, 0.5, 1.0, 2.0])
def test_alkaline_water_open_to_air(meq_l: float) -> None:
    # Stumm & Morgan, Aquatic Chemistry, open carbonate system at pCO2 10^-3.5 atm: log [HCO3] = -11.3 + pH (mol/L).
    assert ph_open(meq_l, co2_atm=OLD_AIR_ATM) == pytest.approx(11.3 + log10(meq_l / 1000.0), abs=0.04)


def test_solutions_of_bicarbonate_carbonic_acid_and_carbonate() -> None:
    # Textbook points of 0.001 mol/L, closed (Snoeyink & Jenkins, Water Chemistry, ch. 4, from memory): NaHCO3 8.3,
    # H2CO3 4.7, Na2CO3 10.6.
    found = [ph_closed(alkalinity_meq_l, 1.0) for alkalinity_meq_l in (1.0, 0.0, 2.0)]
    assert found == pytest.approx([8.3, 4.7, 10.6], abs=0.05)


@pytest.mark.parametrize("target_ph", [5.8, 5.9])
def test_rule_acid_for_a_feed_neutralises_most_of_the_alkalinity(target_ph: float) -> None:
    # Project handbook: acid for pH 5.8-6.2 neutralises about 70-80 % of the alkalinity. This is so up to pH 5.95.
    assert 0.70 <= acid_need_meq_l(3.0, 7.5, target_ph) / 3.0 <= 0.80


@pytest.mark.parametrize(("target_ph", "part"), [(5.8, 0.78), (6.2, 0.585)])
def test_part_neutralised_by_hand(target_ph: float, part: float) -> None:
    # By hand: a water of pH 8.3 is HCO3 but for 1 %; 1 / (1 + 10^(pH - 6.35)) of it is CO2 at the target.
    assert acid_need_meq_l(3.0, 8.3, target_ph) / 3.0 == pytest.approx(part, abs=0.01)


def test_open_to_air_nearly_all_alkalinity_goes() -> None:
    # What is left is [HCO3] = 10^(-11.3 + 5.8) mol/L = 0.003 mmol/L (Stumm & Morgan, as above; today's air 0.004).
    assert acid_need_meq_l(3.0, 7.5, 5.8, open_to_air=True) == pytest.approx(3.0 - 0.003, abs=0.002)


@given(ALKALINITY, PH, WARMTH, STRENGTH)
def test_what_is_measured_comes_back(meq_l: float, ph: float, temperature_c: float, strength: float) -> None:
    there = carbonate_of_alkalinity(ph, meq_l, temperature_c, strength)
    assert abs(there.alkalinity_meq_l - meq_l) <= 1e-9 * meq_l
    assert ph_closed(meq_l, there.total_mmol_l, temperature_c, strength) == pytest.approx(ph, abs=1e-8)


@given(ALKALINITY, PH, st.floats(0.0, 1.0), WARMTH, STRENGTH)
def test_acid_added_leads_to_the_target(
    meq_l: float, ph: float, step: float, temperature_c: float, strength: float
) -> None:
    target = 4.0 + (ph - 4.0) * step
    where = {"temperature_c": temperature_c, "ionic_strength_mol_l": strength}
    need = acid_need_meq_l(meq_l, ph, target, open_to_air=False, **where)
    total = carbonate_of_alkalinity(ph, meq_l, **where).total_mmol_l
    assert need >= -1e-12
    assert ph_closed(meq_l - need, total, **where) == pytest.approx(target, abs=1e-7)


@given(ALKALINITY, WARMTH, STRENGTH)
def test_charge_balances_in_the_open(meq_l: float, temperature_c: float, strength: float) -> None:
    ph = ph_open(meq_l, temperature_c, strength)
    co2 = 1000.0 * alkalinity.constants(temperature_c).henry * alkalinity.AIR_CO2_ATM
    there = alkalinity.carbonate_of_co2(ph, co2, temperature_c, strength)
    assert abs(there.alkalinity_meq_l - meq_l) <= 1e-9 * meq_l


@given(st.sampled_from(sorted(acids.ACIDS)), st.floats(0.1, 10.0), st.floats(4.0, 8.0), WARMTH, STRENGTH)
def test_charge_of_the_poured_acid_is_the_need(
    name: str, need: float, ph: float, temperature_c: float, strength: float
) -> None:
    acid = acids.ACIDS[name]
    dose = acids.acid_dose(acid, need, ph, temperature_c, strength)
    protons = acids.protons_per_mol(acid, ph, temperature_c, strength)
    assert abs(dose.mmol_l * protons - need) <= 1e-9 * need
    poured_g = dose.ml_per_m3 * acid.density_kg_l * acid.mass_fraction
    assert poured_g == pytest.approx(dose.mmol_l * molar_mass_g_mol(acid.formula))


@pytest.mark.parametrize(
    ("name", "ml_per_m3", "nutrient", "mg_l"),
    [
        # By hand for 1 meq/L at pH 5.8, where a mole of phosphoric acid gives 1 + 1 / (1 + 10^(7.2 - 5.8)) - 0.0002
        # hydrogen: 98.0 / (1.038 x .85 x 1.69), 63.0 / (.68 x 1.405), 98.1 / 2 / (.93 x 1.828).
        ("phosphoric acid 85 %", 65.7, "P", 29.8),
        ("nitric acid 68 %", 65.9, "N", 14.0),
        ("sulfuric acid 93 %", 28.8, "S", 16.0),
    ],
)
def test_acid_by_hand(name: str, ml_per_m3: float, nutrient: str, mg_l: float) -> None:
    dose = acids.acid_dose(acids.ACIDS[name], 1.0, 5.8)
    assert dose.ml_per_m3 == pytest.approx(ml_per_m3, abs=0.1)
    assert dose.nutrient == nutrient
    assert dose.nutrient_mg_l == pytest.approx(mg_l, abs=0.1)


def test_half_of_the_second_hydrogen_is_off_at_its_pk() -> None:
    assert acids.protons_per_mol(acids.ACIDS["phosphoric acid 85 %"], 7.2) == pytest.approx(1.5, abs=0.001)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ((-0.1, 7.0, 6.0), "-0.1 meq/L is not 0 or more"),
        ((float("nan"), 7.0, 6.0), "nan meq/L is not 0 or more"),
        ((2.0, 9.5, 6.0), "ph: 9.5 is not between 4 and 9"),
        ((2.0, 7.0, 3.9), "target_ph: 3.9 is not between 4 and 9"),
        ((2.0, 7.0, float("nan")), "target_ph: nan is not between"),
        ((2.0, 6.0, 7.0), "target_ph: 7.0 is above the present pH 6.0"),
        ((0.001, 9.0, 6.0), "less than hydroxide alone"),
    ],
)
def test_impossible_waters_are_refused(arguments: tuple[float, float, float], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        acid_need_meq_l(*arguments)


def test_a_target_above_where_the_open_water_goes_is_refused() -> None:
    with pytest.raises(ValueError, match="takes by itself in the open"):
        acid_need_meq_l(0.1, 9.0, 8.9, open_to_air=True)


@pytest.mark.parametrize("temperature_c", [-1.0, 61.0, float("nan")])
def test_temperature_out_of_range_is_refused(temperature_c: float) -> None:
    with pytest.raises(ValueError, match="temperature_c"):
        alkalinity.constants(temperature_c)


def test_other_refusals() -> None:
    with pytest.raises(ValueError, match="total_mmol_l"):
        ph_closed(1.0, -1.0)
    with pytest.raises(ValueError, match="no pH from 0 to 14"):
        ph_closed(1e6, 1.0)
    with pytest.raises(ValueError, match="co2_atm"):
        ph_open(1.0, co2_atm=0.0)
    with pytest.raises(ValueError, match="need_meq_l"):
        acids.acid_dose(acids.ACIDS["nitric acid 68 %"], -1.0, 6.0)
    with pytest.raises(ValueError, match="none of H3PO4"):
        acids.protons_per_mol(acids.Acid("HCl", 0.3, 1.15, "Cl"), 6.0)
