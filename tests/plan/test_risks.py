"""Common-practice values (no source) are not warned of; their breach is, with what happens to the crop."""

import pytest

from wetfoot.errors import WetfootError
from wetfoot.plan.example import example_text
from wetfoot.plan.file import changed_text, plan_from_text
from wetfoot.plan.risks import risks


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"nests.standard.overflow_height": "5.5 cm"}, "overflow is only 0.5 cm above"),
        ({"nests.standard.overflow_height": "9 cm"}, "stand without air"),
        ({"nests.standard.set_level": "2 cm", "nests.standard.overflow_height": "4 cm"}, "unusual"),
        ({"nests.standard.dome.top_diameter": "25 cm"}, "smaller dome"),
        ({"banks.0.board_slope": "0.3 %"}, "shallower"),
        ({"banks.0.board_slope": "-0.3 %"}, "deeper"),
        ({"banks.0.pots": 40}, "one infected piece"),
        ({"banks.0.ground_per_pot": "0.1 m2"}, "yield less"),
        ({"banks.0.microtube_bore": "2 mm"}, "sag"),
        ({"banks.0.gutter_fraction": "0 %"}, "washes feed out"),
        ({"solution.ec_high": "3.5 mS/cm"}, "scorches"),
        ({"solution.ec_low": "0.8 mS/cm"}, "underfeeds"),
        ({"solution.source_ec": "0.9 mS/cm"}, "analysed"),
        ({"crop.planting": "2027-07-01"}, "lifted small"),
        ({"goal.field_planting": "2027-12-20"}, "dormant"),
        ({"goal.piece_mass": "15 g"}, "30 to 80 g"),
        ({"visits.every": "20 days"}, "leak"),
        ({"solution.stock_a.iron DTPA 11 %": "0 g/L"}, "no Fe"),
    ],
)
def test_a_risk_is_told_with_its_effect(changes: dict[str, object], words: str) -> None:
    warned = risks(plan_from_text(changed_text(example_text(), changes)))
    assert any(words in warning for warning in warned), warned


@pytest.mark.parametrize(
    ("changes", "where"),
    [
        ({"site.zone": "Mars/Olympus"}, "site.zone"),
        ({"goal.seed_rate": "2000 lb"}, "goal.seed_rate"),
        ({"banks.0.board_slope": "1 %"}, "banks[0].board_slope"),
        ({"banks.0.board_slope": "-1 %"}, "banks[0].board_slope"),
        ({"banks.0.lever_ratio": 99}, "banks[0].lever_ratio"),
        ({"banks.1.name": "East"}, "banks"),
        ({"banks.0.nest": "standrad"}, "banks[0].nest"),
        ({"banks.0.microtube_bore": "20 mm"}, "banks[0].microtube_bore"),
        ({"nests.standard.fill_height": "40 cm"}, "nests.standard.fill_height"),
        ({"nests.standard.set_level": "0 cm"}, "nests.standard.set_level"),
        ({"nests.standard.overflow_height": "30 cm"}, "nests.standard.overflow_height"),
        ({"nests.standard.dome.top_diameter": "28 cm"}, "nests.standard.dome"),
        ({"tank.unusable": "1000 L"}, "tank.unusable"),
        ({"solution.source_ec": "1.6 mS/cm"}, "solution.source_ec"),
        ({"solution.stock_a.calcium nitrate tetrahydrate": "0.1 g/L", "solution.ec_high": "9 mS/cm",
          "solution.ec_low": "8.9 mS/cm", "solution.stock_b.potassium nitrate": "0 g/L",
          "solution.stock_a.potassium nitrate": "0 g/L", "solution.stock_b.magnesium sulfate heptahydrate": "0.1 g/L",
          "solution.stock_b.monopotassium phosphate": "0 g/L"}, "solution"),
        ({"crop.emergence": "59 days", "crop.half_cover": "20 days"}, "crop.emergence"),
        ({"goal.field_planting": "2027-10-01"}, "goal.field_planting"),
        ({"crop.harvest": "2027-04-20"}, "crop.harvest"),
    ],
)  # fmt: skip
def test_the_impossible_is_refused_by_name(changes: dict[str, object], where: str) -> None:
    with pytest.raises(WetfootError) as refused:
        plan_from_text(changed_text(example_text(), changes))
    assert where in [problem.where for problem in refused.value.problems]


def test_calcium_beside_sulfate_in_one_stock_is_refused() -> None:
    text = example_text().replace('"iron DTPA 11 %" = "1.8 g/L"', '"magnesium sulfate heptahydrate" = "10 g/L"')
    with pytest.raises(WetfootError, match=r"solution\.stock_a.*gypsum"):
        plan_from_text(text)


def test_seed_rate_may_be_given_as_spacings_but_not_both() -> None:
    spacings = 'row_spacing = "90 cm"\nin_row_spacing = "20 cm"\n'
    rate = 'seed_rate = "2000 kg/ha"         # or row_spacing and in_row_spacing instead\n'
    plan = plan_from_text(example_text().replace(rate, spacings))
    assert plan.goal.seed_rate_kg_m2 is None
    with pytest.raises(WetfootError, match="goal: "):
        plan_from_text(example_text().replace(rate, rate + spacings))


def test_measured_heights_need_one_for_each_pot() -> None:
    text = example_text().replace('board_slope = "0 %"  ', 'board_heights = ["0 mm", "2 mm"]  ', 1)
    with pytest.raises(WetfootError, match=r"banks\[0\]\.board_heights: 2 heights are given for 10 pots"):
        plan_from_text(text)


def test_an_analysis_that_does_not_fit_the_meter_is_told() -> None:
    text = example_text().replace(
        "[solution.stock_a]", '[solution.source_water]\nCa = "80 mg/L"\nHCO3 = "244 mg/L"\n\n[solution.stock_a]'
    )
    assert any("water analysis gives" in words for words in risks(plan_from_text(text)))
