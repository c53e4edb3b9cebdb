"""A person asks 'wetfoot check' whether the season's folder is sound. Records are invented."""

from __future__ import annotations

import io
import os
import shutil
import time
from datetime import UTC, datetime
from pathlib import Path
from types import SimpleNamespace

import pytest
from PIL import Image
from typer.testing import CliRunner

from wetfoot.answers.checking import check_season
from wetfoot.answers.health import Health, folder_health
from wetfoot.book.backup import back_up
from wetfoot.book.records import Event, add, open_book
from wetfoot.cli.app import app
from wetfoot.errors import WetfootError
from wetfoot.plan.file import read_plan

LEAK = Event(at=datetime(2026, 5, 1, 12, tzinfo=UTC), zone="America/New_York", who="Ann", kind="leak")
DAY_S = 86_400.0


def looked(folder: Path, days_later: float = 0.0) -> Health:
    return folder_health(read_plan(folder), folder, time.time() + days_later * DAY_S)


@pytest.fixture
def recorded(season_folder: Path) -> Path:
    with open_book(season_folder) as book:
        add(book, LEAK)
    return season_folder


def test_a_new_season_is_sound(season_folder: Path) -> None:
    found = looked(season_folder)
    assert found == Health(("Book: none yet; it is made with the first record.",), (), ())


def test_records_without_a_backup_are_warned_of_until_there_is_a_fresh_one(recorded: Path) -> None:
    assert "no backup" in looked(recorded).warnings[0]
    back_up(recorded, recorded / "backups")
    assert looked(recorded).warnings == ()
    assert looked(recorded, 6.0).warnings == ()
    (old,) = looked(recorded, 9.0).warnings
    assert "9 days old" in old


def test_a_backup_that_was_changed_is_told(recorded: Path) -> None:
    made = back_up(recorded, recorded / "backups")
    made.file.write_bytes(made.file.read_bytes() + b"x")
    (said,) = looked(recorded).warnings
    assert "not the file that was written" in said
    made.file.with_name(made.file.name + ".sha256").unlink()
    (said,) = looked(recorded).warnings
    assert "no .sha256" in said


def test_leftovers_of_yesterday_are_told_those_of_now_are_not(season_folder: Path) -> None:
    part = season_folder / "season.toml.abc.part"
    part.write_text("half")
    assert looked(season_folder).warnings == ()
    yesterday = time.time() - DAY_S
    os.utime(part, (yesterday, yesterday))
    (said,) = looked(season_folder).warnings
    assert "season.toml.abc.part" in said


def test_a_photo_that_is_cut_off_is_told(season_folder: Path) -> None:
    raw = io.BytesIO()
    Image.new("RGB", (40, 30), "green").save(raw, "JPEG")
    photos = season_folder / "photos"
    photos.mkdir()
    (photos / "whole.jpg").write_bytes(raw.getvalue())
    assert looked(season_folder).warnings == ()
    (photos / "half.jpg").write_bytes(raw.getvalue()[:-20])
    (said,) = looked(season_folder).warnings
    assert "half.jpg" in said


def test_a_disk_that_is_nearly_full_is_told(season_folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(shutil, "disk_usage", lambda _: SimpleNamespace(free=12_000_000))
    (said,) = looked(season_folder).warnings
    assert "12 MB" in said


def test_check_refuses_a_damaged_book_with_the_way_back(recorded: Path) -> None:
    path = recorded / "book.db"
    path.write_bytes(path.read_bytes()[:4096] + b"\xff" * 9000)
    with pytest.raises(WetfootError) as refused:
        check_season(recorded)
    assert any("backup" in problem.fix for problem in refused.value.problems)


def test_the_command_says_so_and_changes_nothing(recorded: Path) -> None:
    before = {path.name: path.read_bytes() for path in recorded.iterdir() if path.is_file() and "-" not in path.name}
    told = CliRunner().invoke(app, ["check", str(recorded)])
    assert told.exit_code == 0, told.output
    assert "Book: whole; 1 rows" in told.output
    assert "no backup" in " ".join(told.output.split())
    after = {path.name: path.read_bytes() for path in recorded.iterdir() if path.is_file() and "-" not in path.name}
    assert after == before
