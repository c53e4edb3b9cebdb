"""Where labels lie on a sheet of them, in millimetres."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from wetfoot.errors import refuse

FILE = Path(__file__).with_name("label_grids.toml")


@dataclass(frozen=True)
class Grid:
    """A sheet of labels: pairs are across and down, in mm."""

    name: str
    page_mm: tuple[float, float]
    across: int
    down: int
    size_mm: tuple[float, float]
    first_mm: tuple[float, float]
    gap_mm: tuple[float, float]

    @property
    def labels(self) -> int:
        """Return how many labels a sheet has."""
        return self.across * self.down

    def corner_mm(self, place: int) -> tuple[float, float]:
        """Return the upper left corner of a label, counted from 0 along the rows."""
        row, column = divmod(place, self.across)
        x, y = (
            first + step * (size + gap)
            for first, step, size, gap in zip(self.first_mm, (column, row), self.size_mm, self.gap_mm, strict=True)
        )
        return x, y

    def told(self) -> str:
        """Return the grid in words."""
        return f"{self.across} x {self.down} labels of {self.size_mm[0]:g} x {self.size_mm[1]:g} mm"


@lru_cache(maxsize=1)
def label_grids() -> dict[str, Grid]:
    """Return the known grids by name."""
    read = tomllib.loads(FILE.read_text(encoding="utf-8"))
    return {name: Grid(name, tuple(g["page"]), g["across"], g["down"], tuple(g["size"]), tuple(g["first"]),
                       tuple(g["gap"])) for name, g in read.items()}  # fmt: skip


def label_grid(name: str) -> Grid:
    """Return a grid by its name.

    Raises:
        WetfootError: if there is none of that name.
    """
    grids = label_grids()
    if name not in grids:
        known = "; ".join(f"{grid.name}: {grid.told()}" for grid in grids.values())
        raise refuse("grid", f"{name!r} is not a grid of labels", known, "choose the one with your sheet's sizes")
    return grids[name]


def places(grid: Grid, labels: int, start: int) -> Iterator[tuple[int, int]]:
    """Yield the page and the place on it of each label, the first sheet begun at its label number ``start``.

    Raises:
        WetfootError: if the sheet has no such label.
    """
    if not 1 <= start <= grid.labels:
        raise refuse("start", f"{start}", f"1 to {grid.labels} on this sheet", "count along the rows from the top left")
    for number in range(start - 1, start - 1 + labels):
        yield divmod(number, grid.labels)
