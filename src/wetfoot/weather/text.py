"""Get the text and the rows out of a weather file, or say why there are none."""

from __future__ import annotations

import csv
import io
from pathlib import Path

from wetfoot.errors import refuse

LARGEST_BYTES = 300_000_000
_NOT_TEXT = {b"PK": "a spreadsheet or zip archive", b"\x1f\x8b": "a gzip archive", b"%PDF": "a PDF document"}
_HOW = "save the weather as a text file: CSV with named columns, GHCN-Daily, TMY3 or EPW"


def read_text(path: Path) -> str:
    """Return the text of a file, from UTF-8, UTF-16 or a western one-byte encoding.

    Raises:
        WetfootError: if there is no such file, or it is empty, too large, or not text.
    """
    where = path.name or str(path)
    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise refuse(where, "the file is larger than 300 MB", "one station's weather", _HOW)
        raw = path.read_bytes()
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise refuse(where, f"the weather file cannot be read ({reason})", "a readable file") from error
    for start, what in _NOT_TEXT.items():
        if raw.startswith(start):
            raise refuse(where, f"this is {what}, not text", "a text file", _HOW)
    text = _decoded(raw)
    if "\x00" in text:
        raise refuse(where, "the file is binary, not text", "a text file", _HOW)
    if not text.strip():
        raise refuse(where, "the file is empty", "a text file with weather", _HOW)
    return text


def _decoded(raw: bytes) -> str:
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        return raw.decode("utf-16", errors="replace")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        return raw.decode("latin-1")


def split_rows(text: str, where: str) -> tuple[list[list[str]], bool]:
    """Return the stripped cells of delimited text, and whether numbers may have decimal commas.

    The delimiter is a semicolon or a tab where the first delimited line has one, else a comma.

    Raises:
        WetfootError: if the text cannot be cut into cells.
    """
    first = next((line for line in text.splitlines() if any(mark in line for mark in ";\t,")), "")
    delimiter = next((mark for mark in ";\t," if mark in first), ",")
    try:
        rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter))
    except csv.Error as error:
        raise refuse(where, f"the text cannot be cut into columns ({error})", "a CSV file", _HOW) from error
    return [[cell.strip() for cell in row] for row in rows], delimiter != ","
