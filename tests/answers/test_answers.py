"""The answers of a season: verdicts follow the numbers, numbers carry unit, source and range."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from wetfoot.answers.calendar import calendar
from wetfoot.answers.dossier import Dossier, season_dossier
from wetfoot.answers.leaks import fault_rows, guard_rows
from wetfoot.answers.trace import Number, worst
from wetfoot.answers.water import changes
from wetfoot.plan.example import new_folder
from wetfoot.plan.file import changed_text
from wetfoot.solution.conductivity import ec_ms_cm
from wetfoot.solution.dose import feed, source_water_from_ec
from wetfoot.solution.salts import composition_mmol_l

RUNS = 16


def dossier_of(folder: Path, changes: dict[str, object]) -> Dossier:
    plan = folder / "season.toml"
    plan.write_text(changed_text(plan.read_text("utf-8"), changes), "utf-8")
    return season_dossier(folder, RUNS)


@pytest.fixture(scope="module")
def dossier(tmp_path_factory: pytest.TempPathFactory) -> Dossier:
    folder = tmp_path_factory.mktemp("season")
    new_folder(folder)
    return season_dossier(folder, RUNS)


def test_every_number_has_a_unit_a_computation_and_a_source(dossier: Dossier) -> None:
    numbers = [number for answer in dossier.answers for number in answer.numbers]
    numbers += [number for row in dossier.nests.values() for number in row]
    for number in numbers:
        assert number.kind or number.unit, number.name
        assert number.how, number.name
        assert number.source, number.name
        for system in ("metric", "US"):
            assert any(letter.isalpha() or letter == "%" for letter in number.text(system)), number.name  # type: ignore[arg-type]


def test_questions_are_answered_in_the_order_of_the_job(dossier: Dossier) -> None:
    asked = [answer.question for answer in dossier.answers]
    assert "pots" in asked[0]
    order = [next(at for at, each in enumerate(asked) if word in each) for word in ("tank", "East", "How often", "mix")]
    assert order == sorted(order)
    assert order[-1] == len(asked) - 1


def test_too_few_pots_is_a_no(season_folder: Path) -> None:
    found = dossier_of(season_folder, {"goal.field_area": "1 ha"})
    assert found.supply.answer.state == "no"
    assert "short" in found.supply.answer.words


def test_a_small_tank_and_rare_visits_are_a_no(season_folder: Path) -> None:
    found = dossier_of(season_folder, {"tank.volume": "150 L", "visits.every": "14 days"})
    assert found.water[0].state == "no"
    assert "larger tank or shorter visits" in found.water[0].words


def test_a_board_out_of_level_is_watched_and_the_far_pot_told(season_folder: Path) -> None:
    """10 mm of board error is 10 mm of depth (communicating vessels)."""
    level = dossier_of(season_folder, {})
    tilted = dossier_of(season_folder, {"banks.0.board_slope": "0.5 %"})  # 30 mm over 6 m
    depth = [
        next(number.value for number in found.water[1].numbers if number.name == "depth in the far pot")
        for found in (level, tilted)
    ]
    assert depth[0] - depth[1] == pytest.approx(0.03, abs=1e-9)
    assert tilted.water[1].state == "watch"


def test_the_parts_of_the_sag_add_up(dossier: Dossier) -> None:
    for levels in dossier.levels.banks:
        sag = levels.float_sag_m + levels.lateral_loss_m + levels.microtube_loss_m
        assert levels.depth_m == pytest.approx(0.05 + levels.closing_shift_m - sag, abs=1e-9)


def test_measured_board_heights_count_one_to_one_and_are_shimmed(season_folder: Path) -> None:
    text = (season_folder / "season.toml").read_text("utf-8")
    heights = ", ".join(f'"{height} mm"' for height in (0, 0, 0, 12, 0, 0, 0, 0, 0, -8))
    slope = 'board_slope = "0 %"  '
    assert slope in text
    (season_folder / "season.toml").write_text(text.replace(slope, f"board_heights = [{heights}]  ", 1), "utf-8")
    found = season_dossier(season_folder, RUNS)
    numbers = {number.name: number for number in found.water[1].numbers}
    assert numbers["depth in the shallowest pot"].how.startswith("pot 4 ")
    assert numbers["depth in the deepest pot"].how.startswith("pot 10 ")
    assert numbers["depth in the deepest pot"].value - numbers["depth in the shallowest pot"].value == pytest.approx(
        0.020, abs=5e-4
    )
    assert re.search(r"pot 4 by 1[23] mm down", found.shims[0])  # 12 mm high, and as much
    assert re.search(r"pot 10 by [78] mm up", found.shims[0])  # 8 mm low, less half a millimetre of sag


def test_a_split_basin_is_told_with_its_safeguards(dossier: Dossier) -> None:
    split = dossier.leaks.courses["a basin splits"]
    assert 0 < split.lost_l[-1] <= 980.0
    assert abs(split.missing_l) < 1e-6
    guarded = {guard.what: guard.course for guard in dossier.leaks.guarded}
    shut = next(course for what, course in guarded.items() if "shut off" in what)
    assert shut.lost_l[-1] < split.lost_l[-1]
    assert len(fault_rows(dossier.plan, dossier.leaks)) == 4
    assert guard_rows(dossier.plan, dossier.leaks)[0][0] == "as it is"


def test_a_centimetre_of_board_is_a_centimetre_of_depth(dossier: Dossier) -> None:
    """Communicating vessels: the far end 1 cm high takes 1 cm from the far pot."""
    found = {change.what: change for change in changes(dossier.peak, 0)}
    assert found["far end of the board 1 cm high"].lowest_change_m == pytest.approx(-0.01, abs=1e-4)


def test_the_dose_gives_the_target(dossier: Dossier) -> None:
    solution = dossier.plan.solution
    stocks = composition_mmol_l(solution.stock_a), composition_mmol_l(solution.stock_b)
    working = feed(dossier.mix.strength, *stocks, source_water_from_ec(solution.source_ec_ms_cm))
    assert ec_ms_cm(working) == pytest.approx(solution.target_ec_ms_cm, abs=1e-6)
    assert dossier.mix.only_a_ms_cm < solution.target_ec_ms_cm
    assert dossier.mix.only_b_ms_cm < solution.target_ec_ms_cm


def test_the_feed_is_of_the_usual_strength(dossier: Dossier) -> None:
    """Common practice, no source: at 1.5 to 2.0 mS/cm about 100 to 220 mg/L of N, 15 to 60 P, 100 to 300 K."""
    found = dossier.mix.elements_mg_l
    assert 100 < found["N"] < 220
    assert 15 < found["P"] < 60
    assert 100 < found["K"] < 300


def test_the_first_filling_fills_tank_and_nests(dossier: Dossier) -> None:
    bench = dossier.ensemble.expected.bench
    assert dossier.mix.first_fill_l == pytest.approx(1000.0 + float((bench.set_l * bench.pots).sum()))


def test_the_calendar_is_whole_and_in_order(dossier: Dossier) -> None:
    entries = calendar(dossier.plan, dossier.ensemble, dossier.mix)
    assert [entry.on for entry in entries] == sorted(entry.on for entry in entries)
    assert sum(entry.visit for entry in entries) == 36
    assert entries[0].title == "Cut and cure seed"
    assert entries[-1].on == dossier.plan.crop.harvest


def test_the_bill_counts_what_the_bench_has(dossier: Dossier) -> None:
    amounts = {item.name: item.amount for item in dossier.bill.items}
    assert amounts["growing pot with holes"] == 40
    assert amounts["float valve with sump, one spare"] == 5
    assert amounts["microtube"] == 14  # 40 x 0.3 m and a tenth
    priced = sum(item.cost for item in dossier.bill.items if item.cost is not None)
    assert dossier.bill.total.value == pytest.approx(priced)
    assert "screen filter, 120 mesh" in dossier.bill.unpriced


def test_a_typical_year_claims_no_odds(dossier: Dossier) -> None:
    assert any("No odds of a drought" in warning for warning in dossier.warnings)


def test_the_salts_of_the_season_are_those_of_the_stocks(dossier: Dossier) -> None:
    litres = dossier.mix.stock_l[0]
    assert dossier.mix.salts_kg["potassium nitrate"] == pytest.approx(litres * (25 + 26) / 1000)
    assert dossier.mix.stock_l[1] < litres < dossier.mix.stock_l[2]


def test_verdicts_and_ranges_read_well() -> None:
    assert worst(["yes", "no", "watch"]) == "no"
    assert worst([]) == "yes"
    number = Number("draw", 10.0, "how", "source", kind="volume", low=8.0, high=13.0)
    assert number.text("metric") == "10 L (8 to 13)"
    assert number.text("US") == "2.64 gal (2.11 to 3.43)"
    assert number.record("US")["low"] == pytest.approx(2.113, abs=1e-3)
