from pathlib import Path

import pytest

from wetfoot.answers.nests import nest_numbers
from wetfoot.answers.wicking import level_rows, wicking
from wetfoot.errors import WetfootError
from wetfoot.plan.example import example_text
from wetfoot.plan.file import changed_text, plan_from_text
from wetfoot.plan.media import media_of
from wetfoot.plan.model import Plan
from wetfoot.season.bench import bench_arrays

OWN = """
[media."my mix"]
suction = ["0 kPa", "1 kPa", "5 kPa", "10 kPa"]
water = ["87 %", "58 %", "36 %", "30.5 %"]
k1 = 50
"""


def with_changes(changes: dict[str, object]) -> Plan:
    return plan_from_text(changed_text(example_text(), changes))


def test_five_centimetres_wet_a_common_mix(example_plan: Plan) -> None:
    """Common practice, no source: a 5 cm level wets the medium and leaves it air."""
    found = wicking(example_plan, "standard", 2.0)
    assert found.answer.state == "yes"
    assert found.window
    assert found.window.low_m <= 0.05 <= found.window.high_m


def test_a_medium_never_wetted_is_warned_of_with_what_helps() -> None:
    found = wicking(with_changes({"nests.standard.wetting": "never wetted"}), "standard", 2.0)
    assert found.answer.state == "no"
    assert "one thorough watering from above" in found.answer.words
    assert "The top dries" in found.answer.words


def test_coarse_perlite_does_not_lift_enough() -> None:
    assert wicking(with_changes({"nests.standard.medium": "perlite"}), "standard", 2.0).answer.state == "no"


def test_the_table_of_levels_is_printed_with_units(example_plan: Plan) -> None:
    rows = level_rows(example_plan, wicking(example_plan, "standard", 2.0))
    assert [row[0] for row in rows] == [f"{cm} cm" for cm in range(1, 8)]
    assert all(row[-1] in ("yes", "no") for row in rows)


def test_an_own_medium_is_fitted_and_used() -> None:
    """The table is that of the library's peat-perlite 3:1, so the fit must behave as that does."""
    text = changed_text(example_text(), {"nests.standard.medium": "my mix"}) + OWN
    plan, library = plan_from_text(text), plan_from_text(example_text())
    assert media_of(plan)["my mix"].saturated == pytest.approx(0.87, abs=0.01)
    assert bench_arrays(plan).set_l == pytest.approx(bench_arrays(library).set_l, rel=0.01)


def test_a_bad_table_is_refused_row_by_row(tmp_path: Path) -> None:
    text = example_text() + OWN.replace('"5 kPa"', '"0.5 kPa"').replace('"30.5 %"', '"60 %"')
    with pytest.raises(WetfootError) as refused:
        plan_from_text(text)
    told = [problem.what for problem in refused.value.problems if problem.where == "media.my mix"]
    assert any("row 3" in words for words in told)
    assert any("row 4" in words for words in told)


def test_the_fit_of_an_own_medium_is_shown_row_by_row() -> None:
    plan = plan_from_text(changed_text(example_text(), {"nests.standard.medium": "my mix"}) + OWN)
    shown = nest_numbers(plan, "standard", 2.0)[-1]
    assert shown.name == "curve of my mix, typical miss"
    assert shown.value < 0.02
    assert "1 kPa: 58 % measured" in shown.how
