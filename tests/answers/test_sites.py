"""Many sites at once: the same numbers however they are computed, nothing computed twice, no site stops another.

All sites are invented; they share the example's typical year.
"""

from __future__ import annotations

import importlib
import json
import multiprocessing
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from pyarrow import csv as arrow_csv
from pyarrow import parquet

from wetfoot.answers import site_workers, sites
from wetfoot.answers.computed_log import read_log
from wetfoot.answers.odds import outcome
from wetfoot.answers.site_season import compute_site
from wetfoot.answers.site_task import SiteResult, SiteRow, SiteTask
from wetfoot.answers.site_workers import MOST_DEATHS, on_processes
from wetfoot.answers.sites import Sites, kept_path, plan_sites
from wetfoot.answers.sites_table import plan_text, read_sites
from wetfoot.answers.solution import mix
from wetfoot.answers.supply import supply
from wetfoot.answers.weather import season_weather
from wetfoot.errors import WetfootError
from wetfoot.plan.example import new_folder
from wetfoot.plan.file import changed_text, read_plan
from wetfoot.season.ensemble import run_ensemble

RUNS = 4
HEADS = "name,latitude,longitude,elevation,zone,weather,design,tank.volume"
GOOD = [
    "Hill,36.5,-80.1,350 m,America/New_York,weather.csv,,",
    "Hill,36.5,-80.1,350 m,America/New_York,weather.csv,small,150 L",
    "Vale,35.9,-79.2,120 m,America/New_York,weather.csv,,",
    "Shore,35.2,-78.0,5 m,America/New_York,weather.csv,,1500 L",
    "Ridge,36.0,-81.0,900 m,America/New_York,weather.csv,,",
    "Creek,35.0,-80.5,200 m,America/New_York,weather.csv,,",
]
BAD = "Moor,95,-80.0,200,America/New_York,none.csv,,"


def made(folder: Path, *lines: str) -> tuple[Path, Path]:
    new_folder(folder)
    table = folder / "table.csv"
    table.write_text("\n".join((HEADS, *lines)), "utf-8")
    return folder, table


@pytest.fixture(scope="module")
def alone(tmp_path_factory: pytest.TempPathFactory) -> list[dict[str, Any]]:
    """The good rows, computed one after the other in this process."""
    folder, table = made(tmp_path_factory.mktemp("alone") / "season", *GOOD)
    results = [compute_site(SiteTask(row, str(folder), RUNS, 20)) for row in read_sites(table, folder)]
    return [{**result.row, "inputs_sha256": result.inputs_sha256} for result in results]


@pytest.fixture(scope="module")
def computed(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path, Sites]:
    folder, table = made(tmp_path_factory.mktemp("computed") / "season", *GOOD, BAD)
    return folder, table, plan_sites(folder, table, RUNS, processes=2)


def test_processes_give_the_numbers_of_one_process(computed: Any, alone: list[dict[str, Any]]) -> None:
    assert computed[2].rows[: len(GOOD)] == alone


def test_a_site_gets_the_numbers_that_the_season_alone_gets(computed: Any, tmp_path: Path) -> None:
    folder, _, found = computed
    row = next(row for row in read_sites(folder / "table.csv", folder) if row.site == "Ridge")
    (tmp_path / "weather.csv").write_bytes((folder / "weather.csv").read_bytes())
    text = changed_text(plan_text(folder, "season.toml"), {"site.latitude": 36.0, "site.longitude": -81.0,
                                                           "site.elevation": "900 m"})  # fmt: skip
    (tmp_path / "season.toml").write_text(text, "utf-8")
    plan = read_plan(tmp_path)
    ensemble = run_ensemble(plan, season_weather(plan, tmp_path)[1], RUNS, 20, threads=2)
    numbers = found.rows[row.number - 2]
    assert numbers["tank_empty_chance"] == outcome(ensemble).empty
    assert numbers["n_lost_mean_g"] == outcome(ensemble).lost_n_g
    assert numbers["stock_of_each_l"] == mix(plan, ensemble).stock_l[0]
    assert numbers["pots_needed"] == supply(plan).pots_expected
    assert numbers["verdict_ec"] == mix(plan, ensemble).answer.state


