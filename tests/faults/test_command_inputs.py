"""Whatever is typed behind any command: exit code 0, 1 or 2 and words, never a traceback."""

from __future__ import annotations

import io
import os
import shutil
import sys
from collections.abc import Iterator
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path
from typing import Any

import pytest
import typer.main
from hostile import CASES, bounded, texts
from hypothesis import given, settings
from hypothesis import strategies as st

from wetfoot.book.backup import back_up
from wetfoot.book.records import open_book
from wetfoot.cli.app import app, main
from wetfoot.plan.example import new_folder

SERVES = {"serve"}  # it would go on for ever: its arguments are tried in tests/web
COMPUTES = {"plan", "demo", "today", "trial power", "stock supply"}  # seconds each: no valid folder for them


def commands(group: Any, before: str = "") -> Iterator[tuple[str, Any]]:
    """Yield each command of the program with its name, from the program itself, so that a new one is tried too."""
    for name, command in group.commands.items():
        if hasattr(command, "commands"):
            yield from commands(command, f"{before}{name} ")
        elif f"{before}{name}" not in SERVES:
            yield f"{before}{name}", command


PROGRAM = typer.main.get_command(app)
COMMANDS = dict(commands(PROGRAM))


@pytest.fixture(scope="module", autouse=True)
def built_once() -> Iterator[None]:
    """Use one set of commands for all cases: to make them of their functions takes longer than most cases do."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(typer.main, "get_command", lambda _: PROGRAM)
        yield


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A season with a book, a backup and files, that each case gets a copy of."""
    where = tmp_path_factory.mktemp("commands")
    new_folder(where / "season")
    open_book(where / "season").close()
    back_up(where / "season", where / "season" / "kept.db")
    (where / "season" / "rows.csv").write_text("date,what,place,value,unit\n2026-06-01,EC,East,1.5,mS/cm\n")
    return where


def call(words: list[str]) -> tuple[int, str]:
    """Run the program in this process as a shell would, with faults let out."""
    said = io.StringIO()
    before, sys.argv = sys.argv, ["wetfoot", *words]
    os.environ["WETFOOT_DEBUG"] = "1"  # else a fault would be told as exit code 1
    try:
        with redirect_stdout(said), redirect_stderr(said), pytest.MonkeyPatch.context() as patch:
            patch.setattr(sys, "stdin", io.StringIO())  # nobody answers what it asks
            main()
    except SystemExit as ended:
        return int(ended.code or 0), said.getvalue()
    finally:
        sys.argv = before
        del os.environ["WETFOOT_DEBUG"]
    return 0, said.getvalue()


def harmless(text: str) -> str:
    """Return a text that names no file outside the case's own folder; the system takes no zero byte."""
    return text.replace("..", "__").lstrip("/~").replace("\0", "\x01").replace("://", ":")


def typed(data: st.DataObject, name: str, parameter: Any) -> list[str]:
    if parameter.param_type_name == "argument":
        if name == "demo":
            return ["season"]  # another plan is there, so that nothing is computed
        values = ["nowhere", "season/rows.csv", "season/season.toml/x"] if name in COMPUTES else ["season"]
        files = ["season/rows.csv", "season/kept.db", "season/weather.csv", "season"]
        chosen = values if parameter.name == "folder" else files
        return [data.draw(st.one_of(st.sampled_from(chosen), texts.map(harmless)))]
    if not data.draw(st.integers(0, 2)):
        return []
    flag = parameter.opts[0]
    if parameter.is_flag:
        return [flag]
    return [flag, data.draw(st.one_of(texts.map(harmless), st.integers(-3, 300).map(str)))]


@pytest.mark.parametrize("words", [["book", "restore", "season", ""], ["book", "restore", "season", "9" * 400],
                                   ["book", "export", "a" * 20_000, "rows.csv"], ["check", "a" * 20_000],
                                   ["passcode", "nowhere", "plan", "--clear"],
                                   ["passcode", "a" * 20_000, "plan", "--clear"],
                                   ["new", "a" * 20_000], ["book", "copy", "season", "9" * 400]])  # fmt: skip
def test_names_that_were_faults_once_are_refused(kept: Path, words: list[str], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(kept)
    code, said = call(words)
    assert code == 2
    assert "Refused" in said


@pytest.mark.parametrize("name", COMMANDS)
@settings(bounded, max_examples=2 * CASES)
@given(data=st.data())
def test_whatever_is_typed_ends_in_words(kept: Path, name: str, data: st.DataObject) -> None:
    folder = kept / "case"
    shutil.rmtree(folder, ignore_errors=True)
    shutil.copytree(kept / "season", folder / "season")
    words = name.split()
    for parameter in COMMANDS[name].params:
        words += typed(data, name, parameter)
    here = Path.cwd()
    os.chdir(folder)
    try:
        code, said = call(words)
    finally:
        os.chdir(here)
    assert code in (0, 1, 2), (words, said)
    assert "Traceback" not in said
    assert said, words
