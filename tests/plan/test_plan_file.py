from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetfoot.book.checks import LONGEST_NAME as LONGEST_BOOKED
from wetfoot.errors import WetfootError
from wetfoot.plan.example import example_text, new_folder
from wetfoot.plan.file import changed_text, plan_from_text, read_plan
from wetfoot.plan.risks import risks

# Ten mistakes of different sorts, planted together: (what stands in the example, what a person wrote, where, a word).
PLANTED = [
    ("latitude = 36.1 ", "lattitude = 36.1 ", "site.lattitude", "'lattitude' is not a key"),
    ('volume = "1000 L"', 'volume = "1000 kg"', "tank.volume", "unit of another kind"),
    ('bore = "19 mm"', "bore = 19", "supply_line.bore", "no unit"),
    ('top_diameter = "39 cm"', 'top_diameter = "33 cm"', "nests.standard.pot", "does not fit"),
    ('set_level = "5 cm"', 'set_level = "8 cm"', "nests.standard.overflow_height", "not above the set level"),
    ('height = "15 cm"', 'height = "32 cm"', "nests.standard.dome", "not covered by medium"),
    ('base_height = "1.1 m"', 'base_height = "0.2 m"', "banks[0].board_height", "no fall"),
    ('ec_low = "1.5 mS/cm"', 'ec_low = "2.5 mS/cm"', "solution.ec_low", "upside down"),
    ("harvest = 2027-12-06", "harvest = 2026-12-06", "crop.planting", "comes after harvest"),
    ('medium = "peat-perlite 3:1"', 'medium = "peat perlite"', "nests.standard.medium", "is not known"),
]


def test_ten_planted_mistakes_are_all_named_at_once() -> None:
    text = example_text()
    for right, wrong, _, _ in PLANTED:
        assert right in text
        text = text.replace(right, wrong, 1)
    with pytest.raises(WetfootError) as refused:
        plan_from_text(text)
    found = {problem.where: problem for problem in refused.value.problems}
    for _, _, where, words in PLANTED:
        assert words in found[where].what
        assert found[where].allowed
        assert found[where].fix


@pytest.mark.parametrize("mistake", PLANTED, ids=[planted[2] for planted in PLANTED])
def test_each_mistake_alone_is_refused_by_name(mistake: tuple[str, str, str, str]) -> None:
    right, wrong, where, words = mistake
    with pytest.raises(WetfootError) as refused:
        plan_from_text(example_text().replace(right, wrong, 1))
    assert any(problem.where == where and words in problem.what for problem in refused.value.problems)


@pytest.mark.parametrize("units", ["metric", "US"])
def test_the_example_can_be_built_in_both_systems(units: str) -> None:
    plan = plan_from_text(example_text(units))
    assert plan.units == units
    assert plan.pots == 40
    assert not risks(plan)


def test_the_us_example_is_the_same_bench_within_a_tenth() -> None:
    metric, us = plan_from_text(example_text()), plan_from_text(example_text("US"))
    assert us.tank.volume_l == pytest.approx(metric.tank.volume_l, rel=0.1)
    assert us.nests["standard"].set_level_m == pytest.approx(metric.nests["standard"].set_level_m, rel=0.1)
    assert us.goal.field_area_m2 == pytest.approx(metric.goal.field_area_m2, rel=0.1)


def test_a_changed_value_keeps_comments_and_order() -> None:
    before = example_text()
    after = changed_text(before, {"tank.volume": "250 gal", "banks.1.pots": 8})
    assert plan_from_text(after).banks[1].pots == 8
    changed = [(old, new) for old, new in zip(before.splitlines(), after.splitlines(), strict=True) if old != new]
    assert changed == [('volume = "1000 L"', 'volume = "250 gal"'), ("pots = 10", "pots = 8")]
    assert after.count("#") == before.count("#")


def test_yes_and_no_can_be_changed_too() -> None:
    text = changed_text(example_text(), {"invented": False, "visits.feed_banks": False})
    assert not plan_from_text(text).visits.feed_banks
    assert text.count("#") == example_text().count("#")


def test_changing_what_is_not_there_is_refused() -> None:
    with pytest.raises(WetfootError, match=r"tank\.colour"):
        changed_text(example_text(), {"tank.colour": "green"})


def test_a_missing_weather_file_is_refused_with_its_name(tmp_path: Path) -> None:
    new_folder(tmp_path)
    (tmp_path / "weather.csv").unlink()
    with pytest.raises(WetfootError, match=r"site\.weather: there is no file 'weather\.csv'"):
        read_plan(tmp_path)


def test_a_folder_without_a_plan_says_how_to_make_one(tmp_path: Path) -> None:
    with pytest.raises(WetfootError, match="wetfoot new"):
        read_plan(tmp_path)


def test_a_plan_is_not_overwritten(season_folder: Path) -> None:
    with pytest.raises(WetfootError, match="already"):
        new_folder(season_folder)


def test_a_file_that_is_not_text_is_refused(tmp_path: Path) -> None:
    (tmp_path / "season.toml").write_bytes(b"\xff\xfe\x00\x01")
    with pytest.raises(WetfootError, match="UTF-8"):
        read_plan(tmp_path)


@pytest.mark.parametrize("text", ["", "a = 1", "nests = 3\nbanks = 4", "banks = [1, 2]\n[nests]\na = 1", "[[[", "\x00"])
def test_broken_files_are_refused_without_a_traceback(text: str) -> None:
    with pytest.raises(WetfootError):
        plan_from_text(text)


@given(st.data())
def test_any_line_lost_or_garbled_is_read_or_refused(data: st.DataObject) -> None:
    lines = example_text().splitlines()
    at = data.draw(st.integers(0, len(lines) - 1))
    key = lines[at].split("=")[0]
    value = data.draw(st.sampled_from(['""', "-1", "nan", "[]", "{}", '"5 kg"', "1e400", "1979-05-27", "true", None]))
    lines[at : at + 1] = [] if value is None else [f"{key}= {value}"]
    try:
        assert plan_from_text("\n".join(lines)).format == 1
    except WetfootError as refused:
        assert all(problem.where and problem.what for problem in refused.problems)


def test_an_analysis_without_its_bicarbonate_is_refused_with_what_is_missing() -> None:
    text = example_text().replace("[solution.stock_a]", '[solution.source_water]\nCa = "80 mg/L"\n\n[solution.stock_a]')
    with pytest.raises(WetfootError) as refused:
        plan_from_text(text)
    problem = refused.value.problems[0]
    assert problem.where == "solution.source_water"
    assert "more cations" in problem.what
    assert "HCO3" in problem.fix


def test_a_bank_name_that_the_book_cannot_hold_is_refused_with_the_reason() -> None:
    for letters, right in ((100, True), (101, False)):
        text = changed_text(example_text(), {"banks.0.name": "E" * letters})
        if right:
            assert len(plan_from_text(text).banks[0].name) == LONGEST_BOOKED
            continue
        with pytest.raises(WetfootError) as refused:
            plan_from_text(text)
        (problem,) = refused.value.problems
        assert problem.where == "banks[0].name"
        assert "the book cannot hold it" in problem.what
