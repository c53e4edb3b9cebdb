"""A season that is computed leaves in its folder what it was computed from."""

from __future__ import annotations

from hashlib import sha256
from pathlib import Path

import pytest

from wetfoot.answers import computing
from wetfoot.answers.computed_log import Computed, log_computed, read_log
from wetfoot.answers.computing import compute_season
from wetfoot.errors import WetfootError


def test_the_log_tells_inputs_runs_seed_and_seconds(season_folder: Path) -> None:
    told: list[float] = []
    compute_season(season_folder, 10, 7, told.append)
    (entry,) = read_log(season_folder / "computed.jsonl")
    # FIPS 180-4 as in Python's hashlib
    assert entry["inputs"]["plan"] == sha256((season_folder / "season.toml").read_bytes()).hexdigest()
    assert entry["inputs"]["weather"] == sha256((season_folder / "weather.csv").read_bytes()).hexdigest()
    assert (entry["inputs"]["runs"], entry["seeds"]) == (10, {"season": 7})
    assert entry["seconds"] > 0.0
    assert told == sorted(told)
    assert told[-1] == pytest.approx(100.0)


def test_what_was_refused_is_logged_too(season_folder: Path) -> None:
    weather = season_folder / "weather.csv"
    weather.write_text("this is no weather\n")
    with pytest.raises(WetfootError):
        compute_season(season_folder, 10)
    (entry,) = read_log(season_folder / "computed.jsonl")
    assert entry["refused"]


def test_a_log_that_cannot_be_written_withholds_no_answer(season_folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (season_folder / "computed.jsonl").mkdir()
    monkeypatch.setattr(computing, "season_dossier", lambda *_: type("D", (), {"compare": lambda self, tell: None})())
    assert compute_season(season_folder, 10)


def test_a_log_does_not_grow_for_ever(tmp_path: Path) -> None:
    path = tmp_path / "computed.jsonl"
    for _ in range(40):
        log_computed(path, Computed("a season", {"plan": "x"}, {"season": 1}, 1.0), 5_000)
    sizes = [file.stat().st_size for file in tmp_path.iterdir()]
    assert len(sizes) == 2
    assert all(size < 7_000 for size in sizes)
    assert read_log(path)
    assert read_log(tmp_path / "computed.before.jsonl")
