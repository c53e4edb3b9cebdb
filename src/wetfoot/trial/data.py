"""A trial's table: one row for every pot, read from a file, with the state of each row and every doubt about it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from wetfoot.book.spreadsheet import Grid, read_grids
from wetfoot.errors import refuse
from wetfoot.trial.columns import Columns, match_columns
from wetfoot.trial.designs import Layout
from wetfoot.trial.doubtful import HEAVIEST_G, outliers, read_rows
from wetfoot.trial.pot_rows import Doubt, PotRow
from wetfoot.trial.terms import Array, codes_of, levels_of
from wetfoot.trial.weights import AT_RANDOM

PLACES = ("block", "board", "position", "year")


@dataclass(frozen=True)
class TrialData:
    """A trial's table, nothing left out: n rows, each with a state.

    Attributes:
        pot: code of each pot as read, length n.
        y: the response, nan where it was lost or is not used, shape (n,).
        unit: "g" for masses, empty for numbers without a unit.
        response: heading of the response.
        labels: label of each pot by column: treatment factors, and block, board, position, year where they are there,
            shape (n,) each.
        factors: names of the treatment factors.
        on_boards: those of them that every board carries one level of.
        lost: loss code, empty if not lost, "not said" if blank without a code, length n.
        state: "used", "lost", or "left out", length n.
        row: row in the file, 0 for a pot of the layout that the file lacks, length n.
        doubts: every doubtful value, in the order of the rows.
        said: how the columns were understood, in words.
    """

    pot: tuple[str, ...]
    y: Array
    unit: str
    response: str
    labels: Mapping[str, NDArray[np.str_]]
    factors: tuple[str, ...]
    on_boards: tuple[str, ...]
    lost: tuple[str, ...]
    state: tuple[str, ...]
    row: tuple[int, ...]
    doubts: tuple[Doubt, ...]
    said: tuple[str, ...]

    @property
    def on_pots(self) -> tuple[str, ...]:
        """Return the treatment factors that vary along boards."""
        return tuple(name for name in self.factors if name not in self.on_boards)

    @property
    def block(self) -> NDArray[np.str_] | None:
        """Return the block of each pot, shape (n,), if it is known."""
        return self.labels.get("block")

    @property
    def board(self) -> NDArray[np.str_] | None:
        """Return the board of each pot, shape (n,), if it is known."""
        return self.labels.get("board")

    @property
    def year(self) -> NDArray[np.str_] | None:
        """Return the year of each pot, shape (n,), if it is known."""
        return self.labels.get("year")

    def levels(self, name: str) -> tuple[str, ...]:
        """Return the levels of a column, in the order of their numbers if they are numbers."""
        return levels_of(self.labels[name])

    def codes(self, name: str) -> NDArray[np.intp]:
        """Return the place of each pot's label among the levels of a column, shape (n,)."""
        return codes_of(self.labels[name], self.levels(name))

    @property
    def lost_by_treatment(self) -> tuple[str, ...]:
        """Return the losses that the treatment may have caused, one text a pot: leaving such pots out misleads."""
        pairs = zip(self.pot, self.lost, strict=True)
        return tuple(f"{pot}: {loss}" for pot, loss in pairs if loss and loss not in AT_RANDOM)

    def readable(self) -> tuple[Array, dict[str, NDArray[np.str_]]]:
        """Return y and the labels of the rows whose labels are whole, as an analysis takes them."""
        whole = np.all([labels != "" for labels in self.labels.values()], axis=0)
        return self.y[whole], {name: labels[whole] for name, labels in self.labels.items()}


