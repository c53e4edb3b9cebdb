"""Many sites from the command line. All sites are invented; they share the example's typical year."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Annotated, Any

import pytest
import typer
from typer.testing import CliRunner

from wetfoot.answers import sites
from wetfoot.answers.site_season import compute_site
from wetfoot.answers.site_task import SiteResult, SiteTask
from wetfoot.cli.sites import Processes, Scheduler, SitesFile, plan_sites
from wetfoot.errors import WetfootError

TABLE = """name,latitude,longitude,elevation,zone,weather,design,tank.volume
Hill,36.5,-80.1,350 m,America/New_York,weather.csv,,
Hill,36.5,-80.1,350 m,America/New_York,weather.csv,small,150 L
Moor,95,-80.0,200 m,America/New_York,weather.csv,,
"""

app = typer.Typer()


@app.command()
def plan(
    folder: Path,
    sites: SitesFile = None,
    scheduler: Scheduler = "",
    processes: Processes = 0,
    as_json: Annotated[bool, typer.Option("--json")] = False,
) -> None:
    assert sites is not None
    plan_sites(folder, sites, 4, 20, processes, scheduler, as_json)


@pytest.fixture
def table(season_folder: Path, monkeypatch: Any) -> Path:
    """A table of which the sites are computed in this process, to save the start of others."""
    monkeypatch.setattr(sites, "on_processes", _here)
    path = season_folder / "table.csv"
    path.write_text(TABLE, "utf-8")
    return path


def _here(tasks: Iterator[SiteTask], _work: Any, _processes: int | None) -> Iterator[tuple[SiteTask, SiteResult]]:
    for task in tasks:
        yield task, compute_site(task)


def test_it_says_what_came_out_what_was_refused_and_what_was_written(table: Path) -> None:
    told = CliRunner().invoke(app, [str(table.parent), "--sites", str(table)])
    assert told.exit_code == 0
    assert "0 yes, 1 watch, 1 no, 1 refused" in told.stdout
    assert "row 4 (Moor), column latitude" in told.stdout
    for name in ("sites.parquet", "sites.csv", "refused.csv", "map-1.svg", "map-2.svg"):
        assert (table.parent / "sites" / name).stat().st_size > 0
        assert name in told.stdout


def test_the_result_for_machines(table: Path) -> None:
    told = CliRunner().invoke(app, [str(table.parent), "--sites", str(table), "--json"])
    found = json.loads(told.stdout)
    assert found["answer"]["verdicts"] == {"yes": 0, "watch": 1, "no": 1, "refused": 1}
    assert found["trace"]["computed"] == 3
    assert found["warnings"][0]["where"].endswith("row 4 (Moor), column latitude")


def test_a_table_that_is_not_there_is_refused(table: Path) -> None:
    told = CliRunner().invoke(app, [str(table.parent), "--sites", str(table.with_name("none.csv"))])
    assert isinstance(told.exception, WetfootError)
