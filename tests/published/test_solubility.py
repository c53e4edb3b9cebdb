"""Activities and solubilities against published measurements; the source of each figure stands beside it."""

from __future__ import annotations

import math

import pytest

from wetfoot.solution.forms import state_of_molality
from wetfoot.solution.pitzer import activities
from wetfoot.solution.salts import load_salts, molar_mass_g_mol
from wetfoot.solution.saturation import (
    SALT_MARGIN,
    dissolves_g_l,
    indices,
    ph_limit,
    saturation,
    saturation_index,
    solids,
)
from wetfoot.solution.solubility import saturated_mol_kg, solubility_g_100g

CASO4 = molar_mass_g_mol("CaSO4") / molar_mass_g_mol("CaSO4.2H2O")


# Mean activity coefficients at 25 C: Robinson & Stokes (1959), Electrolyte Solutions, appendix 8.10 (from memory).
@pytest.mark.parametrize(
    ("cation", "anion", "molality", "gamma", "within"),
    [
        ("Na", "Cl", 1.0, 0.657, 0.01),
        ("Na", "Cl", 6.0, 0.986, 0.01),
        ("K", "NO3", 1.0, 0.443, 0.02),
        ("K", "NO3", 3.0, 0.269, 0.02),
        ("Ca", "Cl", 1.0, 0.500, 0.01),
        ("Ca", "NO3", 1.0, 0.338, 0.02),
        ("K", "H2PO4", 1.0, 0.421, 0.02),
        ("NH4", "SO4", 1.0, 0.189, 0.02),
    ],
)
def test_activity_coefficients(cation: str, anion: str, molality: float, gamma: float, within: float) -> None:
    charge = {"Ca": 2, "SO4": 2}
    n_anion, n_cation = charge.get(cation, 1), charge.get(anion, 1)
    found = activities({cation: n_cation * molality, anion: n_anion * molality}).coefficient
    mean = (found[cation] ** n_cation * found[anion] ** n_anion) ** (1.0 / (n_cation + n_anion))
    assert mean == pytest.approx(gamma, rel=within)


def test_activity_of_water_in_sodium_chloride() -> None:
    # Robinson & Stokes (1959), appendix 8.4 (from memory): 6 mol/kg NaCl 0.7598.
    assert activities({"Na": 6.0, "Cl": 6.0}).water == pytest.approx(0.7598, abs=0.001)


def test_gypsum_in_pure_water() -> None:
    # Lebedev & Kosorukov (2017), Geochemistry International 55:205: published estimates at 25 C are 0.0147 to 0.0182
    # mol/L. The project handbook asks for 2.0-2.6 g/L; its upper end is 0.0151 mol/L.
    grams = dissolves_g_l("gypsum", {})
    assert 0.0147 <= grams / molar_mass_g_mol("CaSO4.2H2O") <= 0.0182
    assert 2.0 <= round(grams, 1) <= 2.6


# Marshall & Slusher (1966), J. Phys. Chem. 70:4015, 25 C, mol/kg in NaCl (from memory, to about 3 %).
@pytest.mark.parametrize(("sodium", "dissolved"), [(1.0, 0.0445), (3.0, 0.0555), (5.0, 0.0480)])
def test_gypsum_in_sodium_chloride(sodium: float, dissolved: float) -> None:
    at = state_of_molality({"Na": sodium, "Cl": sodium, "Ca": dissolved, "SO4": dissolved}, 25.0, None)
    error = saturation_index(solids()["gypsum"], at, 25.0)
    assert error == pytest.approx(0.0, abs=2 * math.log10(1.05))  # 5 % of solubility


# Sullivan (1905), J. Am. Chem. Soc. 27:529, 25 C: g/L (NH4)2SO4, g/L CaSO4 (from memory).
@pytest.mark.parametrize(
    ("ammonium_sulfate", "caso4", "low", "high"),
    [
        (6.575, 1.44, 0.9, 1.1),
        (13.15, 1.46, 0.9, 1.1),
        (26.3, 1.62, 0.9, 1.1),
        (84.9, 2.33, 0.8, 1.0),
        (169.8, 3.33, 0.65, 1.0),
    ],
)
def test_gypsum_in_ammonium_sulfate(ammonium_sulfate: float, caso4: float, low: float, high: float) -> None:
    mmol = 1000.0 * ammonium_sulfate / molar_mass_g_mol("(NH4)2SO4")
    ratio = dissolves_g_l("gypsum", {"NH4": 2 * mmol, "SO4": mmol}) * CASO4 / caso4
    assert low <= ratio <= high  # where it errs, in strong solutions, it errs to the safe side


