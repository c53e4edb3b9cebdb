"""A program that is killed (SIGKILL) in the middle of its work loses nothing that it had acknowledged."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from killing import (
    PLACES,
    back_up_often,
    edit_on_page,
    import_files,
    reading,
    restore_often,
    rows_file,
    save_plans,
    started,
    write_readings,
    write_stocks_often,
)

from wetfoot.book.backup import back_up
from wetfoot.book.contents import contents_of
from wetfoot.book.entries import Reading
from wetfoot.book.exchange import import_records
from wetfoot.book.records import add, current, open_book
from wetfoot.book.restoring import restore
from wetfoot.plan.file import read_plan
from wetfoot.plan.history import versions


def whole(path: Path) -> bool:
    """Tell whether SQLite finds nothing wrong in a file (PRAGMA integrity_check)."""
    with closing(sqlite3.connect(path)) as connection:
        return [row[0] for row in connection.execute("PRAGMA integrity_check")] == ["ok"]


@pytest.mark.parametrize("seconds", [0.0, 0.013, 0.05])
def test_a_killed_writer_loses_no_acknowledged_reading(location: str | Path, seconds: float) -> None:
    open_book(location).close()
    with started(write_readings, location) as process:
        heard = process.killed_after(5, seconds)
    with open_book(location) as book:
        found = [each.id for each in current(book, Reading)]
        assert set(heard) <= set(found)
        assert len(found) <= len(heard) + 1  # one may be written and not yet said
        add(book, reading())
    assert not isinstance(location, Path) or whole(location / "book.db")


@pytest.mark.parametrize("seconds", [0.0, 0.02, 0.07])
def test_a_killed_import_leaves_each_file_whole_or_out_and_can_be_repeated(tmp_path: Path, seconds: float) -> None:
    with started(import_files, tmp_path) as process:
        heard = [line for line in process.killed_after(3, seconds) if line != "begins"]
    with open_book(tmp_path) as book:
        found = {each.id for each in current(book, Reading)}
    whole_files = 0
    for path in tmp_path.glob("in*.csv"):
        ids = {line.split(",")[0] for line in path.read_text("utf-8").splitlines()[1:]}
        assert len(ids & found) in (0, len(ids)), path.name
        assert ids <= found or path.name not in heard
        whole_files += ids <= found
    assert len(found) == 300 * whole_files
    again = rows_file(tmp_path / "again.csv", 3)
    with open_book(tmp_path) as book:
        for _ in range(2):
            import_records(book, again, zone="Pacific/Honolulu", places=PLACES, who="x", now=reading().at)
        assert len(current(book, Reading)) == len(found) + 3
    assert whole(tmp_path / "book.db")


@pytest.mark.parametrize("seconds", [0.0, 0.01, 0.03])
def test_a_killed_backup_leaves_no_half_file_under_a_backups_name(tmp_path: Path, seconds: float) -> None:
    with open_book(tmp_path) as book:
        add(book, *(reading() for _ in range(500)))
        held = contents_of(book)
    with started(back_up_often, tmp_path) as process:
        heard = {line for line in process.killed_after(3, seconds) if line != "begins"}
    made = sorted((tmp_path / "backups").glob("*.db"))
    assert heard <= {path.name for path in made}
    for path in made:
        assert whole(path)
        assert restore(tmp_path, path).contents == held
    assert back_up(tmp_path, tmp_path / "backups").contents == held


@pytest.mark.parametrize("seconds", [0.0, 0.02])
def test_a_killed_restore_leaves_the_old_book_or_the_new_one(tmp_path: Path, seconds: float) -> None:
    with open_book(tmp_path) as book:
        (first,) = add(book, reading())
        kept = back_up(tmp_path, tmp_path / "b.db")
        (second,) = add(book, reading())
    with started(restore_often, tmp_path, kept.file) as process:
        process.killed_after(1, seconds)
    assert whole(tmp_path / "book.db")
    asides = sorted(tmp_path.glob("book-replaced-*.db"))
    with open_book(tmp_path) as book, open_book(asides[0]) as before:
        assert [each.id for each in current(book, Reading)] == [first.id]
        assert {each.id for each in current(before, Reading)} == {first.id, second.id}


@pytest.mark.parametrize(("work", "seconds"), [(save_plans, 0.0), (save_plans, 0.004), (save_plans, 0.009),
                                               (edit_on_page, 0.01)])  # fmt: skip
def test_a_killed_save_leaves_a_whole_plan_that_was_the_last_or_the_next(
    season_folder: Path, work: Callable[..., None], seconds: float
) -> None:
    with started(work, season_folder) as process:
        last = int(process.killed_after(8, seconds)[-1])
    text = (season_folder / "season.toml").read_text("utf-8")
    assert text.endswith((f"\n# saved {last}\n", f"\n# saved {last + 1}\n"))
    read_plan(season_folder)
    assert all(path.read_text("utf-8").startswith(text[:100]) for path in versions(season_folder))


@pytest.mark.parametrize("seconds", [0.0, 0.011])
def test_stocks_written_by_a_killed_command_are_whole_and_what_stood_there_is_kept(
    season_folder: Path, seconds: float
) -> None:
    before = (season_folder / "season.toml").read_bytes()
    with started(write_stocks_often, season_folder) as process:
        process.killed_after(6, seconds)
    plan = read_plan(season_folder)
    # twice as concentrated makes twice as many litres: a plan with one stock of each set would be neither
    of_each_set = {path.read_bytes() for path in versions(season_folder)}
    assert before in of_each_set
    assert (season_folder / "season.toml").read_bytes() in of_each_set
    assert len(of_each_set) == 3
    assert plan.solution.stock_a
    assert plan.solution.stock_b


def test_two_programs_write_into_one_folder_at_once(tmp_path: Path) -> None:
    open_book(tmp_path).close()
    with started(write_readings, tmp_path) as one, started(write_readings, tmp_path) as other:
        heard = [process.says() for _ in range(10) for process in (one, other)]
        heard += one.killed_after(1, 0.0) + other.killed_after(1, 0.0)
    with open_book(tmp_path) as book:
        found = [each.id for each in current(book, Reading)]
    assert set(heard) <= set(found)
    assert len(found) == len(set(found)) <= len(heard) + 2


def test_two_programs_save_one_plan_at_once(season_folder: Path) -> None:
    with started(save_plans, season_folder) as one, started(save_plans, season_folder) as other:
        for _ in range(40):
            assert one.says()
            assert other.says()
            read_plan(season_folder)  # never half of a plan, never none
    read_plan(season_folder)
