"""Which pot a row is about: its code, check character and, with a layout, its place and treatment."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from wetfoot.trial.check_character import tidy, without_check
from wetfoot.trial.columns import Columns
from wetfoot.trial.designs import Layout, Plot
from wetfoot.trial.pot_rows import IN, LOST, NOT_SAID, OUT, PotRow, Rows, level_key
from wetfoot.trial.weights import Reading

CHECKED_SHARE = 0.8  # of codes whose last character fits, from which it is taken for a check character
LEAST_FITTING = 5  # codes; by chance one in 37 fits


def name_pots(table: Rows, column: str, layout: Layout | None) -> None:
    """Take the check characters off the codes where there are any, and doubt those that do not fit."""
    plots = {plot.pot for plot in layout.plots} if layout else set()
    codes = [without_check(row.pot) for row in table.rows]
    fitting = sum(code is not None for code in codes)
    checked = layout is not None or (fitting >= LEAST_FITTING and fitting >= CHECKED_SHARE * len(codes))
    numbers = {str(plot.number): plot.pot for plot in layout.recorded} if layout else {}
    for row, code in zip(table.rows, codes, strict=True):
        plain = tidy(row.pot)
        if not row.pot:
            table.doubt(row, "no code of a pot", OUT, column, row.pot)
        elif plain in plots or plain in numbers:
            row.pot = numbers.get(plain, plain)
        elif checked and code is not None:
            row.pot = code
        elif checked and (not plots or len(plain) == len(next(iter(plots))) + 1):
            table.doubt(row, "the check character does not fit: a character was misread", OUT, column, row.pot)


def hold_against_layout(table: Rows, cells: Mapping[str, Sequence[str]], found: Columns, layout: Layout) -> None:
    """Take treatments and places from the layout; doubt pots that it lacks, and add those that the file lacks."""
    plots = {plot.pot: plot for plot in layout.recorded}
    guards = {plot.pot for plot in layout.plots if plot.is_guard}
    roles = found.roles.values()  # a factor may be called pot, and so may the column of the codes
    free = [factor.name for factor in layout.recipe.factors if factor.name in cells and factor.name not in roles]
    for at, row in enumerate(table.rows):
        plot = plots.get(row.pot)
        if plot is None:
            what = "a guard pot, which is not recorded" if row.pot in guards else "no pot of the layout"
            if row.state != "left out":
                table.doubt(row, what, OUT, found.roles["pot"], row.pot)
            row.labels = {}
            continue
        in_file = {name: cells[name][at] for name in free} | row.labels
        row.labels = _labels_of(plot, layout)
        for name, cell in in_file.items():
            if cell and name in row.labels and level_key(cell) != level_key(row.labels[name]):
                what = f"the layout has {row.labels[name]!r}, which was taken"
                table.doubt(row, what, IN, found.roles.get(name, name), cell)
    there = {row.pot for row in table.rows}
    for plot in layout.recorded:
        if plot.pot not in there:
            row = PotRow(0, plot.pot, "", Reading(), _labels_of(plot, layout), NOT_SAID, state="lost")
            table.rows.append(row)
            table.doubt(row, "in the layout, but not in the file", LOST)


def _labels_of(plot: Plot, layout: Layout) -> dict[str, str]:
    names = [factor.name for factor in layout.recipe.factors]
    places = {
        "block": f"{plot.block}",
        "board": plot.board,
        "position": f"{plot.position}",
        "year": f"{layout.recipe.year}",
    }
    return places | dict(zip(names, plot.treatment, strict=True))
