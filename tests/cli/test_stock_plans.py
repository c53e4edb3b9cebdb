"""The commands that plan planting stock, as a person and as a machine reads them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from wetfoot.cli.stock import stock_app
from wetfoot.errors import WetfootError

runner = CliRunner()


def test_dip_tells_core_and_minutes() -> None:
    """25 mm at 50 C: 48.2 C at 10 minutes, 15.77 minutes needed (handbook, agronomy 1.5)."""
    told = runner.invoke(stock_app, ["dip", "--diameter", "25 mm", "--bath", "50 C", "--minutes", "10"])
    assert told.exit_code == 0
    assert "48.2°C" in told.output
    found = json.loads(runner.invoke(stock_app, ["dip", "--diameter", "25 mm", "--json"]).output)
    needed = next(n for n in found["answer"]["numbers"] if n["name"] == "minutes needed, bath held")
    assert needed["value"] == pytest.approx(15.77, abs=0.02)
    assert {"answer", "units", "trace", "warnings"} <= set(found)


def test_dip_in_us_units() -> None:
    told = runner.invoke(stock_app, ["dip", "--diameter", "1 in", "--bath", "122 F", "--us"])
    assert "122°F" in told.output


def test_everything_unreadable_is_refused_at_once() -> None:
    found = runner.invoke(stock_app, ["dip", "--diameter", "3", "--bath", "hot", "--minutes", "ten"])
    assert isinstance(found.exception, WetfootError)
    assert [problem.where for problem in found.exception.problems] == ["diameter", "bath", "minutes"]


def test_generations_of_the_example(season_folder: Path) -> None:
    told = runner.invoke(stock_app, ["generations", str(season_folder), "--first-yield", "2 kg", "--years", "3"])
    assert told.exit_code == 0, told.output
    assert "24 kg" in told.output  # 12 pots x 2 kg (handbook, agronomy 1.6)
    found = json.loads(runner.invoke(stock_app, ["generations", str(season_folder), "--json"]).output)
    assert len(found["answer"]["bench"]) == 5
    assert found["answer"]["bench"][0]["pots"] == 12


def test_store_of_an_empty_book_and_a_date_that_is_none(season_folder: Path) -> None:
    told = runner.invoke(stock_app, ["store", str(season_folder), "--json"])
    assert json.loads(told.output)["answer"]["lots"] == []
    refused = runner.invoke(stock_app, ["store", str(season_folder), "--on", "soon"])
    assert isinstance(refused.exception, WetfootError)
