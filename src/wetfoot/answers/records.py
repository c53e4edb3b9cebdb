"""Take records into a season's book from a file, and give them out again."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from wetfoot.answers.readings import book_location
from wetfoot.answers.recording import places_of
from wetfoot.book.exchange import ImportReport, export_records, import_records
from wetfoot.book.opening import open_book
from wetfoot.plan.file import plan_path, read_plan


@dataclass(frozen=True)
class Imported:
    """What became of each row of a file."""

    file: str
    report: ImportReport

    def lines(self) -> list[str]:
        """Return the outcome as lines to print: counts first, then every doubtful and every unread row."""
        report = self.report
        lines = [
            f"{self.file}: {len(report.recorded)} recorded, {len(report.doubtful)} of them as doubtful, "
            f"{len(report.already_there)} already there, {len(report.held)} kept aside unread."
        ]
        lines += [f"  row {row.row}, doubtful: {row.reason}" for row in report.doubtful]
        lines += [f"  row {row.row}, kept aside: {row.reason}" for row in report.held]
        if report.kept_in_notes:
            lines.append(f"  columns not known, kept in the notes: {', '.join(report.kept_in_notes)}")
        if report.left_out:
            lines.append(f"  worksheets not read: {', '.join(report.left_out)}")
        if report.held:
            lines.append("  Correct the rows kept aside in the file and import it again; nothing is recorded twice.")
        return lines

    def record(self) -> dict[str, Any]:
        """Return the outcome for machines."""
        report = self.report
        answer = {
            "recorded": len(report.recorded),
            "already there": len(report.already_there),
            "doubtful": [{"row": row.row, "why": row.reason} for row in report.doubtful],
            "held": [{"row": row.row, "why": row.reason} for row in report.held],
        }
        return {"answer": answer, "units": "base", "trace": {"file": self.file}, "warnings": self.lines()[1:]}


def import_file(folder: Path, file: Path, who: str = "") -> Imported:
    """Take the records of a CSV or XLSX file into the season's book.

    Raises:
        WetfootError: if plan, book or file cannot be used.
    """
    plan, where = read_plan(folder), plan_path(folder).parent
    with open_book(book_location(plan, where)) as book:
        report = import_records(
            book, file, zone=plan.site.zone, places=places_of(plan), who=who or "not said", now=datetime.now(UTC)
        )
    return Imported(file.name, report)


def export_file(folder: Path, file: Path) -> int:
    """Write every record of the season's book to a CSV or XLSX file, and return how many.

    Raises:
        WetfootError: if plan, book or file cannot be used.
    """
    plan, where = read_plan(folder), plan_path(folder).parent
    with open_book(book_location(plan, where)) as book:
        return export_records(book, file, overwrite=True)