def test_a_small_tank_runs_dry_where_a_large_one_does_not(computed: Any) -> None:
    large, small = computed[2].rows[:2]
    # common sense, no source: 150 L cannot carry 40 pots that drink about a litre a day for a week
    assert large["tank_empty_chance"] == 0.0
    assert small["tank_empty_chance"] == 1.0
    assert (small["verdict_dry"], small["verdict"]) == ("no", "no")
    assert large["pots_needed"] == small["pots_needed"]


def test_a_refused_site_is_told_and_stops_no_other(computed: Any) -> None:
    folder, _, found = computed
    assert found.rows[-1]["verdict"] == "refused"
    columns = {problem["where"].rsplit("column ")[-1] for problem in found.refused[8]}
    assert columns == {"latitude", "elevation", "weather"}
    assert found.verdicts["refused"] == 1
    assert (folder / "sites" / "refused.csv").read_text("utf-8").count("row 8 (Moor)") == 3


def test_parquet_and_csv_hold_the_same(computed: Any) -> None:
    folder, _, found = computed
    table = parquet.read_table(folder / "sites" / "sites.parquet")
    assert table.to_pylist()[0] == {name: found.rows[0].get(name) for name in table.column_names}
    text = arrow_csv.read_csv(folder / "sites" / "sites.csv")
    assert text.column_names == table.column_names
    assert text["drawn_l"].to_pylist() == table["drawn_l"].to_pylist()


def test_the_log_tells_what_each_was_computed_from(computed: Any) -> None:
    folder, _, found = computed
    log = read_log(folder / "sites" / "computed.jsonl")
    assert len(log) == len(GOOD) + 1
    assert {entry["inputs"]["weather_sha256"] for entry in log} == {None, log[0]["inputs"]["weather_sha256"]}
    assert all(entry["seeds"] == {"runs": 20, "weather years": 20} for entry in log)
    assert found.record()["trace"]["versions"] == log[0]["versions"]


def test_a_second_call_computes_nothing_and_a_change_only_what_it_concerns(tmp_path: Path, monkeypatch: Any) -> None:
    monkeypatch.setattr(sites, "on_processes", _here)
    folder, table = made(tmp_path / "season", *GOOD[:3])
    first = plan_sites(folder, table, RUNS)
    again = plan_sites(folder, table, RUNS)
    assert (again.computed, again.kept, again.rows) == (0, 3, first.rows)
    table.write_text(table.read_text("utf-8").replace("150 L", "160 L"), "utf-8")
    broken = kept_path(folder / "sites", read_sites(table, folder)[2])
    broken.write_text(broken.read_text("utf-8")[:-40], "utf-8")
    changed = plan_sites(folder, table, RUNS)
    assert (changed.computed, changed.kept) == (2, 1)
    assert changed.rows[0] == first.rows[0]
    assert changed.rows[2] == first.rows[2]
    assert changed.rows[1]["inputs_sha256"] != first.rows[1]["inputs_sha256"]
    with (folder / "weather.csv").open("a") as file:
        file.write("\n")
    assert plan_sites(folder, table, RUNS).kept == 0


def test_an_interrupt_keeps_what_was_finished(tmp_path: Path, monkeypatch: Any) -> None:
    monkeypatch.setattr(sites, "on_processes", _here)
    folder, table = made(tmp_path / "season", *GOOD[:3])

    def interrupt(done: int, _all: int) -> None:
        if done == 2:
            os.kill(os.getpid(), signal.SIGINT)

    with pytest.raises(KeyboardInterrupt):
        plan_sites(folder, table, RUNS, progress=interrupt)
    found = plan_sites(folder, table, RUNS)
    assert (found.kept, found.computed) == (2, 1)


