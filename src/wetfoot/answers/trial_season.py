"""The trial of a season's folder: its layout, its tables, and the report that is made of them."""

from __future__ import annotations

import re
from functools import lru_cache
from hashlib import sha256
from pathlib import Path

from wetfoot.answers.trial_report import TRIAL_FOLDER, Report, trial_report
from wetfoot.answers.trial_table import Asked
from wetfoot.book.spreadsheet import MOST_BYTES
from wetfoot.errors import refuse
from wetfoot.plan.file import PLAN_FILE
from wetfoot.trial.designs import Layout
from wetfoot.trial.layout_file import read_layout

LAYOUT_FILE = "layout.csv"
_TABLE = re.compile(r"[\w][\w .-]{0,79}\.(csv|xlsx)", re.I)
_YEAR = re.compile(r"\d{4}\.(csv|xlsx)", re.I)

Mark = tuple[tuple[str, str], ...]


def trial_tables(folder: Path) -> list[Path]:
    """Return the tables in a season's trial folder, by name; layouts are no tables."""
    found = (folder / TRIAL_FOLDER).glob("*")
    return sorted(p for p in found if p.is_file() and _TABLE.fullmatch(p.name) and not p.name.startswith("layout"))


def chosen_tables(folder: Path, name: str = "") -> list[Path]:
    """Return the table of a name, or without one those of all years, or else the newest table.

    Raises:
        WetfootError: if there is no table of that name.
    """
    tables = trial_tables(folder)
    if name:
        named = [path for path in tables if path.name == name]
        if not named:
            raise refuse("table", f"there is no table {name!r}", ", ".join(p.name for p in tables), "choose one")
        return named
    years = [path for path in tables if _YEAR.fullmatch(path.name)]
    return years or sorted(tables, key=lambda path: path.stat().st_mtime)[-1:]


def keep_table(folder: Path, name: str, raw: bytes) -> Path:
    """Write a table into a season's trial folder under its own name, which must be a plain one.

    Raises:
        WetfootError: if the name or the size cannot be, another table has that name, or it cannot be written.
    """
    if not _TABLE.fullmatch(name) or name.startswith("layout"):
        allowed = "letters, digits, spaces, . and -, then .csv or .xlsx"
        raise refuse("file", f"{name!r} is not a name for a table", allowed, "rename the file")
    if not 0 < len(raw) <= MOST_BYTES:
        raise refuse("file", f"it has {len(raw):,} bytes", f"1 to {MOST_BYTES:,}", "check the file")
    path = folder / TRIAL_FOLDER / name
    if path.is_file() and path.read_bytes() != raw:
        raise refuse("file", f"another table {name!r} is here already", "a new name", "rename the file")
    try:
        path.parent.mkdir(exist_ok=True)
        part = path.with_name(f".{name}.part")
        part.write_bytes(raw)
        part.replace(path)
    except OSError as error:
        raise refuse("file", f"it cannot be kept ({error.strerror})", "", "check the season's folder") from error
    return path


def season_layout(folder: Path) -> Layout | None:
    """Return the layout in a season's trial folder, if there is one.

    Raises:
        WetfootError: if it cannot be read.
    """
    path = folder / TRIAL_FOLDER / LAYOUT_FILE
    return read_layout(path) if path.is_file() else None


def season_report(folder: Path, tables: list[Path], asked: Asked, margins: tuple[str, ...], piece: str = "") -> Report:
    """Return the report of some tables with the season's prices; computed once for each state of the files.

    Raises:
        WetfootError: with everything that is wrong.
    """
    return _report(folder, tuple(tables), asked, margins, piece, _mark([folder / PLAN_FILE, *tables]))


def _mark(paths: list[Path]) -> Mark:
    """Return the files with what they hold: two states within one tick of the file system's clock differ too."""
    return tuple((str(path), sha256(path.read_bytes()).hexdigest()) for path in paths if path.is_file())


@lru_cache(maxsize=8)
def _report(
    folder: Path, tables: tuple[Path, ...], asked: Asked, margins: tuple[str, ...], piece: str, mark: Mark
) -> Report:
    return trial_report(tables, asked, margins, piece, folder)
