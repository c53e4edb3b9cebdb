"""The sheets of planting stock: each as PDF from the season's plan and book, and all that were asked for as files."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import date
from hashlib import sha256
from pathlib import Path
from typing import Any

from wetfoot import __version__
from wetfoot.answers.dispatch import dispatch
from wetfoot.answers.exposure import exposure
from wetfoot.answers.inspection import USUAL, Inspection, inspection
from wetfoot.answers.pedigree import pedigree
from wetfoot.answers.sampled_pots import SampledPots
from wetfoot.answers.sampling import Wish
from wetfoot.answers.stock_records import stock_state
from wetfoot.plan.model import Plan
from wetfoot.sheets.dispatch_note import dispatch_sheet
from wetfoot.sheets.exposure_report import exposure_sheet
from wetfoot.sheets.files import write_whole
from wetfoot.sheets.inspection import inspection_sheet
from wetfoot.sheets.lot_labels import lot_labels
from wetfoot.sheets.pedigree import pedigree_sheet
from wetfoot.sheets.press import press

FOLDER = Path("sheets") / "stock"
LONGEST_FILE_NAME = 40


@dataclass(frozen=True)
class LabelsWish:
    """How lots' labels are printed: grid (the paper's usual one if empty), first free label, offset, labels a lot."""

    grid: str = ""
    start: int = 1
    offset_mm: tuple[float, float] = (0.0, 0.0)
    each: int = 1


@dataclass(frozen=True)
class InspectionWish:
    """What the sample of an inspection shall find, of which agent, drawn with which seed (the day's if empty)."""

    sample: Wish = USUAL
    agent: str = "bacterial wilt"
    seed: str = ""


@dataclass(frozen=True)
class ShipmentWish:
    """What shall go: the lot, to whom, how much, with which permit as typed."""

    lot: str
    to: str
    kg: float
    permit: str = ""


@dataclass(frozen=True)
class StockWish:
    """Which sheets of planting stock are asked for.

    Attributes:
        on: the day of the inspection and of what is sent.
        lots: whose labels and pedigrees; all lots of the book if none is named and nothing else is asked for.
        suspect: a pot, lot or batch for the exposure report.
        agent: the suspect's disease, a key of `stock.exposure.AGENTS`.
        ship: what shall go.
        labels: how labels are printed.
        inspection: what the inspection's sample shall find.
    """

    on: date
    lots: tuple[str, ...] = ()
    suspect: str = ""
    agent: str = "not known"
    ship: ShipmentWish | None = None
    labels: LabelsWish = field(default_factory=LabelsWish)
    inspection: InspectionWish = field(default_factory=InspectionWish)


def labels_pdf(plan: Plan, folder: Path, lots: tuple[str, ...] = (), wish: LabelsWish | None = None) -> bytes:
    """Return the labels of lots, of all lots if none is named, as PDF."""
    wish = wish or LabelsWish()
    return press(lot_labels(plan, folder, lots, wish.grid, wish.start, wish.offset_mm, wish.each), plan)


def pedigree_pdf(plan: Plan, folder: Path, lot: str) -> bytes:
    """Return the pedigree of a lot as PDF."""
    return press(pedigree_sheet(pedigree(plan, folder, lot)), plan)


def looked_at(plan: Plan, folder: Path, on: date, wish: InspectionWish) -> Inspection:
    """Return the inspection of a day as it was wished."""
    return inspection(plan, folder, on, wish.sample, wish.agent, wish.seed)


def inspection_pdf(plan: Plan, folder: Path, on: date, wish: InspectionWish | None = None) -> bytes:
    """Return the inspection list of a day as PDF."""
    return press(inspection_sheet(looked_at(plan, folder, on, wish or InspectionWish())), plan)


def exposure_pdf(
    plan: Plan, folder: Path, suspect: str, agent: str = "not known", since: date | None = None
) -> bytes:  # fmt: skip
    """Return the report of who was exposed by a suspect as PDF."""
    return press(exposure_sheet(exposure(plan, folder, suspect, agent, since), folder), plan)


def dispatch_pdf(plan: Plan, folder: Path, ship: ShipmentWish, on: date) -> bytes:
    """Return the note that goes along with seed as PDF; refused for a lot that is on hold or exposed."""
    return press(dispatch_sheet(dispatch(plan, folder, ship.lot, ship.to, ship.kg, on, ship.permit)), plan)


@dataclass(frozen=True)
class StockSheets:
    """What was written: the files, and the sample of the inspection list if there is one."""

    files: tuple[Path, ...]
    sample: SampledPots | None = None

    def record(self, plan: Plan) -> dict[str, Any]:
        """Return what was written for machines: answer, units, trace, warnings."""
        answer: dict[str, Any] = {"files": [str(path) for path in self.files]}
        warnings: list[str] = []
        trace: dict[str, Any] = {"plan": plan.title, "wetfoot": __version__}
        if self.sample:
            told = self.sample.answer
            answer["sample"] = {**told.record(plan.units), "pools": [list(pool) for pool in self.sample.pools]}
            trace["seed"] = self.sample.seed
            warnings += told.warnings
        return {"answer": answer, "units": plan.units, "trace": trace, "warnings": warnings}


def write_stock_sheets(plan: Plan, folder: Path, wish: StockWish) -> StockSheets:
    """Write the sheets that were asked for into ``sheets/stock`` of a season's folder.

    With nothing named: the inspection list of the day, and labels and pedigrees of all lots.

    Raises:
        WetfootError: if one of them cannot be made; then none is written.
    """
    usual = not (wish.lots or wish.suspect or wish.ship)
    lots = tuple(stock_state(plan, folder).lots) if usual else wish.lots
    look, content = None, {}
    if lots:
        content["lot-labels.pdf"] = labels_pdf(plan, folder, lots, wish.labels)
    for lot in lots:
        content[f"pedigree-{file_name(lot)}.pdf"] = pedigree_pdf(plan, folder, lot)
    if usual:
        look = looked_at(plan, folder, wish.on, wish.inspection)
        content[f"inspection-{wish.on}.pdf"] = press(inspection_sheet(look), plan)
    if wish.suspect:
        content[f"exposure-{file_name(wish.suspect)}.pdf"] = exposure_pdf(plan, folder, wish.suspect, wish.agent)
    if ship := wish.ship:
        content[f"dispatch-{file_name(ship.lot)}-{wish.on}.pdf"] = dispatch_pdf(plan, folder, ship, wish.on)
    for name, pdf in content.items():
        write_whole(folder / FOLDER / name, pdf)
    return StockSheets(tuple(folder / FOLDER / name for name in content), look.sample if look else None)


def file_name(name: str) -> str:
    """Return a name as part of a file's name: letters, digits and dashes, with a sum where more than spaces changed.

    >>> file_name("G1-2026"), file_name("East 3")
    ('G1-2026', 'East-3')
    """
    plain = re.sub(r"[^A-Za-z0-9]+", "-", name).strip("-")[:LONGEST_FILE_NAME]
    same = plain == name or plain.replace("-", " ") == name
    return plain if same else f"{plain or 'name'}-{sha256(name.encode()).hexdigest()[:6]}"