def test_a_fault_of_the_program_on_one_site_is_told_and_tried_again(tmp_path: Path, monkeypatch: Any) -> None:
    monkeypatch.setattr(sites, "on_processes", _here)
    monkeypatch.setattr("wetfoot.answers.site_season.supply", _fails_on_vale)
    folder, table = made(tmp_path / "season", GOOD[0], GOOD[2])
    found = plan_sites(folder, table, RUNS)
    assert [row["verdict"] for row in found.rows][1] == "refused"
    assert "ZeroDivisionError" in found.refused[3][0]["what"]
    assert plan_sites(folder, table, RUNS).computed == 1


def test_where_no_site_can_be_computed_all_reasons_are_refused_at_once(tmp_path: Path, monkeypatch: Any) -> None:
    monkeypatch.setattr(sites, "on_processes", _here)
    folder, table = made(tmp_path / "season", BAD, BAD.replace("Moor", "Fen"))
    with pytest.raises(WetfootError) as caught:
        plan_sites(folder, table, RUNS)
    assert len(caught.value.problems) == 6


def _here(tasks: Iterator[SiteTask], _work: Any, _processes: int | None) -> Iterator[tuple[SiteTask, SiteResult]]:
    for task in tasks:
        yield task, compute_site(task)


def _fails_on_vale(plan: Any) -> Any:
    from wetfoot.answers.supply import supply

    return 1 / 0 if plan.site.name == "Vale" else supply(plan)


@pytest.fixture
def work_module(tmp_path: Path, monkeypatch: Any) -> Any:
    """Work that is quick and notes each time it begins, but for site 3 of `deadly`, which kills its process."""
    code = """
import os, signal, time
from wetfoot.answers.site_task import SiteResult
def quick(task):
    with open(os.path.join(task.folder, task.row.site), "a") as file:
        file.write("x")
    time.sleep(0.1)
    return SiteResult({}, {"site": task.row.site}, (), 0.0)
def deadly(task):
    result = quick(task)
    if task.row.site == "3":
        os.kill(os.getpid(), signal.SIGKILL)
    return result
"""
    (tmp_path / "made_up_work.py").write_text(code, "utf-8")
    monkeypatch.syspath_prepend(str(tmp_path))
    yield importlib.import_module("made_up_work")
    del sys.modules["made_up_work"]


def made_up_tasks(folder: Path) -> list[SiteTask]:
    rows = [SiteRow("table.csv", number, str(number), "", "season.toml", {}) for number in range(2, 12)]
    return [SiteTask(row, str(folder), RUNS, 20) for row in rows]


def test_a_killed_process_is_replaced_and_no_site_is_lost(tmp_path: Path, work_module: Any) -> None:
    killed, found = [], []
    for task, result in on_processes(made_up_tasks(tmp_path), work_module.quick, 2):
        found.append(task.row.site)
        assert not result.problems
        if not killed:
            killed.append(multiprocessing.active_children()[0].pid)
            os.kill(killed[0], signal.SIGKILL)
    assert killed
    assert sorted(found, key=int) == [str(number) for number in range(2, 12)]
    assert not multiprocessing.active_children()


def test_a_site_that_kills_its_process_is_given_up_and_no_other(tmp_path: Path, work_module: Any) -> None:
    found = {task.row.site: result for task, result in on_processes(made_up_tasks(tmp_path), work_module.deadly, 2)}
    assert sorted(found, key=int) == [str(number) for number in range(2, 12)]
    assert [site for site, result in found.items() if result.problems] == ["3"]
    assert "died" in found["3"].problems[0]["what"]
    assert MOST_DEATHS <= len((tmp_path / "3").read_text("utf-8")) <= MOST_DEATHS + 1


def test_processes_of_which_none_lives_are_refused(tmp_path: Path, work_module: Any) -> None:
    only = [task for task in made_up_tasks(tmp_path) if task.row.site == "3"]
    with pytest.raises(WetfootError, match="die before they finish one"):
        list(on_processes(only, work_module.deadly, 1))


