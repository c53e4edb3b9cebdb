"""A person keeps a backup of the book while it is in use, and puts it back. All records are invented."""

from __future__ import annotations

import hashlib
import json
import sqlite3
import subprocess
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest
import typer
from killing import AT, reading, started, write_readings
from typer.testing import CliRunner

from wetfoot.book.backup import back_up, copy_book
from wetfoot.book.contents import contents_of
from wetfoot.book.entries import Reading, Visit
from wetfoot.book.records import Book, add, correct, current, every, open_book, withdraw
from wetfoot.book.restoring import restore
from wetfoot.book.stock_entries import Lot
from wetfoot.cli import book_backup
from wetfoot.errors import WetfootError


def fill(book: Book) -> None:
    """Write records that point to each other, with letters of several scripts."""
    at = {"at": AT, "zone": "Asia/Manila", "who": "tester"}
    (visit,) = add(book, Visit(**at, note="mưa lớn, 雨, 🌱"))  # type: ignore[arg-type]
    (first,) = add(book, reading(16.0, visit_id=visit.id))
    second = correct(book, first.id, replace(first, value=1.6), "tester", "decimal point")
    withdraw(book, second.id, "tester", "of another bench")
    add(book, reading(0.1 + 0.2), Lot(**at, lot="L1", parents=("P",), kg=12.5))  # type: ignore[arg-type, call-arg]


@pytest.fixture
def filled(location: str | Path) -> str | Path:
    with open_book(location) as book:
        fill(book)
    return location


def test_a_backup_holds_what_the_book_holds_on_both_engines(filled: str | Path, tmp_path: Path) -> None:
    made = back_up(filled, tmp_path / "kept", now=AT)
    assert made.file.name == "book-20260601T080000Z.db"
    with open_book(filled) as book, open_book(made.file) as copy:
        assert every(copy) == every(book)
        assert contents_of(copy) == contents_of(book) == made.contents
    assert [path.name for path in sorted((tmp_path / "kept").iterdir())][-2:] == [
        made.file.name, made.file.name + ".sha256",
    ]  # fmt: skip


def test_the_sum_beside_a_backup_is_one_that_other_tools_check(tmp_path: Path) -> None:
    open_book(tmp_path).close()
    made = back_up(tmp_path, tmp_path / "safe.db")
    # GNU coreutils reads the same form
    subprocess.run(["sha256sum", "--check", "--strict", "safe.db.sha256"], cwd=tmp_path, check=True)
    assert hashlib.sha256(made.file.read_bytes()).hexdigest() == made.sha256


def test_a_book_that_is_written_to_is_copied_as_of_one_moment(tmp_path: Path) -> None:
    open_book(tmp_path).close()
    with started(write_readings, tmp_path) as process:
        before = [process.says() for _ in range(20)]
        made = [back_up(tmp_path, tmp_path / f"{number}.db") for number in range(3)]
    counts = [each.contents.rows["readings"] for each in made]
    assert counts == sorted(counts)
    assert counts[0] >= len(before)
    with open_book(made[0].file) as copy:
        assert set(before) <= {each.id for each in current(copy, Reading)}


def test_a_restored_book_holds_the_same_and_the_old_one_is_kept(filled: str | Path, tmp_path: Path) -> None:
    made = back_up(filled, tmp_path / "safe.db")
    other = tmp_path / "other"
    other.mkdir()
    done = restore(other, made.file)
    assert (done.contents, done.kept_aside, done.missing) == (made.contents, None, 0)
    with open_book(other) as book:
        (later,) = add(book, reading())
    with pytest.raises(WetfootError, match="1 rows that the backup"):
        restore(other, made.file)
    forced = restore(other, made.file, force=True)
    assert forced.missing == 1
    assert forced.kept_aside is not None
    with open_book(forced.kept_aside) as aside, open_book(other) as book:
        assert later in current(aside, Reading)
        assert contents_of(book) == made.contents


def test_a_backup_is_never_put_over_a_book_in_use(tmp_path: Path) -> None:
    with open_book(tmp_path) as book:
        made = back_up(tmp_path, tmp_path / "safe.db")
        with book.reading() as connection:
            connection.exec_driver_sql("SELECT count(*) FROM readings")
            with pytest.raises(WetfootError, match="another program has this book open"):
                restore(tmp_path, made.file)
        assert current(book, Reading) == []


def test_what_is_no_book_is_refused_and_nothing_changes(tmp_path: Path) -> None:
    with open_book(tmp_path) as book:
        add(book, reading())
    before = (tmp_path / "book.db").read_bytes()
    letter, other, newer = tmp_path / "letter.db", tmp_path / "other.db", tmp_path / "newer.db"
    letter.write_text("this is a letter")
    with closing(sqlite3.connect(other)) as connection:
        connection.execute("CREATE TABLE cats (name)")
    made = back_up(tmp_path, newer)
    with closing(sqlite3.connect(newer)) as connection:
        connection.execute("UPDATE alembic_version SET version_num = '9999'")
        connection.commit()
    Path(str(made.file) + ".sha256").unlink()
    for file, words in ((letter, "not a book"), (other, "not a book"), (newer, "newer version"),
                        (tmp_path / "none.db", "no such file")):  # fmt: skip
        with pytest.raises(WetfootError, match=words) as refused:
            restore(tmp_path, file, force=True)
        assert all(problem.where == str(file) for problem in refused.value.problems)
    assert (tmp_path / "book.db").read_bytes() == before
    assert not list(tmp_path.glob("*.part*"))


def test_a_book_goes_to_a_server_and_back_and_is_the_same(tmp_path: Path, new_database: Callable[[], str]) -> None:
    with open_book(tmp_path) as book:
        fill(book)
        held = contents_of(book)
        records = every(book)
    address, back = new_database(), tmp_path / "back.db"
    assert copy_book(tmp_path, address) == held
    with pytest.raises(WetfootError, match="has records already"):
        copy_book(tmp_path, address)
    assert copy_book(address, back) == held
    with open_book(address) as server, open_book(back) as file:
        assert every(server) == every(file) == records
        with pytest.raises(WetfootError, match="never changed"), server.writing() as connection:
            connection.exec_driver_sql("UPDATE readings SET value = 2")
    made = back_up(address, tmp_path / "from_server.db")
    assert restore(new_database(), made.file).contents == held


def test_a_missing_book_is_not_made_by_a_backup(tmp_path: Path) -> None:
    with pytest.raises(WetfootError, match="no book here yet"):
        back_up(tmp_path, tmp_path / "safe.db")
    assert list(tmp_path.iterdir()) == []


def test_the_commands_say_what_they_did(season_folder: Path) -> None:
    app = typer.Typer()
    for command in (book_backup.backup, book_backup.restore, book_backup.copy):
        app.command()(command)
    with open_book(season_folder) as book:
        add(book, reading())
    run = CliRunner().invoke
    made = json.loads(run(app, ["backup", str(season_folder), "--json"]).stdout)["answer"]
    assert made["rows"]["readings"] == 1
    assert Path(made["file"]).parent == season_folder / "backups"
    with open_book(season_folder) as book:
        add(book, reading())
    told = run(app, ["restore", str(season_folder), made["file"], "--force"]).stdout
    assert "1 rows are back" in told
    assert "1 rows of the book that was there are not in this one" in told
    assert "kept as" in told
    copied = run(app, ["copy", str(season_folder), str(season_folder / "copy.db")]).stdout
    assert "copied 1 rows" in copied
