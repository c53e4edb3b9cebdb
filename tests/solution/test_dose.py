"""Dosing: what goes in comes out, the meter will read the target, and impossible wishes are explained."""

from __future__ import annotations

import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wetfoot.solution import dose as d
from wetfoot.solution.conductivity import ec_ms_cm
from wetfoot.solution.salts import composition_mmol_l, equivalents_meq_l, mix, net_charge_meq_l

GRAMS = st.floats(10.0, 120.0)
STOCK_A = st.fixed_dictionaries({"horticultural calcium nitrate": GRAMS, "potassium nitrate": GRAMS}).map(
    composition_mmol_l
)
STOCK_B = st.fixed_dictionaries(
    {"potassium nitrate": GRAMS, "monopotassium phosphate": GRAMS, "magnesium sulfate heptahydrate": GRAMS}
).map(composition_mmol_l)
SOURCE = st.floats(0.0, 0.6).map(d.source_water_from_ec)
TARGET = st.floats(0.7, 6.0)

# An invented recipe at about 1:100.
A = composition_mmol_l({"calcium nitrate tetrahydrate": 94.0, "potassium nitrate": 25.0, "iron DTPA 11 %": 1.5})
B = composition_mmol_l(
    {"potassium nitrate": 26.0, "monopotassium phosphate": 14.0, "magnesium sulfate heptahydrate": 49.0}
)
WATER = d.source_water_from_ec(0.25)


@given(STOCK_A, STOCK_B, SOURCE, TARGET)
def test_strength_reads_back_as_the_target(
    a: dict[str, float], b: dict[str, float], source: dict[str, float], target: float
) -> None:
    strength = d.strength_for_ec(target, a, b, source)
    assert 0 < strength < 0.5
    assert ec_ms_cm(d.feed(strength, a, b, source)) == pytest.approx(target, abs=1e-6)


@given(STOCK_A, STOCK_B, SOURCE, TARGET, st.floats(0.05, 0.95), st.floats(1.0, 20000.0))
def test_dose_reads_back_as_the_target_and_loses_nothing(
    a: dict[str, float],
    b: dict[str, float],
    source: dict[str, float],
    target: float,
    part: float,
    litres: float,
) -> None:
    present = d.feed(part * d.strength_for_ec(target, a, b, source), a, b, source)
    each = d.dose_into_tank(litres, present, a, b, target)
    after = mix([(litres, present), (each, a), (each, b)])
    assert each > 0
    assert ec_ms_cm(after) == pytest.approx(target, abs=1e-6)
    for ion, mmol_l in after.items():
        put_in = litres * present.get(ion, 0.0) + each * (a.get(ion, 0.0) + b.get(ion, 0.0))
        assert mmol_l * (litres + 2 * each) == pytest.approx(put_in, rel=1e-12)
    assert net_charge_meq_l(after) == pytest.approx(0.0, abs=1e-9)


@given(STOCK_A, STOCK_B, SOURCE, st.floats(0.0, 0.02), st.floats(1.001, 1.5))
def test_ec_rises_with_strength_of_feed(
    a: dict[str, float], b: dict[str, float], source: dict[str, float], strength: float, more: float
) -> None:
    stronger = strength * more + 1e-6
    assert ec_ms_cm(d.feed(stronger, a, b, source)) > ec_ms_cm(d.feed(strength, a, b, source))


@given(STOCK_A, STOCK_B, SOURCE, TARGET, st.floats(1.05, 3.0))
def test_dilution_reads_back_as_the_target(
    a: dict[str, float], b: dict[str, float], source: dict[str, float], target: float, too_strong: float
) -> None:
    present = d.feed(d.strength_for_ec(target * too_strong, a, b, source), a, b, source)
    litres = d.dilution_to_target(500.0, present, source, target)
    assert ec_ms_cm(mix([(500.0, present), (litres, source)])) == pytest.approx(target, abs=1e-6)


@given(st.floats(0.0, 5.0))
def test_source_water_has_the_ec_it_was_given(ec: float) -> None:
    water = d.source_water_from_ec(ec)
    assert ec_ms_cm(water) == pytest.approx(ec, abs=1e-9)
    assert net_charge_meq_l(water) == pytest.approx(0.0, abs=1e-9)


def test_source_water_is_near_the_analysis_it_is_modelled_on() -> None:
    # Livingstone (1963), mean river water, mg/L (from memory), potassium counted as sodium.
    analysis = {"Ca": 15 / 40.08, "Mg": 4.1 / 24.305, "Na": 6.3 / 22.99 + 2.3 / 39.10}
    analysis |= {"HCO3": 58.4 / 61.02, "SO4": 11.2 / 96.06, "Cl": 7.8 / 35.45}
    water = d.source_water_from_ec(ec_ms_cm(analysis))
    assert water == pytest.approx(analysis, rel=0.05)


