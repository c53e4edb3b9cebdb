"""Every writer of a plan goes through here: written whole or not at all, and what stood there before is kept."""

from __future__ import annotations

import os
import tempfile
from datetime import UTC, datetime
from pathlib import Path

from wetfoot.errors import WetfootError, refuse
from wetfoot.plan.file import plan_path

FOLDER = "plan-history"
KEPT = 200


def save(folder: Path, text: str) -> None:
    """Write the plan's file whole or not at all, and keep what stood there before.

    Args:
        folder: the season's folder, or the plan's file.
        text: the new plan, which the caller has checked.

    Raises:
        WetfootError: if it cannot be written.
    """
    path, new = plan_path(folder), text.encode()
    try:
        if path.is_file():
            before = path.read_bytes()  # bytes: also a plan in another encoding is kept as it was
            if before == new:
                return
            _keep(path, before)
        _replace(path, new)
    except OSError as error:
        raise _not_written(path, error) from error


def versions(folder: Path) -> list[Path]:
    """Return the earlier versions, the newest first."""
    return sorted((plan_path(folder).parent / FOLDER).glob("*.toml"), reverse=True)


def undo(folder: Path) -> None:
    """Put the version before back in place.

    Raises:
        WetfootError: if there is none, or it cannot be written.
    """
    found, path = versions(folder), plan_path(folder)
    if not found:
        raise refuse("undo", "there is no earlier version of the plan", "a plan that was changed here", "")
    try:
        _replace(path, found[0].read_bytes())
        found[0].unlink(missing_ok=True)
    except OSError as error:
        raise _not_written(path, error) from error


def _not_written(path: Path, error: OSError) -> WetfootError:
    return refuse(str(path), f"it cannot be written ({error.strerror})", "a folder with room", "free space")


def _keep(path: Path, raw: bytes) -> None:
    kept = path.parent / FOLDER
    kept.mkdir(exist_ok=True)
    _replace(kept / f"{_next_name(path)}.toml", raw)
    for old in versions(path)[KEPT:]:
        old.unlink(missing_ok=True)


def _next_name(path: Path) -> str:
    """Return the present instant as a name that sorts behind all others, also after the clock was put back."""
    name = f"{datetime.now(UTC):%Y%m%dT%H%M%S%f}"
    newest = next((path.stem for path in versions(path)), "")
    return name if name > newest else f"{newest}0"


def _replace(path: Path, raw: bytes) -> None:
    # a name of its own: two programs that save at once must not write into one file
    handle, part = tempfile.mkstemp(prefix=path.name + ".", suffix=".part", dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(raw)
            file.flush()
            os.fsync(file.fileno())
        Path(part).chmod(path.stat().st_mode if path.exists() else 0o644)
        Path(part).replace(path)
    finally:
        Path(part).unlink(missing_ok=True)