def read_trial(
    path: Path,
    names: Mapping[str, str] | None = None,
    factors: Sequence[str] | None = None,
    levels: Mapping[str, Sequence[str]] | None = None,
    layout: Layout | None = None,
    sheet: str | None = None,
    heaviest_g: float = HEAVIEST_G,
) -> TrialData:
    """Return the table of a trial from CSV or XLSX.

    Args:
        path: the file.
        names: headings by role (pot, response, block, board, position, year, lost); the others are guessed and said.
        factors: headings of the treatment factors; guessed and said if left out. With a layout, they are the layout's.
        levels: the levels that a factor may have, by its name; all if not said.
        layout: the trial's layout, which tells each pot's treatment, and which pots there must be.
        sheet: name of the worksheet; the longest, and said, if left out.
        heaviest_g: the mass above which a pot's weight is impossible.

    Raises:
        WetfootError: if the file cannot be read, or its columns not understood.
    """
    grid, chosen = _grid(read_grids(path), path, sheet)
    head, lines = _table(grid, path)
    cells = {name: [line[place] for _, line in lines] for place, name in enumerate(head)}
    # with a layout the treatments are known, and only what is read against them is sought in the file
    found = match_columns(
        cells, names or {}, factors if layout is None else [], ("response",) if layout is None else ("pot", "response")
    )
    numbers = [number for number, _ in lines]
    rows, unit, doubts = read_rows(cells, numbers, found, levels or {}, layout, heaviest_g)
    return _trial_data(found, rows, unit, doubts, layout, chosen)


def _trial_data(
    found: Columns, rows: list[PotRow], unit: str, doubts: list[Doubt], layout: Layout | None, chosen: list[str]
) -> TrialData:
    """Return the table of rows that were read."""
    factors = found.factors if layout is None else tuple(factor.name for factor in layout.recipe.factors)
    places = [name for name in PLACES if any(name in row.labels for row in rows)]
    labels = {name: np.array([row.labels.get(name, "") for row in rows], dtype=np.str_) for name in (*factors, *places)}
    y = np.array([row.value for row in rows], dtype=np.float64)
    doubts = [*doubts, *outliers(rows, factors, found.roles["response"])]
    return TrialData(
        pot=tuple(row.pot for row in rows),
        y=y,
        unit=unit,
        response=found.roles["response"],
        labels=labels,
        factors=factors,
        on_boards=_on_boards(labels, factors),
        lost=tuple(row.lost for row in rows),
        state=tuple(row.state for row in rows),
        row=tuple(row.number for row in rows),
        doubts=tuple(sorted(doubts, key=lambda doubt: (doubt.row == 0, doubt.row))),
        said=(*chosen, *(text for text in found.said if layout is None or "factors" not in text)),
    )


def _on_boards(labels: Mapping[str, NDArray[np.str_]], factors: Sequence[str]) -> tuple[str, ...]:
    """Return the factors of which every board has one level; none if boards are not known or hold one pot each."""
    if "board" not in labels:
        return ()
    outer = [labels[name].tolist() for name in ("year", "block", "board") if name in labels]
    boards = list(zip(*outer, strict=True))
    if len(set(boards)) == len(boards):
        return ()
    found = []
    for name in factors:
        pairs = {(board, level) for board, level in zip(boards, labels[name].tolist(), strict=True) if level}
        if max(Counter(board for board, _ in pairs).values(), default=2) == 1:
            found.append(name)
    return tuple(found)


def _grid(grids: list[Grid], path: Path, sheet: str | None) -> tuple[Grid, list[str]]:
    """Return the worksheet to read, and what was chosen."""
    named = [grid for grid in grids if sheet in (None, grid.name)]
    if not named or not any(grid.rows for grid in named):
        allowed = ", ".join(grid.name for grid in grids)
        raise refuse(path.name, "there is no such worksheet, or nothing in it", allowed, "name one that has the table")
    longest = max(named, key=lambda grid: len(grid.rows))
    return longest, [f"worksheet {longest.name!r} read"] if len(grids) > 1 else []


def _table(grid: Grid, path: Path) -> tuple[list[str], list[tuple[int, list[str]]]]:
    """Return the headings and the rows, each as long as the headings.

    Raises:
        WetfootError: if a heading is missing or stands there twice, or there are no rows.
    """
    head = [" ".join(cell.split()) for cell in grid.rows[0][1]]
    width = max(len(cells) for _, cells in grid.rows)
    lines = [(number, [*cells, *[""] * (width - len(cells))]) for number, cells in grid.rows[1:]]
    head += [""] * (width - len(head))
    used = [place for place in range(width) if head[place] or any(cells[place] for _, cells in lines)]
    names = [head[place] for place in used]
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice or "" in names or not lines:
        what = (
            f"headings that stand there twice or are empty: {twice}" if lines else "there is no row below the headings"
        )
        raise refuse(path.name, what, "a first row with one heading a column, then one row a pot", "mend the table")
    return names, [(number, [cells[place] for place in used]) for number, cells in lines]
