"""Conductivity and composition against published values; docs/conductivity.md against the model."""

from __future__ import annotations

from pathlib import Path

import pytest

from wetfoot.solution.conductivity import EC_ERROR_FRACTION, ec_at_25, ec_ms_cm
from wetfoot.solution.salts import (
    Composition,
    composition_mmol_l,
    elements_mg_l,
    equivalents_meq_l,
    load_salts,
)

# Equivalent conductance at 25 C in S cm2/eq by normality (eq/L), and the moles of ions in an equivalent.
# KCl: Standard Methods 2510 (73.9, 146.9, 717.5, 1412, 2765, 6667, 12 890 uS/cm). The others: handbook of
# chemistry as in the project handbook (solution.md section 3); NaCl, from the same table, is from memory.
# MgSO4: Kohlrausch's values at 18 C (from memory), times 133/114, the ratio of the limiting conductances at
# 25 and 18 C.
CONDUCTANCES: dict[str, tuple[Composition, dict[float, float]]] = {
    "KCl": (
        {"K": 1, "Cl": 1},
        {0.0005: 147.8, 0.001: 146.9, 0.005: 143.5, 0.01: 141.2, 0.02: 138.25, 0.05: 133.34, 0.1: 128.9},
    ),
    "NaCl": (
        {"Na": 1, "Cl": 1},
        {0.001: 123.68, 0.005: 120.59, 0.01: 118.45, 0.02: 115.70, 0.05: 111.01, 0.1: 106.69},
    ),
    "KNO3": ({"K": 1, "NO3": 1}, {0.001: 141.77, 0.005: 138.41, 0.02: 132.34, 0.05: 126.25, 0.1: 120.34}),
    "NH4Cl": ({"NH4": 1, "Cl": 1}, {0.01: 141.21, 0.1: 128.69}),
    "KHCO3": ({"K": 1, "HCO3": 1}, {0.001: 115.28, 0.01: 110.03}),
    "CaCl2": (
        {"Ca": 0.5, "Cl": 1},
        {0.001: 130.30, 0.005: 124.19, 0.01: 120.30, 0.02: 115.59, 0.05: 108.42, 0.1: 102.41},
    ),
    "MgCl2": (
        {"Mg": 0.5, "Cl": 1},
        {0.001: 124.15, 0.005: 118.25, 0.01: 114.49, 0.02: 109.99, 0.05: 103.03, 0.1: 97.05},
    ),
    "Na2SO4": (
        {"Na": 1, "SO4": 0.5},
        {0.001: 124.09, 0.005: 117.09, 0.01: 112.38, 0.02: 106.73, 0.05: 97.70, 0.1: 89.94},
    ),
    "MgSO4": (
        {"Mg": 0.5, "SO4": 0.5},
        {n: x * 133 / 114 for n, x in ((0.01, 76.2), (0.05, 56.9), (0.1, 49.7))},
    ),
}

# Project handbook, solution.md section 1, mmol/L.
FEEDS: dict[str, Composition] = {
    "Hoagland & Arnon 1950, no 1": {"K": 6, "Ca": 5, "Mg": 2, "NO3": 15, "H2PO4": 1, "SO4": 2},
    "Hoagland & Arnon 1950, no 2": {"K": 6, "Ca": 4, "Mg": 2, "NH4": 1, "NO3": 14, "H2PO4": 1, "SO4": 2},
    "Steiner 1984": {"K": 7, "Ca": 4.5, "Mg": 2, "NO3": 12, "H2PO4": 1, "SO4": 3.5},
}
PARTS = (1.0, 0.5, 0.25)


def diluted(feed: Composition, part: float) -> dict[str, float]:
    return {ion: mmol_l * part for ion, mmol_l in feed.items()}


def errors(salt: str, up_to_normal: float = 0.1) -> dict[float, float]:
    """Return the model's relative error by normality."""
    ions, table = CONDUCTANCES[salt]
    return {
        normal: ec_ms_cm({ion: n * normal * 1000 for ion, n in ions.items()}) / (normal * published) - 1
        for normal, published in table.items()
        if normal <= up_to_normal
    }


# Bounds asked of the model: goals for a first version, from the prototype errors in the project handbook.
@pytest.mark.parametrize(
    ("salt", "up_to_normal", "bound"),
    [
        ("KCl", 0.1, 0.005),
        ("NaCl", 0.02, 0.01),
        ("KNO3", 0.02, 0.01),
        ("NH4Cl", 0.1, 0.01),
        ("KHCO3", 0.01, 0.01),
        ("CaCl2", 0.05, 0.015),
        ("MgCl2", 0.05, 0.015),
        ("Na2SO4", 0.05, 0.045),
    ],
)
def test_single_salts(salt: str, up_to_normal: float, bound: float) -> None:
    found = errors(salt, up_to_normal)
    assert found
    assert max(map(abs, found.values())) <= bound, found


@pytest.mark.parametrize("salt", [salt for salt in CONDUCTANCES if salt != "MgSO4"])
def test_no_salt_but_magnesium_sulfate_leaves_the_stated_band(salt: str) -> None:
    assert max(map(abs, errors(salt).values())) <= EC_ERROR_FRACTION


