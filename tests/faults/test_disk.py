"""A disk that is full, a page of the book that is damaged, a plan cut off: refused in words, nothing lost."""

from __future__ import annotations

import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest
from killing import fill_disk, reading, save_plan_on_full_disk, started
from test_killed import whole

from wetfoot.book.backup import back_up
from wetfoot.book.contents import contents_of
from wetfoot.book.entries import Reading
from wetfoot.book.records import add, current, every, open_book
from wetfoot.book.restoring import restore
from wetfoot.errors import WetfootError
from wetfoot.plan import history
from wetfoot.plan.file import read_plan

PAGE = 4096  # SQLite's default page size, https://sqlite.org/pragma.html#pragma_page_size


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A file system of 1 MB, where one can be made."""
    folder = tmp_path / "small"
    folder.mkdir()
    made = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=1m", "tmpfs", folder], capture_output=True)
    if made.returncode:
        pytest.skip("no file system may be mounted here; the limit on the size of files stands in for it")
    try:
        yield folder
    finally:
        subprocess.run(["umount", folder], check=True)


def write_for_ever(folder: Path, written: list[str]) -> None:
    while True:
        with open_book(folder) as book:
            written += [each.id for each in add(book, *(reading() for _ in range(100)))]


def test_a_file_that_may_not_grow_keeps_all_acknowledged_readings(tmp_path: Path) -> None:
    open_book(tmp_path).close()
    with started(fill_disk, tmp_path, 400_000) as process:
        heard = [process.says()]
        while not heard[-1].startswith("refused"):
            heard.append(process.says())
        assert "the database refused" in heard[-1]
        assert process.says() == "backups: 0"
    with open_book(tmp_path) as book:  # there is room again
        found = {each.id for each in current(book, Reading)}
        assert set(heard[:-1]) == found
        add(book, reading())
    assert whole(tmp_path / "book.db")


def test_a_full_disk_keeps_the_book_and_the_plan_as_they_were(small_disk: Path) -> None:
    plan = small_disk / "season.toml"
    plan.write_text("before = 1\n", "utf-8")
    open_book(small_disk).close()
    written: list[str] = []
    (small_disk / "photo").write_bytes(b"\0" * 200_000)
    with pytest.raises(WetfootError, match=r"full|disk I/O error"):
        write_for_ever(small_disk, written)
    with pytest.raises(WetfootError, match="cannot be written"):
        history.save(small_disk, "after = 1\n" + "# long\n" * 200_000)
    assert plan.read_text("utf-8") == "before = 1\n"
    (small_disk / "photo").unlink()
    with open_book(small_disk) as book:
        assert {each.id for each in every(book)} == set(written)
        add(book, reading())


def test_a_plan_that_cannot_be_written_stays_as_it_was(season_folder: Path) -> None:
    before = (season_folder / "season.toml").read_bytes()
    with started(save_plan_on_full_disk, season_folder) as process:
        assert "cannot be written (File too large)" in process.says()
    assert (season_folder / "season.toml").read_bytes() == before
    assert not list(season_folder.rglob("*.part"))


def test_a_plan_cut_off_anywhere_is_read_whole_or_refused_in_words(season_folder: Path) -> None:
    path = season_folder / "season.toml"
    text = path.read_bytes()
    for share in range(1, 12):
        path.write_bytes(text[: len(text) * share // 13])
        with pytest.raises(WetfootError) as refused:
            read_plan(season_folder)
        assert all(problem.what and problem.fix for problem in refused.value.problems)


@pytest.mark.parametrize("flip", [b"\xff", b"\x00"])
def test_a_damaged_page_is_told_or_harmless_and_the_backup_is_the_way_back(tmp_path: Path, flip: bytes) -> None:
    with open_book(tmp_path) as book:
        add(book, *(reading(note="n" * 60) for _ in range(100)))
        held = contents_of(book)
    kept = back_up(tmp_path, tmp_path / "safe.db")
    path = tmp_path / "book.db"
    good = path.read_bytes()
    told = 0
    for page in range(1, len(good) // PAGE):
        damaged = bytearray(good)
        damaged[page * PAGE : page * PAGE + 200] = flip * 200
        path.write_bytes(damaged)
        try:
            back_up(tmp_path, tmp_path / "bad.db")
        except WetfootError as refused:
            told += 1
            assert "restore" in str(refused) or "damaged" in str(refused)
        else:
            with open_book(tmp_path / "bad.db") as copy:  # free pages hold nothing
                assert contents_of(copy) == held
            (tmp_path / "bad.db").unlink()
    assert told > len(good) // PAGE // 2
    assert restore(tmp_path, kept.file).contents == held
    with open_book(tmp_path) as book:
        assert contents_of(book) == held


def test_a_backup_that_was_changed_is_refused_and_the_book_stays(tmp_path: Path) -> None:
    with open_book(tmp_path) as book:
        add(book, reading(note="the third pot"))
    kept = back_up(tmp_path, tmp_path / "safe.db").file
    before = (tmp_path / "book.db").read_bytes()
    kept.write_bytes(kept.read_bytes().replace(b"the third pot", b"the fifth pot"))
    with pytest.raises(WetfootError, match="SHA-256"):
        restore(tmp_path, kept, force=True)
    assert (tmp_path / "book.db").read_bytes() == before
