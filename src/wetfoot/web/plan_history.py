"""Earlier versions of the plan, so that every saved change can be undone."""

from __future__ import annotations

import os
import tempfile
from datetime import UTC, datetime
from pathlib import Path

from wetfoot.errors import refuse
from wetfoot.plan.file import plan_path

FOLDER = "plan-history"
KEPT = 200


def save(folder: Path, text: str) -> None:
    """Write the plan's file whole or not at all, and keep what stood there before.

    Raises:
        WetfootError: if it cannot be written.
    """
    path = plan_path(folder)
    try:
        if path.is_file():
            before = path.read_text("utf-8")
            if before == text:
                return
            _keep(folder, before)
        _replace(path, text)
    except OSError as error:
        raise refuse(
            str(path), f"it cannot be written ({error.strerror})", "a folder with room", "free space"
        ) from error


def versions(folder: Path) -> list[Path]:
    """Return the earlier versions, the newest first."""
    return sorted((folder / FOLDER).glob("*.toml"), reverse=True)


def undo(folder: Path) -> None:
    """Put the version before back in place.

    Raises:
        WetfootError: if there is none.
    """
    found = versions(folder)
    if not found:
        raise refuse("undo", "there is no earlier version of the plan", "a plan that was changed here", "")
    _replace(plan_path(folder), found[0].read_text("utf-8"))
    found[0].unlink()


def _keep(folder: Path, text: str) -> None:
    kept = folder / FOLDER
    kept.mkdir(exist_ok=True)
    _replace(kept / f"{_next_name(folder)}.toml", text)
    for old in versions(folder)[KEPT:]:
        old.unlink(missing_ok=True)


def _next_name(folder: Path) -> str:
    """Return the present instant as a name that sorts behind all others, also after the clock was put back."""
    name = f"{datetime.now(UTC):%Y%m%dT%H%M%S%f}"
    newest = next((path.stem for path in versions(folder)), "")
    return name if name > newest else f"{newest}0"


def _replace(path: Path, text: str) -> None:
    # a name of its own: two programs that save at once must not write into one file
    handle, part = tempfile.mkstemp(prefix=path.name + ".", suffix=".part", dir=path.parent)
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        Path(part).chmod(path.stat().st_mode if path.exists() else 0o644)
        Path(part).replace(path)
    finally:
        Path(part).unlink(missing_ok=True)