# IUPAC-NIST Solubility Data Series 66 (srdata entry 66_141, Bergman & Bochkarev), 0 C: mass % of NH4H2PO4, KNO3, water
# where crystals of the solids named stand in the solution (A phosphate, B nitrate).
@pytest.mark.parametrize(
    ("phosphate", "nitrate", "water", "stand"),
    [
        (17.2, 5.0, 77.8, "A"),
        (15.8, 8.4, 75.8, "A"),
        (13.7, 11.6, 74.7, "AB"),
        (11.6, 11.5, 76.9, "B"),
        (5.4, 11.4, 83.2, "B"),
    ],
)
def test_saturated_mixtures_are_called_saturated(phosphate: float, nitrate: float, water: float, stand: str) -> None:
    ammonium = 1000.0 * phosphate / molar_mass_g_mol("NH4H2PO4") / water
    potassium = 1000.0 * nitrate / molar_mass_g_mol("KNO3") / water
    at = state_of_molality({"NH4": ammonium, "H2PO4": ammonium, "K": potassium, "NO3": potassium}, 0.0, None)
    found = indices(at, 0.0)
    for letter, solid in (("A", "monoammonium phosphate"), ("B", "potassium nitrate")):
        if letter in stand:
            assert -SALT_MARGIN < found[solid][0] < 0.15


# Single salts at 20 C: project handbook, solution.md section 2; potassium nitrate there at 0, 10 and 30 C as well.
@pytest.mark.parametrize(
    ("name", "at_c", "grams"),
    [
        ("potassium nitrate", 0.0, 13.3), ("potassium nitrate", 10.0, 20.9), ("potassium nitrate", 20.0, 31.6),
        ("potassium nitrate", 30.0, 45.8), ("monopotassium phosphate", 20.0, 22.6), ("potassium sulfate", 20.0, 11.1),
        ("magnesium sulfate heptahydrate", 20.0, 33.7), ("monoammonium phosphate", 20.0, 37.4),
        ("ammonium nitrate", 20.0, 192.0), ("ammonium sulfate", 20.0, 75.4), ("potassium chloride", 20.0, 34.2),
        ("boric acid", 20.0, 4.7), ("calcium nitrate tetrahydrate", 20.0, 129.0),
    ],
)  # fmt: skip
def test_solubilities_of_the_handbook(name: str, at_c: float, grams: float) -> None:
    assert solubility_g_100g(load_salts()[name], at_c) == pytest.approx(grams, rel=0.005)


# A second table: 0, 20, 40 C of a reagent supplier's solubility chart of compounds in water by temperature.
@pytest.mark.parametrize(("at_c", "grams"), [(0.0, 22.7), (20.0, 36.8), (40.0, 56.7)])
def test_ammonium_phosphate_against_a_second_table(at_c: float, grams: float) -> None:
    assert solubility_g_100g(load_salts()["monoammonium phosphate"], at_c) == pytest.approx(grams, rel=0.02)


def test_a_saturated_salt_is_at_index_zero() -> None:
    for name in ("potassium nitrate", "potassium sulfate", "magnesium sulfate heptahydrate"):
        salt = load_salts()[name]
        molality = {ion: n * saturated_mol_kg(salt, 5.0) for ion, n in salt.releases.items()}
        at = activities(molality, 5.0)
        product = sum(n * math.log10(molality[i] * at.coefficient[i]) for i, n in salt.releases.items())
        assert product + salt.water * math.log10(at.water) == pytest.approx(solids()[name].log_product(5.0), abs=1e-9)


# Constants at 25 C: project handbook section 4 (gypsum, calcium hydrogen phosphate, struvite); calcite -8.48 of Plummer
# & Busenberg (1982) and hydroxyapatite -58.5 of McDowell et al. (1977), from memory.
@pytest.mark.parametrize(
    ("name", "log_k"),
    [("gypsum", -4.58), ("calcium hydrogen phosphate", -6.6), ("struvite", -13.26), ("calcium carbonate", -8.48),
     ("hydroxyapatite", -58.5)],
)  # fmt: skip
def test_solubility_products(name: str, log_k: float) -> None:
    assert solids()[name].log_product(25.0) == pytest.approx(log_k, abs=0.03)


def test_phosphate_of_a_full_feed_holds_to_about_ph_six_and_a_half() -> None:
    # Common practice, no source: feeds are kept below pH 6.5, above which calcium phosphate clouds them.
    no_1 = {"K": 6.0, "Ca": 5.0, "Mg": 2.0, "NO3": 15.0, "H2PO4": 1.0, "SO4": 2.0}
    limit = ph_limit(no_1)
    assert 6.2 <= limit <= 7.0
    rows = {row.solid: row.saturation_index for row in saturation(no_1, 25.0, limit)}
    assert rows["calcium hydrogen phosphate"] == pytest.approx(0.0, abs=1e-3)


# pH of 0.05 mol/kg KH2PO4 + Na2HPO4 0.025 each is the standard buffer 6.865 at 25 C (DIN 19266, IUPAC 2002).
def test_phosphate_buffer() -> None:
    at = state_of_molality({"K": 0.025, "Na": 0.05, "H2PO4": 0.025, "HPO4": 0.025}, 25.0, None)
    assert at.ph == pytest.approx(6.865, abs=0.03)
