"""Products by label: what is printed is what is weighed, charges balance, and what is assumed is said."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetfoot.solution import salts as s
from wetfoot.solution.labels import LABEL, elemental_percent, salt_from_label


def grams(name: str, label: dict[str, float]) -> dict[str, float]:
    product = salt_from_label(name, label)
    return s.elements_mg_l(s.composition_mmol_l({name: 1.0}, {name: product}))


# Oxide factors as fertiliser labels are converted with: P and K from the project handbook, the others common practice.
@pytest.mark.parametrize(
    ("oxide", "factor"), [("P2O5", 0.4364), ("K2O", 0.8301), ("CaO", 0.7147), ("MgO", 0.6030), ("SO3", 0.4005)]
)
def test_oxides_are_converted_as_printed(oxide: str, factor: float) -> None:
    assert elemental_percent(oxide, 1.0) == pytest.approx(factor, abs=6e-5)


# Grades of pure salts as the trade prints them (common practice, no source): what the label leaves out is known.
@pytest.mark.parametrize(
    ("label", "left_out", "moles_per_mole"),
    [
        ({"K2O": 60.0}, "Cl", ("K", 1.0)),
        ({"MgO": 16.0}, "SO4", ("Mg", 1.0)),
        ({"NH4-N": 21.0}, "SO4", ("NH4", 0.5)),
        ({"NH4-N": 21.0, "P2O5": 53.0}, "HPO4", ("NH4", 0.5)),
        ({"K2O": 50.0, "S": 17.0}, "SO4", ("K", 0.5)),
    ],
)
def test_the_missing_ion_is_the_one_of_the_pure_salt(
    label: dict[str, float], left_out: str, moles_per_mole: tuple[str, float]
) -> None:
    releases = salt_from_label("invented", label).releases
    cation, share = moles_per_mole
    assert releases[left_out] == pytest.approx(share * releases[cation], rel=0.02)


def test_label_of_pure_potassium_nitrate_is_the_pure_salt() -> None:
    m = s.molar_mass_g_mol
    label = {"NO3-N": 100 * m("N") / m("KNO3"), "K2O": 50 * m("K2O") / m("KNO3")}
    releases = salt_from_label("invented", label).releases
    assert releases == pytest.approx({"K": 100 / m("KNO3"), "NO3": 100 / m("KNO3")}, rel=1e-12)


def test_elements_are_those_of_the_label() -> None:
    found = grams("invented 15-5-30", {"NO3-N": 4, "NH4-N": 3, "urea-N": 8, "P2O5": 5, "K2O": 30, "Fe": 0.1, "B": 0.02})
    assert found["NO3-N"] == pytest.approx(40.0)
    assert found["urea-N"] == pytest.approx(80.0)
    assert found["N"] == pytest.approx(150.0)
    assert found["P"] == pytest.approx(0.4364 * 50, rel=1e-3)
    assert found["K"] == pytest.approx(0.8301 * 300, rel=1e-3)
    assert found["Fe"] == pytest.approx(1.0)


def test_calcium_nitrate_is_weighed_by_its_label() -> None:
    # Handbook, solution.md section 2: 15.5 % N of which 1.1 % NH4-N, 19 % Ca. Trimming by 0.14 % balances it.
    found = s.elements_mg_l(s.composition_mmol_l({"horticultural calcium nitrate": 1.0}))
    assert found["Ca"] == pytest.approx(190.0, rel=0.005)
    assert found["NH4-N"] == pytest.approx(11.0, rel=0.005)
    assert found["N"] == pytest.approx(155.0, rel=0.005)


@pytest.mark.parametrize(
    ("label", "said"),
    [
        ({"N": 15.0, "K2O": 30.0}, "say which form N has"),
        ({"K2O": 30.0, "K": 25.0}, "K2O and K"),
        ({"K2O": 60.0, "NO3-N": 60.0}, "more than all of it"),
        ({"K2O": 68.0}, "lack anions"),  # potassium carbonate
        ({"P2O5": 61.0}, "lack cations"),  # phosphoric acid
        ({"Xx": 1.0}, "not known"),
        ({"K2O": -1.0}, "not percentages"),
        ({"K2O": 0.0}, "states no nutrient"),
    ],
)
def test_impossible_labels_are_refused(label: dict[str, float], said: str) -> None:
    with pytest.raises(ValueError, match=said):
        salt_from_label("invented", label)


@given(st.dictionaries(st.sampled_from(sorted(LABEL)), st.floats(0.0, 25.0), min_size=1, max_size=6))
def test_whatever_is_accepted_is_neutral_and_weighs_no_more_than_itself(label: dict[str, float]) -> None:
    try:
        product = salt_from_label("invented", label)
    except ValueError:
        return
    composition = s.composition_mmol_l({"invented": 10.0}, {"invented": product})
    assert abs(s.net_charge_meq_l(composition)) <= 1e-9 * (1.0 + s.equivalents_meq_l(composition))
    assert all(mmol >= 0.0 for mmol in composition.values())
    assert 100.0 - 1e-6 <= product.molar_mass_g_mol <= 101.0
    parts = sum(n * s.load_species()[ion].molar_mass_g_mol for ion, n in product.releases.items())
    assert parts + product.water * s.molar_mass_g_mol("H2O") == pytest.approx(product.molar_mass_g_mol)
