"""The trial's commands as a person types them."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

CASE_A = str(Path(__file__).parents[1] / "trial" / "data" / "trial_case_A.csv")
FACTORS = ("--factor", "gutter=no,yes@boards", "--factor", "pieces=1,2,3,4@pots")
CALL = """
from wetfoot.cli import app as a
from wetfoot.cli.trial import trial_app
if all(group.name != "trial" for group in a.app.registered_groups):
    a.app.add_typer(trial_app, name="trial")
a.main()
"""


def trial(*words: str) -> subprocess.CompletedProcess[str]:
    call = [sys.executable, "-c", CALL, "trial", *words]
    return subprocess.run(call, capture_output=True, text=True, timeout=120, check=False)


def test_help_names_the_commands_and_imports_nothing_heavy() -> None:
    code = (
        "import sys, wetfoot.cli.trial; "
        "print([m for m in ('numpy', 'scipy', 'pandas', 'pint', 'pydantic', 'altair', 'typst') if m in sys.modules])"
    )
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert told.stdout.strip() == "[]"
    shown = trial("--help").stdout
    for command in ("layout", "power", "analyse"):
        assert command in shown


def test_analyse_prints_the_right_stratum_with_lost_pots(tmp_path: Path) -> None:
    told = trial("analyse", CASE_A, "--margin", "pot=air by 5 %", "--report", str(tmp_path / "out"))
    assert told.returncode == 0, told.stderr
    # handbook 4.2: gutter KR, M3 33.0238 (2.8922) p 0.0115614, held at zero p 0.0139529
    line = next(line.split() for line in told.stdout.splitlines() if line.strip().startswith("gutter  "))
    assert line == ["gutter", "board", "1", "2.89", "33.02", "0.0116", "*", "0.0140"]
    for words in ("guessed: column 'w' taken as response", "not below 4", "7 of 16 at 4", "too small", "6 of 64 pots"):
        assert words in " ".join(told.stdout.split())
    assert {path.name for path in (tmp_path / "out").iterdir()} == {
        "trial-recommendation.pdf", "trial-report.pdf", "trial-report.xlsx"
    }  # fmt: skip


def test_analyse_for_machines() -> None:
    found = json.loads(trial("analyse", CASE_A, "--json").stdout)
    assert set(found) == {"answer", "units", "trace", "warnings", "files"}
    gutter = found["answer"]["terms"][0]
    assert (gutter["term"], gutter["stratum"]) == ("gutter", "board")
    assert gutter["p"] == pytest.approx(0.0115614, rel=1e-4)  # handbook 4.2
    assert found["trace"]["guessed"]


@pytest.mark.parametrize(
    ("words", "named"),
    [
        (("analyse", "nothing.csv"), "nothing.csv"),
        (("analyse", CASE_A, "--response", "weigth"), "weigth"),
        (("analyse", CASE_A, "--margin", "pot"), "margin"),
        (("analyse", CASE_A, "--pot-factor", "gutter", "--pot-factor", "pieces"), "gutter"),
        (("power", "--factor", "gutter=no,yes@boards", "--cv", "12 kg"), "cv"),
        (("layout", "out", "--factor", "gutter", "--seed", "x"), "factor"),
    ],
)
def test_bad_input_is_named_and_ends_with_2(words: tuple[str, ...], named: str) -> None:
    told = trial(*words)
    assert told.returncode == 2
    assert named in told.stderr
    assert "Traceback" not in told.stderr


def test_layout_writes_its_files_and_prints_the_skeleton(tmp_path: Path) -> None:
    told = trial("layout", str(tmp_path / "t"), *FACTORS, "--blocks", "4", "--seed", "invented", "--blind")
    assert told.returncode == 0, told.stderr
    assert "10.13" in told.stdout  # F(1, 3) at 5 %, printed tables
    assert (tmp_path / "t" / "labels.pdf").read_bytes().startswith(b"%PDF")


def test_power_says_how_many_blocks() -> None:
    told = trial("power", *FACTORS, "--factor", "pot=std,air", "--json")
    needed = {each["comparison"]: each["blocks"] for each in json.loads(told.stdout)["answer"]["blocks_needed"]}
    assert (needed["gutter"], needed["pieces"]) == (5, 3)  # handbook 7.3
