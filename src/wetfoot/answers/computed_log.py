"""A log of what was computed from what: one line of JSON a result, with the inputs' hashes, versions and seeds."""

from __future__ import annotations

import json
import os
import platform
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cache
from hashlib import sha256
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any

import wetfoot
from wetfoot.errors import refuse

LOG_FILE = "computed.jsonl"
BOOK_FILE = "book.db"  # `book.opening` has it too, and takes a second to import
PACKAGES = ("wetfoot", "numpy", "scipy", "numba", "pandas", "pvlib", "molmass")
CODE_SUFFIXES = (".py", ".toml")
SHOWING = ("cli", "web", "sheets", "drawing")  # they show numbers and compute none
BLOCK_BYTES = 1 << 20


@dataclass(frozen=True)
class Computed:
    """One result, and what it was computed from.

    Attributes:
        what: what was computed, in words.
        inputs: SHA-256 by the name of each input, None for a file that is not there, or its own plain value.
        seeds: of the random numbers, by what they were for.
        seconds: that it took.
        outputs: SHA-256 by the name of each file that was written.
        problems: why it was refused, if it was.
    """

    what: str
    inputs: Mapping[str, Any]
    seeds: Mapping[str, int]
    seconds: float
    outputs: Mapping[str, str | None] | None = None
    problems: tuple[str, ...] = ()


def sha256_of_file(path: Path) -> str | None:
    """Return the SHA-256 (FIPS 180-4) of a file in hexadecimal digits, None if there is no such file."""
    digest = sha256()
    try:
        with path.open("rb") as file:
            while block := file.read(BLOCK_BYTES):
                digest.update(block)
    except (FileNotFoundError, IsADirectoryError, NotADirectoryError):
        return None
    return digest.hexdigest()


def sha256_of(value: Any) -> str:
    """Return the SHA-256 of a value as JSON with sorted keys and no blanks, so that equal values have equal hashes."""
    text = json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False, default=str)
    return sha256(text.encode()).hexdigest()


@cache
def code_sha256() -> str:
    """Return the SHA-256 of the program: every module and table that numbers come from, by path; computed once."""
    root = Path(wetfoot.__file__).parent
    found = sorted(path.relative_to(root) for path in root.rglob("*") if path.suffix in CODE_SUFFIXES)
    return sha256_of([(path.as_posix(), sha256_of_file(root / path)) for path in found if path.parts[0] not in SHOWING])


@cache
def versions() -> dict[str, str]:
    """Return the versions of Python and of each package that numbers come from."""
    return {"python": platform.python_version()} | {name: _version(name) for name in PACKAGES}


def _version(name: str) -> str:
    try:
        return version(name)
    except PackageNotFoundError:
        return "unknown"


def season_inputs(folder: Path) -> dict[str, str | None]:
    """Return the SHA-256 of a season's plan, weather and book (with what SQLite has not yet moved into its file).

    Raises:
        WetfootError: if the plan cannot be read.
    """
    from wetfoot.plan.file import plan_path, read_plan  # a process that computes sites has no need of it

    plan, path = read_plan(folder), plan_path(folder)
    names = {"plan": path.name, "weather": plan.site.weather}
    if plan.book is None:  # one kept on a server has no file, and its address may hold a password
        names |= {"book": BOOK_FILE, "book-wal": f"{BOOK_FILE}-wal"}
    return {name: sha256_of_file(path.parent / file) for name, file in names.items()}


def log_line(computed: Computed) -> str:
    """Return a result's line: the time in UTC, what, inputs, seeds, versions, the program's hash, seconds."""
    entry: dict[str, Any] = {"at": datetime.now(UTC).isoformat(timespec="seconds"), "what": computed.what}
    entry |= {"inputs": dict(computed.inputs), "seeds": dict(computed.seeds), "versions": versions()}
    entry |= {"code_sha256": code_sha256(), "seconds": round(computed.seconds, 4)}
    entry |= {"outputs": dict(computed.outputs)} if computed.outputs else {}
    entry |= {"refused": list(computed.problems)} if computed.problems else {}
    return json.dumps(entry, ensure_ascii=False, default=str)


def log_computed(path: Path, computed: Computed, largest_bytes: int | None = None) -> None:
    """Add a result to a log, in one write, so that lines of several processes do not mix.

    Args:
        path: the log, made if need be.
        computed: the result.
        largest_bytes: from this size on a new log is begun, and the one before it kept as ``NAME.before.jsonl``;
            without one the log grows for ever.

    Raises:
        WetfootError: if the log cannot be written.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        if largest_bytes is not None and path.is_file() and path.stat().st_size >= largest_bytes:
            path.replace(path.with_suffix(".before.jsonl"))
        file = os.open(path, os.O_WRONLY | os.O_APPEND | os.O_CREAT, 0o644)
        try:
            os.write(file, (log_line(computed) + "\n").encode())
        finally:
            os.close(file)
    except OSError as error:
        raise refuse(str(path), f"the log cannot be written ({error.strerror})", "a file you may write to") from error


def read_log(path: Path) -> tuple[dict[str, Any], ...]:
    """Return the entries of a log; a last line that was cut off by a crash is left out, so is what is no entry."""
    if not path.is_file():
        return ()
    found = (_entry(line) for line in path.read_text("utf-8", errors="replace").splitlines())
    return tuple(entry for entry in found if entry)


def _entry(line: str) -> dict[str, Any]:
    try:
        entry = json.loads(line)
    except ValueError:
        return {}
    return entry if isinstance(entry, dict) else {}
