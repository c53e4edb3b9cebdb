"""Each command as a person types it: what it prints, what it writes, how it refuses."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from wetfoot.plan.example import example_text


def wetfoot(*words: str) -> subprocess.CompletedProcess[str]:
    call = [sys.executable, "-c", "from wetfoot.cli.app import main; main()", *words]
    return subprocess.run(call, capture_output=True, text=True, timeout=120, check=False)


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, subprocess.CompletedProcess[str]]:
    folder = tmp_path_factory.mktemp("demo") / "season"
    return folder, wetfoot("demo", str(folder), "--runs", "20")


def test_help_names_the_commands() -> None:
    told = wetfoot("--help")
    assert told.returncode == 0
    for command in ("new", "check", "plan", "demo", "book"):
        assert command in told.stdout


def test_help_imports_nothing_heavy() -> None:
    heavy = ("numpy", "pandas", "pint", "pydantic", "sqlalchemy", "numba", "typst")
    code = f"import sys, wetfoot.cli.app; print([m for m in {heavy} if m in sys.modules])"
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert told.stdout.strip() == "[]"


@pytest.mark.parametrize("units", ["metric", "US"])
def test_a_new_folder_passes_its_check(tmp_path: Path, units: str) -> None:
    folder = str(tmp_path / "mine")
    assert wetfoot("new", folder, "--units", units).returncode == 0
    checked = wetfoot("check", folder)
    assert checked.returncode == 0, checked.stderr
    assert "can be built" in checked.stdout


def test_check_names_ten_mistakes_at_once(season_folder: Path) -> None:
    plan = season_folder / "season.toml"
    text = plan.read_text()
    for right, wrong in (
        ("latitude = 36.1 ", "lattitude = 36.1 "),
        ('volume = "1000 L"', 'volume = "1000 kg"'),
        ('bore = "19 mm"', "bore = 19"),
        ('top_diameter = "39 cm"', 'top_diameter = "33 cm"'),
        ('set_level = "5 cm"', 'set_level = "8 cm"'),
        ('height = "15 cm"', 'height = "32 cm"'),
        ('base_height = "1.1 m"', 'base_height = "0.2 m"'),
        ('ec_low = "1.5 mS/cm"', 'ec_low = "2.5 mS/cm"'),
        ("harvest = 2027-12-06", "harvest = 2026-12-06"),
        ('weather = "weather.csv"', 'weather = "whether.csv"'),
    ):
        text = text.replace(right, wrong, 1)
    plan.write_text(text)
    refused = wetfoot("check", str(season_folder))
    assert refused.returncode == 2
    for where in (
        "site.lattitude", "tank.volume", "supply_line.bore", "nests.standard.pot", "nests.standard.overflow_height",
        "nests.standard.dome", "banks[0].board_height", "solution.ec_low", "crop.planting", "site.weather",
    ):  # fmt: skip
        assert f"\n{where}\n" in refused.stderr
    assert "Traceback" not in refused.stderr


def test_refusals_are_for_machines_too(tmp_path: Path) -> None:
    refused = wetfoot("plan", str(tmp_path), "--json")
    assert refused.returncode == 2
    assert json.loads(refused.stdout)["refused"][0]["fix"].startswith("make one with")


def test_the_demo_writes_its_dossier_and_says_where(demo: tuple[Path, subprocess.CompletedProcess[str]]) -> None:
    folder, run = demo
    assert run.returncode == 0, run.stderr
    assert str(folder / "sheets") in run.stdout
    written = {path.name for path in (folder / "sheets").iterdir()}
    assert {"1-summary.pdf", "2-build.pdf", "5-log.pdf", "visits.ics", "daily.csv", "daily.xlsx"} <= written
    assert (folder / "book.db").is_file()
    assert "invented" in run.stdout


def test_the_demo_can_be_run_again_but_not_over_another_plan(
    demo: tuple[Path, subprocess.CompletedProcess[str]], season_folder: Path
) -> None:
    assert wetfoot("demo", str(demo[0]), "--runs", "10").returncode == 0
    refused = wetfoot("demo", str(season_folder))
    assert refused.returncode == 2
    assert (season_folder / "season.toml").read_text() == example_text()


def test_plan_for_machines_has_answer_units_trace_and_warnings(
    demo: tuple[Path, subprocess.CompletedProcess[str]],
) -> None:
    run = wetfoot("plan", str(demo[0]), "--runs", "20", "--json")
    found = json.loads(run.stdout)
    assert {"answer", "units", "trace", "warnings"} <= set(found)
    numbers = {number["name"]: number for answer in found["answer"] for number in answer["numbers"]}
    assert numbers["pots needed"]["unit"] == "pots"
    assert numbers["pots needed"]["low"] < numbers["pots needed"]["value"] < numbers["pots needed"]["high"]
    assert all(number["how"] and number["source"] for number in numbers.values())
    assert found["trace"]["seed"] == 20


def test_records_go_out_and_come_back(demo: tuple[Path, subprocess.CompletedProcess[str]], tmp_path: Path) -> None:
    out = wetfoot("book", "export", str(demo[0]), str(tmp_path / "all.csv"))
    assert out.returncode == 0, out.stderr
    again = wetfoot("book", "import", str(demo[0]), str(tmp_path / "all.csv"), "--json")
    answer = json.loads(again.stdout)["answer"]
    assert answer["recorded"] == 0
    assert answer["already there"] > 200


def test_a_messy_file_is_listed_row_by_row(season_folder: Path, tmp_path: Path) -> None:
    messy = tmp_path / "visits.csv"
    messy.write_text(
        "date,what,place,value,unit\n2026-06-01,tank,tank,640,L\n2026-06-01,EC,East,9.1,mS/cm\nyesterday,tank,tank,5,L\n"
    )
    run = wetfoot("book", "import", str(season_folder), str(messy), "--who", "A. Grower (invented)")
    assert run.returncode == 0, run.stderr
    assert "row 3, doubtful" in run.stdout
    assert "row 4, kept aside" in run.stdout


def test_a_fault_of_the_program_is_told_without_a_traceback(tmp_path: Path) -> None:
    code = (
        "import wetfoot.plan.example as e\n"
        "def broken(*_): raise RuntimeError('planted')\n"
        "e.new_folder = broken\n"
        "from wetfoot.cli.app import main\nmain()"
    )
    call = [sys.executable, "-c", code, "new", str(tmp_path / "x")]
    run = subprocess.run(call, capture_output=True, text=True, check=False)
    assert run.returncode == 1
    assert "planted" in run.stderr
    assert "Traceback" not in run.stderr


def test_the_dose_is_told_from_the_litres_and_the_meter(demo: tuple[Path, subprocess.CompletedProcess[str]]) -> None:
    told = wetfoot("solution", "dose", str(demo[0]), "--tank", "400 L", "--ec", "1600 uS/cm", "--fill")
    assert told.returncode == 0, told.stderr
    assert "of stock A and as much of stock B" in told.stdout
    found = json.loads(
        wetfoot("solution", "dose", str(demo[0]), "--tank", "400 L", "--ec", "1.6 mS/cm", "--fill", "--json").stdout
    )
    assert found["answer"]["ec_after_ms_cm"] == pytest.approx(1.75)
    refused = wetfoot("solution", "dose", str(demo[0]), "--tank", "400 L", "--ec", "800 ppm")
    assert refused.returncode == 2
    assert "1.6 mS/cm" in refused.stderr
    assert "1.14 mS/cm" in refused.stderr


def test_a_sample_is_told_in_words() -> None:
    told = wetfoot("stock", "sample", "100", "--sensitivity", "100 %")
    assert told.returncode == 0, told.stderr
    assert "Test 45 of 100" in told.stdout  # ISPM 31 table 1
    assert wetfoot("stock", "sample", "0").returncode == 2


def test_supply_is_told_with_its_money(demo: tuple[Path, subprocess.CompletedProcess[str]]) -> None:
    told = wetfoot("stock", "supply", str(demo[0]))
    assert told.returncode == 0, told.stderr
    for words in ("kilogram of clean seed", "share one water", "poor season"):
        assert words in told.stdout
    found = json.loads(wetfoot("stock", "supply", str(demo[0]), "--json").stdout)
    assert len(found["answer"]) == 4


def test_serving_is_refused_for_what_is_no_folder_or_without_a_passcode(tmp_path: Path, season_folder: Path) -> None:
    no_folder = tmp_path / "notes.txt"
    no_folder.write_text("invented")
    refused = wetfoot("serve", str(no_folder), "--no-browser")
    assert refused.returncode == 2
    assert "wetfoot new" in refused.stderr
    refused = wetfoot("serve", str(season_folder), "--lan", "--no-browser")
    assert refused.returncode == 2
    assert "wetfoot passcode" in refused.stderr


def test_stocks_are_told_and_written_into_the_plan(tmp_path: Path) -> None:
    folder = str(tmp_path / "mine")
    assert wetfoot("new", folder).returncode == 0
    told = wetfoot("solution", "stocks", folder, "--write")
    assert told.returncode == 0, told.stderr
    assert "a barrel" in told.stdout
    assert wetfoot("check", folder).returncode == 0
    refused = wetfoot("solution", "stocks", folder, "--fold", "400")
    assert refused.returncode == 2
    assert "stays dissolved" in refused.stderr


def test_a_visit_and_an_exposure_are_told(demo: tuple[Path, subprocess.CompletedProcess[str]]) -> None:
    told = wetfoot("today", str(demo[0]), "--on", "2026-09-06", "--runs", "10")
    assert told.returncode == 0, told.stderr
    assert "Come again on 2026-09-13" in told.stdout
    exposed = json.loads(wetfoot("stock", "exposed", str(demo[0]), "East 3", "--json").stdout)
    assert len(exposed["answer"]["exposed"]) == 10
    assert wetfoot("stock", "exposed", str(demo[0]), "Nowhere 3").returncode == 2
