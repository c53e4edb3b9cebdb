"""Ion pairs and conductivity: laws that hold whatever the numbers."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetfoot.solution import conductivity as c
from wetfoot.solution import speciation as sp
from wetfoot.solution.salts import Composition, load_species

IONS = ("Ca", "Mg", "Mn", "Zn", "Cu", "K", "Na", "NH4", "NO3", "SO4", "H2PO4", "HPO4", "HCO3", "Cl")
SHARES = st.fixed_dictionaries({ion: st.floats(0.0, 1.0) for ion in IONS}).filter(
    lambda shares: sum(shares.values()) > 1e-6
)
STRENGTH = st.floats(1e-6, 0.999 * sp.IONIC_STRENGTH_LIMIT_MOL_L)


def water(shares: Composition, strength_mol_l: float) -> dict[str, float]:
    """Return a composition of this ionic strength before pairing, neutral or not."""
    own = sp.ionic_strength_mol_l(shares)
    return {ion: x * strength_mol_l / own for ion, x in shares.items()}


@given(SHARES, STRENGTH)
def test_pairs_obey_mass_balance_and_mass_action(shares: dict[str, float], strength: float) -> None:
    total = water(shares, strength)
    free, pairs, ionic_strength = sp.speciate(total)
    for ion, mmol_l in total.items():
        held = free[ion] + sum(m for pair, m in pairs.items() if ion in pair)
        assert held == pytest.approx(mmol_l, rel=1e-10, abs=1e-15)
    species = load_species()
    for cation, anion, log_k in sp.PAIRS:
        if free[cation] < 1e-6 or free[anion] < 1e-6:
            continue
        charges = (species[cation].charge, species[anion].charge)
        g_cation, g_anion = (sp.activity_coefficient(z, ionic_strength) for z in charges)
        activity = pairs[cation, anion] * sp.activity_coefficient(sum(charges), ionic_strength)
        product = free[cation] * g_cation * free[anion] * g_anion / 1000.0
        assert activity / product == pytest.approx(10.0**log_k, rel=1e-9)


@given(SHARES, STRENGTH)
def test_pairing_keeps_charge(shares: dict[str, float], strength: float) -> None:
    total = water(shares, strength)
    free, pairs, _ = sp.speciate(total)
    species = load_species()
    before = sum(mmol_l * species[ion].charge for ion, mmol_l in total.items())
    after = sum(mmol_l * species[ion].charge for ion, mmol_l in free.items())
    after += sum(mmol_l * (species[a].charge + species[b].charge) for (a, b), mmol_l in pairs.items())
    scale = sum(mmol_l * abs(species[ion].charge) for ion, mmol_l in total.items())
    assert abs(after - before) <= 1e-9 * scale


@given(SHARES, STRENGTH)
def test_ionic_strength_is_that_of_free_ions_and_pairs(shares: dict[str, float], strength: float) -> None:
    free, pairs, found = sp.speciate(water(shares, strength))
    species = load_species()
    terms = [m * species[ion].charge ** 2 for ion, m in free.items()]
    terms += [m * (species[a].charge + species[b].charge) ** 2 for (a, b), m in pairs.items()]
    assert found == pytest.approx(sum(terms) / 2000.0, rel=1e-12)


@given(SHARES, st.floats(1e-5, 1.9), st.floats(1.001, 1.05))
def test_ec_rises_with_strength(shares: dict[str, float], strength: float, more: float) -> None:
    assert c.ec_ms_cm(water(shares, strength * more)) > c.ec_ms_cm(water(shares, strength))


@pytest.mark.parametrize(
    ("charges", "equivalent"), [((1, -1), (50.1, 76.3)), ((2, -1), (59.5, 71.4)), ((1, -2), (73.5, 80.0))]
)
def test_relaxation_of_a_single_salt_is_onsagers(charges: tuple[int, int], equivalent: tuple[float, float]) -> None:
    # Onsager (1927), Phys. Z. 28:277: |z1 z2| q / (1 + sqrt q) in a salt of two ions, as in Robinson & Stokes (1959).
    first, second = (abs(z) for z in charges)
    q = first * second * sum(equivalent) / ((first + second) * (second * equivalent[0] + first * equivalent[1]))
    strengths = np.array([first, second], float)  # c z2 of a neutral salt
    limits = np.array(equivalent) * [first, second]
    found = c.relaxation_numbers(strengths, np.array(charges, float), limits)
    assert found == pytest.approx([first * second * q / (1.0 + q**0.5)] * 2, rel=1e-12)


def test_an_ion_named_twice_conducts_the_same() -> None:
    amounts, charges = np.array([5.0, 2.0, 9.0]), np.array([2.0, 1.0, -1.0])
    limits = np.array([118.94, 73.48, 71.42])
    once = c.molar_conductivities_s_cm2_mol(amounts, charges, limits)
    split = [0, 1, 2, 2]
    twice = c.molar_conductivities_s_cm2_mol(amounts[split] * [1, 1, 0.3, 0.7], charges[split], limits[split])
    assert twice == pytest.approx(once[split], rel=1e-12)


@pytest.mark.parametrize("salt", [{"Mg": 500, "SO4": 500}, {"Ca": 500, "HPO4": 500}, {"K": 500, "Cl": 500}])
def test_half_a_mole_of_the_most_paired_salts_settles(salt: dict[str, float]) -> None:
    free, pairs, _ = sp.speciate(salt)
    assert all(0 < mmol_l <= 500 for mmol_l in free.values())
    assert sum(free.values()) + 2 * sum(pairs.values()) == pytest.approx(1000, rel=1e-10)


def test_not_settling_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sp, "_MOST_ROUNDS", 3)
    with pytest.raises(ValueError, match="do not settle in 3 rounds"):
        c.ec_ms_cm({"Mg": 100.0, "SO4": 100.0})


@pytest.mark.parametrize(
    ("composition", "message"),
    [
        ({"K": -1.0, "Cl": 1.0}, "-1.0 mmol/L of K"),
        ({"K": float("nan")}, "nan mmol/L of K"),
        ({"Xx": 1.0}, "no species is called 'Xx'"),
        ({"Ca": 1000.0, "NO3": 2000.0}, "concentrate"),
    ],
)
def test_impossible_compositions_are_refused(composition: dict[str, float], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        c.ec_ms_cm(composition)


def test_pure_water_and_urea_do_not_conduct() -> None:
    assert c.ec_ms_cm({}) == 0
    assert c.ec_ms_cm({"urea": 20.0, "B(OH)3": 1.0}) == 0


def test_infinite_dilution_is_the_sum_of_limiting_conductivities() -> None:
    # Kohlrausch's law of independent migration, with the handbook's limiting values.
    assert c.ec_ms_cm({"Ca": 1e-7, "NO3": 2e-7}) * 1e3 / 1e-7 == pytest.approx(118.94 + 2 * 71.42, rel=1e-3)


@given(st.floats(0.1, 5.0), st.floats(0.0, 60.0))
def test_temperature_goes_there_and_back(ec_25: float, temperature_c: float) -> None:
    feed = {"K": 10 * ec_25, "NO3": 10 * ec_25}
    assert c.ec_at_25(c.ec_ms_cm(feed, temperature_c), temperature_c) == pytest.approx(c.ec_ms_cm(feed))


@pytest.mark.parametrize("temperature_c", [-1.0, 61.0, float("nan")])
def test_temperature_out_of_range_is_refused(temperature_c: float) -> None:
    with pytest.raises(ValueError, match="temperature_c"):
        c.ec_at_25(1.0, temperature_c)
