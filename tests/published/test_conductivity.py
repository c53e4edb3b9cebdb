"""Conductivity and composition against published values; docs/conductivity.md against the model."""

from __future__ import annotations

import importlib.util
from pathlib import Path
from typing import Any

import pytest
from scipy import constants
from scipy.optimize import brentq

from wetfoot.solution import conductivity
from wetfoot.solution.conductivity import EC_ERROR_FRACTION, ec_at_25, ec_ms_cm
from wetfoot.solution.salts import composition_mmol_l, elements_mg_l, equivalents_meq_l, load_salts, load_species

DOCS = Path(__file__).parents[2] / "docs"


def _script() -> Any:
    spec = importlib.util.spec_from_file_location("make_conductivity", DOCS / "make_conductivity.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


TABLES = _script()
# Sources, salt by salt, in docs/conductances.toml: Standard Methods 2510, handbook of chemistry, McCleskey, Kohlrausch.
SALTS: dict[str, dict[str, Any]] = {salt["name"]: salt for salt in TABLES.PUBLISHED["salt"]}
FEEDS, PARTS, diluted = TABLES.FEEDS, TABLES.PARTS, TABLES.diluted


def errors(salt: str, up_to_normal: float = 0.05) -> dict[float, float]:
    """Return the model's relative error by normality."""
    rows = SALTS[salt]["rows"]
    return {n: TABLES.computed(SALTS[salt], n) / published - 1 for n, published in rows if n <= up_to_normal}


@pytest.mark.parametrize(
    "salt",
    [
        pytest.param(
            name, marks=[pytest.mark.xfail(strict=True, reason="up to +5 % at 0.05 eq/L with the critical constant")]
        )
        if name == "CuSO4"
        else name
        for name in SALTS
    ],
)
def test_single_salts_within_two_percent(salt: str) -> None:
    found = errors(salt)
    assert found
    assert max(map(abs, found.values())) <= 0.02, found


@pytest.mark.parametrize("salt", ["KCl", "NaCl", "KNO3", "NH4Cl", "KHCO3", "CaCl2", "MgCl2"])
def test_chlorides_and_nitrates_within_one_percent_to_a_tenth_normal(salt: str) -> None:
    # The bounds that the first version of this model met up to 0.02-0.05 eq/L.
    assert max(map(abs, errors(salt, 0.1).values())) <= 0.01


def sea_water_mmol_l(salinity: float) -> dict[str, float]:
    """Return sea water of the reference composition, diluted; strontium as calcium, bromide as chloride.

    Millero et al. (2008), Deep-Sea Res. I 55:50: mole fractions, 35.16504 g/kg at practical salinity 35, mean molar
    mass 31.4038 g/mol (from memory). Density: fresh water at 25 C and 0.755 kg/m3 for each g/kg (EOS-80, rounded).
    """
    fractions = {
        "Na": 0.4188071,
        "Mg": 0.0471678,
        "Ca": 0.0092633,
        "K": 0.0091159,
        "Cl": 0.4882359,
        "SO4": 0.0252152,
        "HCO3": 0.0015340,
        "CO3": 0.0002134,
    }
    mol_kg = salinity * 35.16504 / 35.0 / 31.4038
    kg_l = 0.99705 + 0.000755 * salinity
    return {ion: x * mol_kg * kg_l * 1000.0 for ion, x in fractions.items()}


def practical_salinity(ratio: float, t68: float, dbar: float = 0.0) -> float:
    """Return practical salinity from conductivity over 42.914 mS/cm: UNESCO Technical Papers 44 (1983), PSS-78."""
    a = (0.0080, -0.1692, 25.3851, 14.0941, -7.0261, 2.7081)
    b = (0.0005, -0.0056, -0.0066, -0.0375, 0.0636, -0.0144)
    c = (0.6766097, 2.00564e-2, 1.104259e-4, -6.9698e-7, 1.0031e-9)
    squeeze = dbar * (2.070e-5 - 6.370e-10 * dbar + 3.989e-15 * dbar**2)
    pressed = 1.0 + squeeze / (1.0 + 3.426e-2 * t68 + 4.464e-4 * t68**2 + (4.215e-1 - 3.107e-3 * t68) * ratio)
    root = (ratio / pressed / sum(x * t68**i for i, x in enumerate(c))) ** 0.5
    warm = (t68 - 15.0) / (1.0 + 0.0162 * (t68 - 15.0))
    return float(sum(x * root**i for i, x in enumerate(a)) + warm * sum(x * root**i for i, x in enumerate(b)))


def test_practical_salinity_is_coded_right() -> None:
    # UNESCO Technical Papers 44, check values of ratio, temperature and pressure (from memory).
    assert practical_salinity(1.0, 15.0) == pytest.approx(35.0, abs=1e-5)
    assert practical_salinity(1.2, 20.0, 2000.0) == pytest.approx(37.245628, abs=1e-5)
    assert practical_salinity(0.65, 5.0, 1500.0) == pytest.approx(27.995347, abs=1e-5)


@pytest.mark.parametrize("salinity", [2, 3, 4, 6, 8, 10])
def test_diluted_sea_water_a_mixture_nothing_was_fitted_to(salinity: float) -> None:
    published = 42.914 * brentq(lambda ratio: practical_salinity(ratio, 25.0 * 1.00024) - salinity, 1e-3, 2.0)
    assert ec_ms_cm(sea_water_mmol_l(salinity)) == pytest.approx(published, rel=0.01)


def test_constants_of_water() -> None:
    # CODATA through scipy; permittivity 78.36 and viscosity 0.8903 mPa s of water at 25 C: Robinson & Stokes (1959).
    charge, avogadro, permittivity = constants.e, constants.N_A, constants.epsilon_0 * 78.36
    energy = constants.k * 298.15
    kappa = (2000.0 * avogadro * charge**2 / (permittivity * energy)) ** 0.5  # 1/m at 1 mol/L
    relaxation = charge**2 * kappa / (12.0 * constants.pi * permittivity * energy)
    electrophoresis = charge * avogadro * charge * kappa / (6.0 * constants.pi * 0.8903e-3) * 1e4
    found = (conductivity._ATMOSPHERE, conductivity._RELAXATION, conductivity._ELECTROPHORESIS)
    assert found == pytest.approx((kappa * 1e-10, relaxation, electrophoresis), rel=2e-4)


def test_dihydrogen_phosphate_conducts_as_it_diffuses() -> None:
    # Limiting diffusion coefficient (0.87 +/- 0.01)e-9 m2/s: Diffusion in dilute aqueous solutions of phosphoric acid,
    # J. Chem. Soc. Faraday Trans. 1 (1984), abstract; lambda0 = D F2 / RT (Nernst and Einstein).
    faraday = constants.e * constants.N_A
    published, spread = (d * faraday**2 / (constants.R * 298.15) * 1e4 for d in (0.87e-9, 0.01e-9))
    found = load_species()["H2PO4"].molar_conductivity_s_cm2_mol
    assert abs(found - published) <= spread


@pytest.mark.parametrize(
    ("feed", "predicted"),
    [
        ("Hoagland & Arnon 1950, no 1", (2.14, 1.13, 0.59)),
        ("Hoagland & Arnon 1950, no 2", (2.07, 1.09, 0.57)),
        ("Steiner 1984", (2.08, 1.11, 0.585)),
    ],
)
def test_standard_solutions_near_an_independent_model(feed: str, predicted: tuple[float, ...]) -> None:
    # Project handbook section 1: another model (Appelo 2010), not a measurement, known to be low on sulfates.
    found = [ec_ms_cm(diluted(FEEDS[feed], part)) for part in PARTS]
    assert found == pytest.approx(predicted, rel=0.02)


@pytest.mark.parametrize("part", PARTS)
@pytest.mark.parametrize("feed", FEEDS)
def test_rule_of_thumb_ec_is_a_tenth_of_cation_equivalents(feed: str, part: float) -> None:
    # Trade rule; ratio 1.04-1.20 in the project handbook from a model that is 1 % lower.
    solution = diluted(FEEDS[feed], part)
    assert 1.04 <= ec_ms_cm(solution) / equivalents_meq_l(solution) * 10 <= 1.20 * 1.01


@pytest.mark.parametrize("part", [1.0, 0.5])
@pytest.mark.parametrize("feed", FEEDS)
def test_regression_on_measured_feeds(feed: str, part: float) -> None:
    # EC = 0.095 (sum of cations, meq/L) + 0.19, fitted to measured solutions: Sonneveld & Voogt (2009), Plant
    # Nutrition of Greenhouse Crops (from memory; a rounded regression over many feeds, so held to 5 % only).
    solution = diluted(FEEDS[feed], part)
    regression = 0.095 * equivalents_meq_l(solution) + 0.19
    assert ec_ms_cm(solution) == pytest.approx(regression, rel=0.05)


def test_no_salt_but_copper_sulfate_leaves_the_stated_band() -> None:
    worst = {salt: max(map(abs, errors(salt, 0.1).values())) for salt in SALTS}
    assert [salt for salt, error in worst.items() if error > EC_ERROR_FRACTION] == ["CuSO4"]


@pytest.mark.parametrize("salt", TABLES.PUBLISHED["temperature"])
def test_linear_compensation_against_measured_salts(salt: str) -> None:
    # McCleskey (2011), J. Chem. Eng. Data 56:317. ISO 7888 calls the linear form fit for natural waters only.
    bound = 0.03 if salt == "Na2SO4" else 0.02
    assert max(abs(TABLES.linear_error(salt, t)) for t in TABLES.TEMPERATURES_C) <= bound


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


def test_the_documented_tables_are_what_the_model_gives() -> None:
    assert (DOCS / "conductivity.md").read_text("utf-8") == TABLES.page(), "run python docs/make_conductivity.py"