@pytest.mark.xfail(strict=True, reason="sulfate pairs are overdone: known, see docs/conductivity.md")
@pytest.mark.parametrize("salt", ["Na2SO4", "MgSO4"])
def test_sulfates_within_two_percent(salt: str) -> None:
    assert max(map(abs, errors(salt, 0.05).values())) <= 0.02


@pytest.mark.parametrize(
    ("feed", "predicted"),
    [
        ("Hoagland & Arnon 1950, no 1", (2.14, 1.13, 0.59)),
        ("Hoagland & Arnon 1950, no 2", (2.07, 1.09, 0.57)),
        ("Steiner 1984", (2.08, 1.11, 0.585)),
    ],
)
def test_standard_solutions_as_the_prototype_has_them(feed: str, predicted: tuple[float, ...]) -> None:
    # Project handbook section 1: another implementation of the same model, to 2 decimals; not a measurement.
    found = [ec_ms_cm(diluted(FEEDS[feed], part)) for part in PARTS]
    assert found == pytest.approx(predicted, rel=0.007)


@pytest.mark.parametrize("part", PARTS)
@pytest.mark.parametrize("feed", FEEDS)
def test_rule_of_thumb_ec_is_a_tenth_of_cation_equivalents(feed: str, part: float) -> None:
    # Trade rule; exact ratio 1.04-1.20 in the project handbook.
    solution = diluted(FEEDS[feed], part)
    assert 1.04 <= ec_ms_cm(solution) / equivalents_meq_l(solution) * 10 <= 1.20


@pytest.mark.parametrize("part", [1.0, 0.5])
@pytest.mark.parametrize("feed", FEEDS)
def test_regression_on_measured_feeds(feed: str, part: float) -> None:
    # EC = 0.095 (sum of cations, meq/L) + 0.19, fitted to measured solutions: Sonneveld & Voogt (2009), Plant
    # Nutrition of Greenhouse Crops (from memory; a rounded regression, so held to the stated band only).
    solution = diluted(FEEDS[feed], part)
    regression = 0.095 * equivalents_meq_l(solution) + 0.19
    assert ec_ms_cm(solution) == pytest.approx(regression, rel=EC_ERROR_FRACTION)


@pytest.mark.parametrize(
    ("temperature_c", "us_cm"),
    [(10, 1013.95), (15, 1141.45), (18, 1219.93), (20, 1273.03), (25, 1408.23), (30, 1546.63), (35, 1687.79)],
)
def test_temperature_of_the_kcl_standard(temperature_c: float, us_cm: float) -> None:
    # KCl 0.01 mol/kg: Wu, Koch & Pratt (1991), J. Res. NIST 96:191, as printed in the handbook of chemistry.
    assert ec_at_25(us_cm, temperature_c) == pytest.approx(1408.23, rel=0.01)


def test_elements_of_hoagland_number_one() -> None:
    # Hoagland & Arnon (1950): N 210, P 31, K 235, Ca 200, Mg 48.6, S 64 mg/L from these salts in mmol/L.
    recipe = {
        "monopotassium phosphate": 1,
        "potassium nitrate": 5,
        "calcium nitrate tetrahydrate": 5,
        "magnesium sulfate heptahydrate": 2,
    }
    grams = {name: mmol * load_salts()[name].molar_mass_g_mol / 1000 for name, mmol in recipe.items()}
    solution = composition_mmol_l(grams)
    assert solution == pytest.approx(FEEDS["Hoagland & Arnon 1950, no 1"])
    mg_l = elements_mg_l(solution)
    for element, published in {"N": 210, "P": 31, "K": 235, "Ca": 200, "Mg": 48.6, "S": 64}.items():
        assert mg_l[element] == pytest.approx(published, abs=0.5), element


def test_micronutrients_of_hoagland() -> None:
    # Hoagland & Arnon (1950), g/L of the micronutrient stock, 1 mL of it to a litre (from memory): boric acid
    # 2.86, zinc sulfate 0.22, copper sulfate 0.08; levels B .5, Zn .05, Cu .02 mg/L in the project handbook.
    salts = {
        "boric acid": 2.86e-3,
        "zinc sulfate heptahydrate": 0.22e-3,
        "copper sulfate pentahydrate": 0.08e-3,
    }
    mg_l = elements_mg_l(composition_mmol_l(salts))
    assert (mg_l["B"], mg_l["Zn"], mg_l["Cu"]) == pytest.approx((0.5, 0.05, 0.02), abs=0.001)


def salts_table() -> str:
    rows = []
    for salt in CONDUCTANCES:
        found = errors(salt)
        normals, percents = (f"{n:g}" for n in found), (f"{e:+.1%}" for e in found.values())
        rows.append(f"| {salt} | {', '.join(normals)} | {', '.join(percents)} |")
    return "\n".join(rows)


def feeds_table() -> str:
    rows = []
    for name, feed in FEEDS.items():
        found = " | ".join(f"{ec_ms_cm(diluted(feed, part)):.2f}" for part in PARTS)
        rows.append(f"| {name} | {equivalents_meq_l(feed):g} | {found} |")
    return "\n".join(rows)


def test_the_documented_tables_are_what_the_model_gives() -> None:
    text = (Path(__file__).parents[2] / "docs" / "conductivity.md").read_text("utf-8")
    assert salts_table() in text
    assert feeds_table() in text