def test_an_interrupt_leaves_no_process_behind(tmp_path: Path, work_module: Any) -> None:
    def interrupted() -> None:
        with closing(on_processes(made_up_tasks(tmp_path), work_module.quick, 2)) as found:
            next(found)
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        interrupted()
    assert not multiprocessing.active_children()


def test_killed_in_the_middle_and_called_again(tmp_path: Path, alone: list[dict[str, Any]], monkeypatch: Any) -> None:
    folder, table = made(tmp_path / "season", *GOOD)
    code = f"""
from pathlib import Path
from wetfoot.answers.sites import plan_sites
if __name__ == "__main__":
    plan_sites(Path({str(folder)!r}), Path({str(table)!r}), {RUNS}, processes=1)
"""
    script = tmp_path / "script.py"
    script.write_text(code, "utf-8")
    child = subprocess.Popen([sys.executable, str(script)], start_new_session=True)
    kept = folder / "sites" / "kept"
    until = time.monotonic() + 60
    while not list(kept.rglob("*.json")) and time.monotonic() < until:
        time.sleep(0.01)
    os.kill(child.pid, signal.SIGKILL)
    child.wait()
    before = len(list(kept.rglob("*.json")))
    assert 1 <= before < len(GOOD)
    assert all(json.loads(path.read_text("utf-8"))["inputs"] for path in kept.rglob("*.json"))
    monkeypatch.setattr(sites, "on_processes", _here)
    found = plan_sites(folder, table, RUNS)
    assert (found.kept, found.computed) == (before, len(GOOD) - before)
    assert found.rows == alone


def test_a_dask_cluster_gives_the_same_numbers_even_when_a_worker_is_killed(
    tmp_path: Path, alone: list[dict[str, Any]]
) -> None:
    distributed = pytest.importorskip("distributed")
    folder, table = made(tmp_path / "season", *GOOD)
    killed: list[int] = []
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None, local_directory=str(tmp_path)
    ) as cluster:

        def kill_one(done: int, _all: int) -> None:
            if done and not killed:
                killed.append(cluster.workers[0].pid)
                os.kill(killed[0], signal.SIGKILL)

        found = plan_sites(folder, table, RUNS, scheduler=cluster.scheduler_address, progress=kill_one)
    assert killed
    assert found.rows == alone


def test_the_missing_extra_is_named(tmp_path: Path, monkeypatch: Any) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    folder, table = made(tmp_path / "season", GOOD[0])
    with pytest.raises(WetfootError, match=r"wetfoot\[sites\]"):
        plan_sites(folder, table, RUNS, scheduler="tcp://127.0.0.1:1")


def test_a_scheduler_that_does_not_answer_is_refused(tmp_path: Path, monkeypatch: Any) -> None:
    pytest.importorskip("distributed")
    monkeypatch.setattr(site_workers, "CONNECT_S", 1)
    folder, table = made(tmp_path / "season", GOOD[0])
    for address in ("tcp://127.0.0.1:1", "nonsense"):
        with pytest.raises(WetfootError, match="no scheduler answers"):
            plan_sites(folder, table, RUNS, scheduler=address)


def test_a_worker_with_another_program_is_refused(tmp_path: Path, monkeypatch: Any) -> None:
    def other(tasks: Iterator[SiteTask], _work: Any, _processes: int | None) -> Iterator[tuple[SiteTask, SiteResult]]:
        for task in tasks:
            yield task, SiteResult({"code_sha256": "0" * 64}, {"verdict": "yes"}, (), 0.0)

    monkeypatch.setattr(sites, "on_processes", other)
    folder, table = made(tmp_path / "season", GOOD[0])
    with pytest.raises(WetfootError, match="another program"):
        plan_sites(folder, table, RUNS)
    assert not (folder / "sites" / "kept").exists()
