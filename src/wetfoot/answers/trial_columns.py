"""What a trial's table says beside the response: which pots split, what was counted, where each pot stood."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from wetfoot.book.spreadsheet import read_grids
from wetfoot.errors import refuse
from wetfoot.trial.columns import plain
from wetfoot.trial.data import TrialData
from wetfoot.trial.terms import Array
from wetfoot.trial.weights import loss_named

SPLIT_DRAINED = "split and drained"
SPLIT_NAMES = ("split", "pot split", "burst", "cracked")
COUNT_NAMES = ("stems", "stem", "shoots", "tillers", "pieces harvested")
_YES = ("1", "yes", "y", "true", "x", "split", "burst", "cracked")
_NO = ("0", "", "no", "n", "false", "ok", "fine", "whole")


def more_columns(path: Path, part: TrialData, sheet: str | None, split: str) -> dict[str, dict[int, str]]:
    """Return the cells of the column of splits and of counts by row number, under their role or heading."""
    grids = [grid for grid in read_grids(path) if sheet in (None, grid.name)]
    head = max(grids, key=lambda grid: len(grid.rows)).rows
    names = [" ".join(cell.split()) for cell in head[0][1]]
    if split and split not in names:
        raise refuse("split", f"there is no column {split!r}", ", ".join(names), "name a column of the table")
    found: dict[str, dict[int, str]] = {}
    for place, name in enumerate(names):
        cells = {number: cells[place] if place < len(cells) else "" for number, cells in head[1:]}
        if name == split or (not split and plain(name) in map(plain, SPLIT_NAMES)):
            found["split"] = cells
        elif plain(name) in map(plain, COUNT_NAMES) and name not in (part.response, *part.factors):
            found[name] = cells
    return found


def numbers(cells: Mapping[int, str] | None, part: TrialData, mask: NDArray[np.bool_], yes_or_no: bool) -> Array:
    """Return a column for the rows that are kept, nan where it says nothing, shape (kept rows,)."""
    read = _yes_or_no if yes_or_no else _number
    values = [read(cells[row]) if cells and row in cells else np.nan for row in part.row]
    return np.array(values, dtype=float)[mask]


def _yes_or_no(cell: str) -> float:
    word = cell.strip().casefold()
    return 1.0 if word in _YES else 0.0 if word in _NO else np.nan


def _number(cell: str) -> float:
    try:
        return float(cell)
    except ValueError:
        return np.nan


def are_counts(values: Array) -> bool:
    """Return whether a column holds counts that differ."""
    seen = values[np.isfinite(values)]
    return len(seen) > 1 and bool(np.all((seen >= 0) & (seen == np.floor(seen)))) and bool(np.ptp(seen) > 0)


def with_drained(split: Array | None, lost: Sequence[str]) -> Array | None:
    """Return the splits with those that a loss code tells."""
    drained = np.array([loss_named(loss) == SPLIT_DRAINED for loss in lost])
    if split is None:
        return np.where(drained, 1.0, 0.0) if drained.any() else None
    return np.where(drained, 1.0, split)


def positions(kept: Sequence[tuple[TrialData, NDArray[np.bool_]]]) -> Array | None:
    """Return the place of each pot on its board, shape (n,), if all files tell it."""
    if not all("position" in part.labels for part, _ in kept):
        return None
    return np.concatenate([
        [_number(str(label)) for label in part.labels["position"][mask]] for part, mask in kept
    ])  # fmt: skip
