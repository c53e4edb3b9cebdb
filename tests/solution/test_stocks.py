"""Stocks: standard solutions come back from their own salts, and what would fall out is refused by name."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wetfoot.solution.dissolving import dissolving_order
from wetfoot.solution.labels import salt_from_label
from wetfoot.solution.salts import composition_mmol_l, elements_mg_l, load_salts, net_charge_meq_l
from wetfoot.solution.standard_solutions import standard_solutions
from wetfoot.solution.stock_checks import check_stocks
from wetfoot.solution.stocks import StockDesign, barrel_of, design_stocks

NO_1 = "Hoagland & Arnon 1950, no 1"
HARD_WATER = {"Ca": 1.5, "Mg": 0.4, "Na": 0.5, "HCO3": 3.0, "SO4": 0.4, "Cl": 0.5}  # invented


def design(name: str = NO_1, fold: float = 100.0, **how: Any) -> StockDesign:
    standard = standard_solutions()[name]
    shelf = {salt: load_salts()[salt] for salt in standard.grams_per_litre}
    return design_stocks(standard.targets_mg_l, how.pop("source", {}), how.pop("shelf", shelf), fold, **how)


# Hoagland & Arnon (1950) and Steiner (1984), mmol/L of ions: project handbook, solution.md section 1. Trace salts add
# at most 0.02 mmol/L of sulfate.
@pytest.mark.parametrize(
    ("name", "mmol_l"),
    [
        (NO_1, {"K": 6, "Ca": 5, "Mg": 2, "NO3": 15, "H2PO4": 1, "SO4": 2}),
        ("Hoagland & Arnon 1950, no 2", {"K": 6, "Ca": 4, "Mg": 2, "NH4": 1, "NO3": 14, "H2PO4": 1, "SO4": 2}),
        ("Steiner 1984", {"K": 7, "Ca": 4.5, "Mg": 2, "NO3": 12, "H2PO4": 1, "SO4": 3.5}),
    ],
)
def test_standard_solutions_come_back_from_their_own_salts(name: str, mmol_l: dict[str, float]) -> None:
    found = design(name)
    assert not found.report.refusals
    for ion, mmol in mmol_l.items():
        assert found.report.working_mmol_l[ion] == pytest.approx(mmol, rel=1e-3, abs=0.02 if ion == "SO4" else 0.0)
    assert all(abs(off) < 1e-3 for off in found.deviation.values())


def test_no_1_in_mg_l() -> None:
    # Handbook section 1: N 210, P 31, K 235, Ca 200, Mg 48.6, S 64 and B .5, Mn .5, Zn .05, Cu .02, Mo .01, Fe 1-5.
    reached = design().report.reached_mg_l
    wanted = {"N": 210, "P": 31, "K": 235, "Ca": 200, "Mg": 48.6, "S": 64, "B": 0.5, "Mn": 0.5, "Zn": 0.05, "Cu": 0.02}
    assert {e: reached[e] for e in wanted} == pytest.approx(wanted, rel=0.01)
    assert 1.0 <= reached["Fe"] <= 5.0


def test_calcium_stands_apart_from_sulfate_and_phosphate_and_iron_with_calcium() -> None:
    found = design()
    a, b = (composition_mmol_l(stock) for stock in (found.stock_a_g_l, found.stock_b_g_l))
    assert "Ca" in a
    assert "FeDTPA" in a
    assert not {"SO4", "H2PO4"} & set(a)
    assert "Ca" not in b


def test_every_builtin_salt_has_a_barrel() -> None:
    assert {barrel_of(salt) for salt in load_salts().values()} == {"A", "B", "either"}


def test_calcium_nitrate_with_magnesium_sulfate_is_refused_and_both_are_named() -> None:
    stock = {"calcium nitrate tetrahydrate": 118.0, "magnesium sulfate heptahydrate": 49.3}
    worst = check_stocks(stock, {}, {}, 10.0, fold=100).refusals[0]
    assert (worst.where, worst.solid) == ("stock A", "gypsum")
    assert worst.part == (("calcium nitrate tetrahydrate",), ("magnesium sulfate heptahydrate",))
    assert "part calcium nitrate tetrahydrate from magnesium sulfate heptahydrate" in worst.what
    # nearly all of the 0.2 mol/L of sulfate: 34.4 g/L of gypsum
    assert 30.0 < worst.falls_out_g_l < 34.5


def test_potassium_nitrate_with_sulfate_at_200_fold_is_refused_in_the_cold_only() -> None:
    stock = {"potassium nitrate": 200 * 0.303, "potassium sulfate": 200 * 0.261}
    cold, warm = (check_stocks({}, stock, {}, at_c, fold=200).refusals for at_c in (5.0, 25.0))
    assert cold
    assert set(cold[0].part[0]) == {"potassium nitrate", "potassium sulfate"}
    assert not warm


def test_a_stock_that_exceeds_its_own_solubility_is_refused_with_what_is_left() -> None:
    # Handbook: 13.3 g of potassium nitrate in 100 g of water at 0 C; 200 g/L leave well over 60 g undissolved.
    refusal = check_stocks({"potassium nitrate": 200.0}, {}, {}, 0.0, fold=50).refusals[0]
    assert refusal.solid == "potassium nitrate"
    assert 60.0 < refusal.falls_out_g_l < 100.0


def test_potassium_nitrate_is_shared_when_one_barrel_cannot_hold_it() -> None:
    targets = {"NO3-N": 196.0, "K": 430.0, "P": 31.0, "Ca": 60.0}
    shelf = {
        n: load_salts()[n] for n in ("calcium nitrate tetrahydrate", "potassium nitrate", "monopotassium phosphate")
    }
    found = design_stocks(targets, {}, shelf, 200.0, coldest_c=5.0)
    shares = [stock.get("potassium nitrate", 0.0) for stock in (found.stock_a_g_l, found.stock_b_g_l)]
    assert min(shares) > 0.0
    assert sum(shares) == pytest.approx(200.0 * found.grams_per_litre["potassium nitrate"])


def test_max_fold_is_where_refusals_begin() -> None:
    most = design().max_fold
    assert 100.0 < most < 1000.0
    assert not design(fold=0.98 * most).report.refusals
    assert design(fold=1.03 * most).report.refusals


def test_colder_stocks_must_be_weaker() -> None:
    assert design(coldest_c=0.0).max_fold < design(coldest_c=20.0).max_fold


def test_source_water_is_counted() -> None:
    plain, hard = design(), design(source=HARD_WATER)
    assert hard.grams_per_litre["calcium nitrate tetrahydrate"] < plain.grams_per_litre["calcium nitrate tetrahydrate"]
    assert hard.report.source_share == 1.0
    assert design(source=HARD_WATER, stock_water={}).report.source_share == pytest.approx(0.98)


def test_hard_water_makes_a_stock_cloudy_but_is_no_refusal() -> None:
    report = design(source=HARD_WATER).report
    assert not report.refusals
    assert report.cloudy[0].solid == "calcium carbonate"
    assert "rain water" in report.cloudy[0].what


def test_an_element_that_nothing_supplies_is_named_with_what_would() -> None:
    shelf = {n: load_salts()[n] for n in ("calcium nitrate tetrahydrate", "potassium nitrate")}
    with pytest.raises(ValueError, match=r"Mg.*magnesium sulfate heptahydrate.*Zn.*zinc sulfate"):
        design_stocks({"Ca": 100.0, "Mg": 40.0, "Zn": 0.05}, {}, shelf, 100.0)


def test_of_equal_recipes_the_cheapest_is_taken() -> None:
    shelf = {n: load_salts()[n] for n in ("potassium sulfate", "magnesium sulfate heptahydrate")}
    twin = salt_from_label("invented Epsom salt", {"MgO": 16.3, "SO3": 32.5})
    both = {**shelf, twin.name: twin}
    targets = {"K": 100.0, "Mg": 40.0}
    for cheap, dear in ((twin.name, "magnesium sulfate heptahydrate"), ("magnesium sulfate heptahydrate", twin.name)):
        found = design_stocks(targets, {}, both, 50.0, price_per_kg={"potassium sulfate": 2.0, cheap: 1.0, dear: 3.0})
        assert cheap in found.grams_per_litre
        assert dear not in found.grams_per_litre
        by_hand = found.grams_per_litre["potassium sulfate"] * 2.0 + found.grams_per_litre[cheap] * 1.0
        assert found.cost_per_m3 == pytest.approx(by_hand)


def test_no_cost_without_all_prices() -> None:
    assert design(price_per_kg={"potassium nitrate": 2.0}).cost_per_m3 is None


def test_an_impossible_balance_is_told_and_never_negative() -> None:
    # Potassium without any of its anions being wanted: the fit must give way, masses stay at 0 or more.
    shelf = {n: load_salts()[n] for n in ("potassium sulfate", "potassium nitrate")}
    found = design_stocks({"K": 200.0, "S": 0.0, "NO3-N": 0.0}, {}, shelf, 50.0)
    assert all(grams >= 0.0 for grams in found.grams_per_litre.values())
    assert found.deviation["K"] < 0.0


@pytest.mark.parametrize(
    ("change", "said"),
    [({"fold": 0.5}, "fold"), ({"fold": float("nan")}, "fold"), ({"coldest_c": -5.0}, "coldest_c"),
     ({"shelf": {}}, "shelf"), ({"price_per_kg": {"urea": -1.0}}, "price_per_kg"),
     ({"weights": {"K": 0.0}}, "weights")],
)  # fmt: skip
def test_bad_input_is_named(change: dict[str, Any], said: str) -> None:
    with pytest.raises(ValueError, match=said):
        design(**change)


def test_bad_targets_are_all_named() -> None:
    with pytest.raises(ValueError, match=r"'Xx' is not one of.*-1.0 for K"):
        design_stocks({"Xx": 1.0, "K": -1.0}, {}, dict(load_salts()), 100.0)


@settings(deadline=None, max_examples=8)
@given(
    st.dictionaries(st.sampled_from(["NO3-N", "P", "K", "Ca", "Mg", "S"]), st.floats(5.0, 300.0), min_size=2),
    st.sampled_from([{}, HARD_WATER]),
    st.floats(10.0, 150.0),
)
def test_every_design_is_neutral_and_adds_up(targets: dict[str, float], source: dict[str, float], fold: float) -> None:
    found = design_stocks(targets, source, load_salts(), fold)
    report = found.report
    for composition in (report.stock_a_mmol_l, report.stock_b_mmol_l, report.working_mmol_l):
        assert abs(net_charge_meq_l(composition)) <= 1e-9 * (1.0 + sum(composition.values()))
    assert all(grams >= 0.0 for grams in found.grams_per_litre.values())
    for name, grams in found.grams_per_litre.items():
        both = found.stock_a_g_l.get(name, 0.0) + found.stock_b_g_l.get(name, 0.0)
        assert both == pytest.approx(fold * grams)
    by_hand = elements_mg_l(composition_mmol_l(found.grams_per_litre))
    water = elements_mg_l(source)
    for element in targets:
        assert report.reached_mg_l[element] == pytest.approx(by_hand[element] + water[element], abs=1e-6)


def test_order_to_dissolve() -> None:
    # Common practice, no source: acid salts first, chelates last.
    order = [step.name for step in dissolving_order({**design().stock_a_g_l, **design().stock_b_g_l})]
    assert order[0] == "monopotassium phosphate"
    assert order[-1] == "iron DTPA 11 %"
    assert order.index("potassium nitrate") < order.index("zinc sulfate heptahydrate")
