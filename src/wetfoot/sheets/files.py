"""Write a file whole or not at all."""

from __future__ import annotations

import os
from pathlib import Path

from wetfoot.errors import refuse


def write_whole(path: Path, content: bytes) -> None:
    """Write a file so that whoever looks finds the old one or the new one, never half of it.

    Raises:
        WetfootError: if it cannot be written; the old file, if there was one, is left as it was.
    """
    half = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        try:
            half.write_bytes(content)
            half.replace(path)
        finally:
            half.unlink(missing_ok=True)
    except OSError as error:
        raise refuse(
            str(path),
            f"this file cannot be written ({error.strerror or error})",
            "a folder that you may write to, on a disk with room",
            "close it in any viewer that shows it, check the folder and the disk, then run again",
        ) from error
