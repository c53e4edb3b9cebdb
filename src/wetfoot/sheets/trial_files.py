"""The files of a trial: what is printed before planting, and the report afterwards."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from wetfoot.answers.trial_layout import LaidOut
from wetfoot.answers.trial_report import Report
from wetfoot.drawing.trial_map import trial_map
from wetfoot.errors import refuse
from wetfoot.plan.file import PLAN_FILE, read_plan
from wetfoot.sheets.files import write_whole
from wetfoot.sheets.labels import labels
from wetfoot.sheets.press import Head, Sheet, head_of, press
from wetfoot.sheets.trial_forms import scoring_form, weighing_list
from wetfoot.sheets.trial_report import DATED, NO_SEASON, advice_sheet, report_head, report_sheet
from wetfoot.sheets.trial_workbook import trial_workbook
from wetfoot.trial.layout_file import read_layout, save_layout

GRIDS = {"metric": "a4-21", "US": "letter-30"}
LAYOUT_FILES = ("layout.csv", "map.svg", "labels.pdf", "weighing.pdf", "scoring.pdf")
REPORT_FILES = ("trial-recommendation.pdf", "trial-report.pdf", "trial-report.xlsx")


@dataclass(frozen=True)
class LabelWish:
    """How labels are printed: the grid (usual for the paper if empty), first free label, offset, labels a pot."""

    grid: str = ""
    start: int = 1
    offset_mm: tuple[float, float] = (0.0, 0.0)
    per_pot: int = 1


def write_layout(laid: LaidOut, folder: Path, wish: LabelWish | None = None, replace: bool = False) -> tuple[Path, ...]:
    """Write a layout with all that is printed of it.

    Args:
        laid: the drawn trial.
        folder: where to; into its ``trial`` folder if it is a season's.
        wish: how labels are printed.
        replace: write over another layout that is there.

    Raises:
        WetfootError: if another layout is there, labels cannot be printed so, or files cannot be written.
    """
    wish = wish or LabelWish()
    plan = read_plan(folder) if (folder / PLAN_FILE).is_file() else None
    home = folder / "trial" if plan else folder
    paths = tuple(home / name for name in LAYOUT_FILES)
    if paths[0].exists() and not replace and read_layout(paths[0]) != laid.layout:
        raise refuse(str(paths[0]), "another layout is here already", "a folder without one",
                     "name another folder, or say --replace if nothing was planted by it")  # fmt: skip
    name = f"Trial {laid.layout.recipe.year}"
    head = head_of(plan) if plan else Head(name, NO_SEASON, "metric", DATED, False)
    grid = wish.grid or GRIDS[head.units]
    sheets = (
        labels(laid.layout, grid, wish.start, wish.offset_mm, wish.per_pot),
        weighing_list(laid.layout, head.units),
        scoring_form(laid.layout),
    )
    pdfs = [press(sheet, head) for sheet in sheets]
    title = f"{name}, {plan.title}" if plan else name
    write_whole(paths[1], trial_map(laid.layout, title).encode())
    for path, pdf in zip(paths[2:], pdfs, strict=True):
        write_whole(path, pdf)
    save_layout(laid.layout, paths[0])
    return paths


def write_report(made: Report, folder: Path) -> tuple[Path, ...]:
    """Write a report: the page for the grower if there is advice, the pages for whoever checks it, and the workbook.

    Raises:
        WetfootError: if a file cannot be written.
    """
    advice = advice_sheet(made)
    sheets: list[tuple[str, Sheet]] = [(REPORT_FILES[0], advice)] if advice else []
    sheets.append((REPORT_FILES[1], report_sheet(made)))
    content = {name: press(sheet, report_head(made)) for name, sheet in sheets}
    content[REPORT_FILES[2]] = trial_workbook(made)
    for name, whole in content.items():
        write_whole(folder / name, whole)
    return tuple(folder / name for name in content)
