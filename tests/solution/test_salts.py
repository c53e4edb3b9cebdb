"""Salts: their formulas add up, their composition is neutral, and mixing loses nothing."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetfoot.solution import salts as s

GRAMS = st.dictionaries(st.sampled_from(sorted(s.load_salts())), st.floats(0.0, 200.0), max_size=6)
LITRES = st.floats(0.01, 1000.0)


@pytest.mark.parametrize("salt", s.load_salts().values(), ids=lambda salt: salt.name)
def test_released_species_and_water_are_the_whole_formula(salt: s.Salt) -> None:
    parts = sum(n * s.load_species()[name].molar_mass_g_mol for name, n in salt.releases.items())
    assert parts + salt.water * s.molar_mass_g_mol("H2O") == pytest.approx(salt.molar_mass_g_mol, rel=1e-9)


@pytest.mark.parametrize("salt", s.load_salts().values(), ids=lambda salt: salt.name)
def test_salt_is_neutral_and_no_purer_than_pure(salt: s.Salt) -> None:
    assert s.net_charge_meq_l(salt.releases) == pytest.approx(0.0, abs=1e-12)
    assert 0 < salt.purity <= 1


# Molar masses as reagent catalogues print them (common knowledge; CIAAW weights move the last digit).
@pytest.mark.parametrize(
    ("name", "grams"),
    [
        ("calcium nitrate tetrahydrate", 236.15),
        ("potassium nitrate", 101.10),
        ("monopotassium phosphate", 136.09),
        ("magnesium sulfate heptahydrate", 246.47),
        ("potassium sulfate", 174.26),
        ("monoammonium phosphate", 115.03),
        ("boric acid", 61.83),
        ("borax", 381.37),
        ("copper sulfate pentahydrate", 249.69),
        ("sodium molybdate dihydrate", 241.95),
    ],
)
def test_molar_masses_are_the_well_known_ones(name: str, grams: float) -> None:
    assert s.load_salts()[name].molar_mass_g_mol == pytest.approx(grams, abs=0.02)


def test_oxide_factors_of_fertiliser_labels() -> None:
    # Project handbook, solution.md section 2: P = .4364 P2O5, K = .8301 K2O.
    m = s.molar_mass_g_mol
    assert 2 * m("P") / m("P2O5") == pytest.approx(0.4364, abs=5e-5)
    assert 2 * m("K") / m("K2O") == pytest.approx(0.8301, abs=5e-5)


def test_horticultural_calcium_nitrate_against_its_label() -> None:
    # Handbook section 2: 15.5 % N, of which 1.1 % as ammonium, and 19 % Ca: the label is what is weighed.
    mg = s.elements_mg_l(s.composition_mmol_l({"horticultural calcium nitrate": 1.0}))
    assert mg["N"] / 10 == pytest.approx(15.5, abs=0.05)
    assert mg["NH4-N"] / 10 == pytest.approx(1.1, abs=0.05)
    assert mg["Ca"] / 10 == pytest.approx(19.0, abs=0.05)


_IRON_GRADES = (
    ("iron EDTA 13 %", 13),
    ("iron DTPA 11 %", 11),
    ("iron DTPA 7 %", 7),
    ("iron DTPA 6 %", 6),
    ("iron EDDHA 6 %", 6),
)


def test_chelates_hold_the_iron_of_their_label() -> None:
    for name, percent in _IRON_GRADES:
        assert s.elements_mg_l(s.composition_mmol_l({name: 1.0}))["Fe"] == pytest.approx(10.0 * percent)


def test_nitrogen_is_told_apart_by_form() -> None:
    mg = s.elements_mg_l(s.composition_mmol_l({"ammonium nitrate": 1.0, "urea": 1.0}))
    # Ammonium nitrate 35 % N, half of it in each form; urea 46.6 % N (common practice: sold as 34.5 and 46).
    assert mg["NH4-N"] == mg["NO3-N"] == pytest.approx(175.0, abs=0.5)
    assert mg["urea-N"] == pytest.approx(466.0, abs=0.5)
    assert mg["N"] == pytest.approx(mg["NH4-N"] + mg["NO3-N"] + mg["urea-N"])


def test_unknown_salts_are_all_named_with_near_matches() -> None:
    with pytest.raises(ValueError, match=r"'potasium nitrate'.*near: potassium nitrate.*'xyzzy'"):
        s.composition_mmol_l({"potasium nitrate": 1.0, "xyzzy": 1.0})


@pytest.mark.parametrize("grams", [-1.0, float("nan"), float("inf")])
def test_impossible_amounts_are_refused(grams: float) -> None:
    with pytest.raises(ValueError, match="urea is not an amount"):
        s.composition_mmol_l({"urea": grams})


@pytest.mark.parametrize("volumes", [(0.0, 0.0), (-1.0, 2.0)])
def test_impossible_volumes_are_refused(volumes: tuple[float, float]) -> None:
    with pytest.raises(ValueError, match="volumes"):
        s.mix([(volume, {"K": 1.0}) for volume in volumes])


@given(GRAMS)
def test_every_composition_is_neutral(grams: dict[str, float]) -> None:
    composition = s.composition_mmol_l(grams)
    assert abs(s.net_charge_meq_l(composition)) <= 1e-9 * (1 + s.equivalents_meq_l(composition))


@given(GRAMS, GRAMS, LITRES, LITRES)
def test_mixing_keeps_every_species_and_element(
    one: dict[str, float], two: dict[str, float], litres_one: float, litres_two: float
) -> None:
    a, b = s.composition_mmol_l(one), s.composition_mmol_l(two)
    mixed = s.mix([(litres_one, a), (litres_two, b)])
    for name in {*a, *b}:
        before = litres_one * a.get(name, 0.0) + litres_two * b.get(name, 0.0)
        assert mixed[name] * (litres_one + litres_two) == pytest.approx(before, rel=1e-12)
    element = {e: litres_one * s.elements_mg_l(a)[e] + litres_two * s.elements_mg_l(b)[e] for e in s.ELEMENTS}
    after = {e: x * (litres_one + litres_two) for e, x in s.elements_mg_l(mixed).items() if e in s.ELEMENTS}
    assert after == pytest.approx(element, rel=1e-9)
