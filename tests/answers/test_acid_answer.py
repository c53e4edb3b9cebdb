"""Acid for the water, as a person reads it: the rule of neutralising most of the alkalinity, and the cautions."""

from __future__ import annotations

import pytest

from wetfoot.answers.acid import acid
from wetfoot.errors import WetfootError
from wetfoot.plan.example import example_text
from wetfoot.plan.file import plan_from_text

WATER = '[solution.source_water]\nCa = "40 mg/L"\nHCO3 = "122 mg/L"\n\n[solution.stock_a]'


def test_two_meq_take_most_of_it_and_the_cautions_stand_beside() -> None:
    found = acid(plan_from_text(example_text().replace("[solution.stock_a]", WATER, 1)), 5.8)
    numbers = {number.name: number for number in found.numbers}
    # 122 mg/L of HCO3 is 2 mmol/L (61 mg a mmol); the rule of the trade is 70 to 80 % near pH 5.8
    assert numbers["alkalinity"].value == pytest.approx(2.0, abs=0.02)
    assert 0.7 < numbers["acid to the target"].value / 2.0 < 0.85
    # nitric acid 65 %: 63.013 g/mol, 1.391 kg/L at 20 C (handbooks of chemistry): 14.35 mol/L
    per_litre = numbers["nitric acid 65 %, for 1,000 L"].value * 14.35
    assert per_litre == pytest.approx(numbers["acid to the target"].value, rel=0.01)
    assert "Acid into water" in found.warnings[0]
    assert "chlorine" in found.warnings[0]


@pytest.mark.parametrize("ph", [2.0, 9.5, 8.5])
def test_a_ph_that_cannot_be_asked_for_is_refused(ph: float) -> None:
    with pytest.raises(WetfootError):
        acid(plan_from_text(example_text()), ph)
