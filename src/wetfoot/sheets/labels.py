"""Labels for the pots of a trial: a QR code, the same in text with its check character, plot and treatment."""

from __future__ import annotations

from typing import Any

from wetfoot.drawing.qr import qr_drawing, qr_modules
from wetfoot.errors import refuse
from wetfoot.sheets.label_grid import Grid, label_grid, places
from wetfoot.sheets.press import Sheet, short
from wetfoot.trial.check_character import check_character
from wetfoot.trial.designs import Layout, Plot

EDGE_MM = 1.5  # kept clear for sheets that are fed askew
LOW_EDGE_MM = 0.5  # on labels lower than LOW_MM
LOW_MM = 16.0
LARGEST_MODULE_MM, SMALLEST_MODULE_MM = 0.75, 0.35  # read well by phones: common practice, no source
MOST_OFFSET_MM = 10.0
QR_SHARE = 0.42  # of a label's width, at most
LONGEST_TOLD = 54  # letters of a treatment


def labels(
    layout: Layout,
    grid: str = "a4-21",
    start: int = 1,
    offset_mm: tuple[float, float] = (0.0, 0.0),
    per_pot: int = 1,
    blind: bool | None = None,
) -> Sheet:
    """Return the labels of a layout's recorded pots, in the order of the walk.

    Args:
        layout: the drawn trial.
        grid: name of the sheet's grid in ``label_grids.toml``.
        start: number of the first free label on the first sheet, from 1, along the rows.
        offset_mm: how far to move everything to the right and down, for a printer that prints beside the labels.
        per_pot: labels a pot, e.g. 2 for rim and stake; they stand beside each other.
        blind: whether the treatment is told by its code only; as the recipe has it if not said.

    Raises:
        WetfootError: if there is no such grid or label, or an offset or number of labels makes no sense.
    """
    sheet = label_grid(grid)
    if not (1 <= per_pot <= 4 and all(abs(offset) <= MOST_OFFSET_MM for offset in offset_mm)):
        allowed = f"1 to 4 labels a pot, offsets to {MOST_OFFSET_MM:g} mm either way"
        raise refuse("labels", f"{per_pot} a pot, offset {offset_mm[0]:g}, {offset_mm[1]:g} mm", allowed, "change it")
    hide = layout.recipe.blind if blind is None else blind
    plots = [plot for plot in layout.recorded for _ in range(per_pot)]
    pages: list[list[dict[str, Any]]] = []
    for plot, (number, place) in zip(plots, places(sheet, len(plots), start), strict=True):
        if number == len(pages):
            pages.append([])
        x, y = sheet.corner_mm(place)
        pages[number].append({"at": [x + offset_mm[0], y + offset_mm[1]], **_said(layout, plot, hide)})
    side = qr_side_mm(sheet, qr_modules(max((plot.label for plot in plots), key=len)))
    says = {"size": sheet.page_mm, "label": sheet.size_mm, "edge": _edge_mm(sheet), "qr": side, "pages": pages}
    return Sheet("labels.typ", "Labels", says, {plot.pot: qr_drawing(plot.label) for plot in layout.recorded})


def qr_side_mm(grid: Grid, modules: int) -> float:
    """Return the side of the QR code on a label, clear margin included; its modules are as large as there is room.

    Raises:
        WetfootError: if its modules would be too small to be read.
    """
    width, height = grid.size_mm
    module = min(LARGEST_MODULE_MM, (height - 2 * _edge_mm(grid)) / modules, QR_SHARE * width / modules)
    if module < SMALLEST_MODULE_MM:
        what = f"a QR code of {modules} modules on labels of {width:g} x {height:g} mm"
        raise refuse("grid", what, f"modules of {SMALLEST_MODULE_MM} mm or more", "choose larger labels")
    return module * modules


def _edge_mm(grid: Grid) -> float:
    return LOW_EDGE_MM if grid.size_mm[1] < LOW_MM else EDGE_MM


def _said(layout: Layout, plot: Plot, hide: bool) -> dict[str, Any]:
    """Return what stands on a label."""
    levels = zip(layout.recipe.factors, plot.treatment, strict=True)
    told = "" if hide else short(", ".join(f"{factor.name} {level}" for factor, level in levels), LONGEST_TOLD)
    return {
        "pot": plot.pot,
        "check": check_character(plot.pot),
        "plot": f"{plot.number}",
        "code": plot.code,
        "told": told,
    }
