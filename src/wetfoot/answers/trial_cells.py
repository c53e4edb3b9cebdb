"""The cells of a trial's tables: raw for machines and workbooks, as text for people."""

from __future__ import annotations

from dataclasses import dataclass
from math import floor, isfinite, log10

from wetfoot.quantities import number_text

Cell = str | float | int | None
SMALLEST_P = 1e-4


@dataclass(frozen=True)
class ReportTable:
    """A table: cells are raw, so that a workbook gets numbers; ``shown`` gives them as text.

    Attributes:
        title: what it shows, with units.
        heads: of the columns.
        rows: its cells.
        kinds: of each column: ``text``, ``n`` (a number), ``df``, ``f``, ``p``, or ``n`` with its decimals, as ``n2``.
        note: what belongs below it.
    """

    title: str
    heads: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    kinds: tuple[str, ...]
    note: str = ""

    @property
    def shown(self) -> list[list[str]]:
        """Return the cells as text."""
        return [[cell_text(cell, kind) for cell, kind in zip(row, self.kinds, strict=True)] for row in self.rows]

    @property
    def first_number(self) -> int:
        """Return the first column that holds numbers."""
        return next((at for at, kind in enumerate(self.kinds) if kind != "text"), len(self.kinds))


def cell_text(cell: Cell, kind: str) -> str:
    """Return a cell as it is printed.

    >>> cell_text(0.00001, "p"), cell_text(0.0139529, "p"), cell_text(2.8922, "df"), cell_text(42.0, "df")
    ('< 0.0001', '0.0140', '2.89', '42')
    """
    if cell is None or (isinstance(cell, float) and cell != cell):
        return "–"
    if isinstance(cell, str):
        return cell
    if kind == "p":
        return p_text(cell)
    if kind == "df":
        return f"{cell:.0f}" if abs(cell - round(cell)) < 1e-6 else f"{cell:.2f}"
    if kind == "f":
        return f"{cell:.2f}"
    if kind[1:].isdigit() and isfinite(cell):
        return f"{cell:,.{kind[1:]}f}"
    return number_text(cell, 4) if isfinite(cell) else ("no limit" if cell > 0 else "no lower limit")


def p_text(p: float) -> str:
    """Return a p value, small ones as a bound."""
    return f"< {SMALLEST_P:.4f}" if p < SMALLEST_P else f"{p:.4f}" if p < 0.1 else f"{p:.3f}"


def p_words(p: float) -> str:
    """Return a p value as it stands in a sentence, with its sign.

    >>> p_words(0.00001), p_words(0.25)
    ('< 0.0001', '= 0.250')
    """
    return p_text(p) if p < SMALLEST_P else f"= {p_text(p)}"


def stars(p: float | None) -> str:
    """Return the usual mark of a p value: ns, *, **, ***."""
    if p is None or p != p:
        return ""
    return "***" if p < 0.001 else "**" if p < 0.01 else "*" if p < 0.05 else "ns"


def rounded(value: float, se: float) -> str:
    """Return a mean with one decimal fewer than its standard error, which has two significant digits.

    >>> rounded(1357.65, 54.76), rounded(12.345, 0.43)
    ('1358', '12.3')
    """
    return f"{value:.{max(0, decimals(se) - 1)}f}"


def decimals(se: float) -> int:
    """Return the decimals that show two significant digits."""
    return max(0, 1 - floor(log10(se))) if se > 0 and isfinite(se) else 0