@settings(max_examples=20)
@given(STOCK_A, STOCK_B, SOURCE)
def test_curve_rises_from_pure_water_through_the_source(
    a: dict[str, float], b: dict[str, float], source: dict[str, float]
) -> None:
    meq_l, ec = d.ec_curve(a, b, source)
    assert meq_l.shape == ec.shape == (129,)
    assert (meq_l[0], ec[0]) == (0.0, 0.0)
    assert ec[-1] == pytest.approx(12.0, abs=1e-6)
    assert np.all(np.diff(meq_l) > 0)
    assert np.all(np.diff(ec) > 0)
    assert np.interp(equivalents_meq_l(source), meq_l, ec) == pytest.approx(ec_ms_cm(source), abs=1e-9)


@pytest.mark.parametrize("strength", [0.002, 0.0093, 0.03])
def test_curve_agrees_with_the_model_between_its_points(strength: float) -> None:
    meq_l, ec = d.ec_curve(A, B, WATER)
    fed = d.feed(strength, A, B, WATER)
    assert np.interp(equivalents_meq_l(fed), meq_l, ec) == pytest.approx(ec_ms_cm(fed), abs=0.001)


def test_curve_below_the_source_is_source_diluted_by_rain() -> None:
    meq_l, ec = d.ec_curve(A, B, WATER)
    half = d.scaled(WATER, 0.5)
    assert np.interp(equivalents_meq_l(half), meq_l, ec) == pytest.approx(ec_ms_cm(half), abs=0.001)


def test_curve_of_weak_stocks_ends_at_the_undiluted_stocks() -> None:
    weak_a, weak_b = d.scaled(A, 0.02), d.scaled(B, 0.02)
    assert d.ec_curve(weak_a, weak_b, WATER)[1][-1] == pytest.approx(ec_ms_cm(mix([(1, weak_a), (1, weak_b)])))


def test_curve_refuses_stocks_weaker_than_the_water() -> None:
    with pytest.raises(ValueError, match="does not raise its strength"):
        d.ec_curve({}, {}, WATER)


def test_one_stock_alone_shows_a_lower_ec_than_both() -> None:
    each = d.dose_into_tank(1000.0, WATER, A, B, 1.75)
    shown = d.what_one_stock_alone_shows(1000.0, WATER, A, B, each)
    assert shown.both_ms_cm == pytest.approx(1.75, abs=1e-6)
    assert shown.only_a_ms_cm == pytest.approx(ec_ms_cm(mix([(1000.0, WATER), (each, A)])))
    assert 0.25 < shown.only_b_ms_cm < shown.only_a_ms_cm < 1.75


def test_no_dose_is_needed_at_the_target() -> None:
    present = d.feed(0.01, A, B, WATER)
    assert d.dose_into_tank(100.0, present, A, B, ec_ms_cm(present)) == pytest.approx(0.0, abs=1e-9)


def test_a_tank_too_strong_is_told_how_much_water() -> None:
    present = d.feed(0.01, A, B, WATER)
    with pytest.raises(ValueError, match=r"add [\d.]+ L of source water instead") as refused:
        d.dose_into_tank(1000.0, present, A, B, 1.5, WATER)
    found = re.search(r"add ([\d.]+) L", str(refused.value))
    assert found is not None
    assert ec_ms_cm(mix([(1000.0, present), (float(found[1]), WATER)])) == pytest.approx(1.5, abs=0.002)


def test_pure_water_is_advised_when_no_source_is_given() -> None:
    present = d.feed(0.01, A, B, WATER)
    with pytest.raises(ValueError, match=r"add [\d.]+ L of pure water instead"):
        d.dose_into_tank(1000.0, present, A, B, 1.5)


def test_a_tank_too_strong_for_this_water_is_told_so() -> None:
    with pytest.raises(ValueError, match="cannot bring it down"):
        d.dose_into_tank(1000.0, d.feed(0.01, A, B, WATER), A, B, 0.2, WATER)


def test_a_target_below_the_source_is_refused() -> None:
    with pytest.raises(ValueError, match=r"below the 0\.25 mS/cm of the water"):
        d.strength_for_ec(0.2, A, B, WATER)


def test_a_target_beyond_the_stocks_is_refused() -> None:
    with pytest.raises(ValueError, match="beyond"):
        d.strength_for_ec(8.0, d.scaled(A, 0.02), d.scaled(B, 0.02), WATER)


@pytest.mark.parametrize("target", [0.25, 2.5])
def test_dilution_to_or_below_source_or_upwards_is_refused(target: float) -> None:
    with pytest.raises(ValueError, match="must be above"):
        d.dilution_to_target(1000.0, d.feed(0.01, A, B, WATER), WATER, min(target, ec_ms_cm(WATER) * target / 0.25))


@pytest.mark.parametrize("bad", [-1.0, float("nan"), float("inf")])
def test_impossible_numbers_are_refused(bad: float) -> None:
    with pytest.raises(ValueError, match="volume_l"):
        d.dose_into_tank(bad, WATER, A, B, 1.5)
    with pytest.raises(ValueError, match="target_ec_ms_cm"):
        d.strength_for_ec(bad, A, B, WATER)
    with pytest.raises(ValueError, match="ec: "):
        d.source_water_from_ec(bad)
    with pytest.raises(ValueError, match="litres_each"):
        d.what_one_stock_alone_shows(1.0, WATER, A, B, bad)
