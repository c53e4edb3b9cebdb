"""Whoever writes a plan, what stood there before is kept and can be put back."""

from __future__ import annotations

from pathlib import Path

import pytest
from typer.testing import CliRunner

from wetfoot.answers.stocks import stocks, write_stocks
from wetfoot.cli.app import app
from wetfoot.errors import WetfootError
from wetfoot.plan.example import example_text, write_folder
from wetfoot.plan.file import read_plan
from wetfoot.plan.history import save, undo, versions


def test_the_command_that_writes_stocks_can_be_undone_by_the_page(season_folder: Path) -> None:
    plan = season_folder / "season.toml"
    before = plan.read_bytes()
    done = CliRunner().invoke(app, ["solution", "stocks", str(season_folder), "--write"])
    assert done.exit_code == 0, done.output
    assert plan.read_bytes() != before
    undo(season_folder)
    assert plan.read_bytes() == before
    assert versions(season_folder) == []


def test_a_plan_that_is_made_anew_over_another_keeps_the_other(season_folder: Path) -> None:
    mine = (season_folder / "season.toml").read_text("utf-8") + "# mine\n"
    save(season_folder, mine)
    write_folder(season_folder, example_text())
    assert versions(season_folder)[0].read_text("utf-8") == mine


def test_the_plans_file_may_be_named_instead_of_its_folder(season_folder: Path) -> None:
    plan = season_folder / "season.toml"
    save(plan, plan.read_text("utf-8") + "# more\n")
    assert len(versions(plan)) == len(versions(season_folder)) == 1
    undo(plan)
    assert not plan.read_text("utf-8").endswith("# more\n")


def test_a_plan_that_an_editor_marked_as_utf_8_is_changed_too(season_folder: Path) -> None:
    plan = season_folder / "season.toml"
    plan.write_bytes(b"\xef\xbb\xbf" + plan.read_bytes())  # some editors put the byte order mark of UTF-8 before it
    write_stocks(stocks(read_plan(season_folder), fold=50.0), season_folder)
    assert read_plan(season_folder).solution.stock_a
    assert versions(season_folder)[0].read_bytes().startswith(b"\xef\xbb\xbf")


def test_a_plan_in_another_encoding_is_kept_as_it_was(season_folder: Path) -> None:
    plan = season_folder / "season.toml"
    plan.write_bytes("title = 'Ñandú'".encode("latin-1"))
    save(season_folder, example_text())
    assert versions(season_folder)[0].read_bytes() == "title = 'Ñandú'".encode("latin-1")


def test_without_an_earlier_version_nothing_is_undone(season_folder: Path) -> None:
    with pytest.raises(WetfootError, match="no earlier version"):
        undo(season_folder)
