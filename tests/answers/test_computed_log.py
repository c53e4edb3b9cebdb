"""The log of what was computed from what."""

from __future__ import annotations

import json
from concurrent.futures import ThreadPoolExecutor
from hashlib import sha256
from pathlib import Path

import numpy as np
import pytest

from wetfoot.answers.computed_log import (
    Computed,
    code_sha256,
    log_computed,
    read_log,
    season_inputs,
    sha256_of,
    sha256_of_file,
)
from wetfoot.errors import WetfootError

# FIPS 180-4, the example of one block ('abc'), as NIST publishes it with the standard; from memory
ABC = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"


def test_the_hash_of_a_file_is_the_standards(tmp_path: Path) -> None:
    (tmp_path / "abc").write_bytes(b"abc")
    assert sha256_of_file(tmp_path / "abc") == ABC
    assert sha256_of_file(tmp_path / "none") is None


def test_equal_values_have_equal_hashes() -> None:
    assert sha256_of({"b": 1, "a": [2, "é"]}) == sha256_of({"a": [2, "é"], "b": 1})
    assert sha256_of({"a": 1}) != sha256_of({"a": 1.5})


def test_a_line_tells_inputs_seeds_versions_and_seconds(tmp_path: Path) -> None:
    log_computed(tmp_path / "log.jsonl", Computed("a season", {"plan": ABC}, {"runs": 20}, 1.25, {"sheet": ABC}))
    entry = json.loads((tmp_path / "log.jsonl").read_text("utf-8"))
    assert (entry["what"], entry["inputs"], entry["seeds"]) == ("a season", {"plan": ABC}, {"runs": 20})
    assert (entry["seconds"], entry["outputs"]) == (1.25, {"sheet": ABC})
    assert entry["versions"]["numpy"] == np.__version__
    assert entry["code_sha256"] == code_sha256()
    assert entry["at"].endswith("+00:00")


def test_lines_written_at_once_stay_whole(tmp_path: Path) -> None:
    log = tmp_path / "log.jsonl"
    with ThreadPoolExecutor(8) as pool:
        list(pool.map(lambda n: log_computed(log, Computed("x" * 3000, {"n": n}, {}, 0.0)), range(200)))
    assert sorted(entry["inputs"]["n"] for entry in read_log(log)) == list(range(200))


def test_a_line_cut_off_by_a_crash_hides_no_other(tmp_path: Path) -> None:
    log = tmp_path / "log.jsonl"
    log_computed(log, Computed("first", {}, {}, 0.0))
    log.write_text(log.read_text("utf-8") + '{"at": "20', "utf-8")
    assert [entry["what"] for entry in read_log(log)] == ["first"]
    assert read_log(tmp_path / "none") == ()


def test_a_log_that_cannot_be_written_is_refused(tmp_path: Path) -> None:
    with pytest.raises(WetfootError, match="log cannot be written"):
        log_computed(tmp_path, Computed("a season", {}, {}, 0.0))


def test_the_inputs_of_a_season(season_folder: Path) -> None:
    found = season_inputs(season_folder)
    assert found["plan"] == sha256((season_folder / "season.toml").read_bytes()).hexdigest()
    assert found["weather"] == sha256((season_folder / "weather.csv").read_bytes()).hexdigest()
    assert found["book"] is None
