"""Take records into a season's book from a file, and give them out again."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from wetfoot.answers.readings import book_location
from wetfoot.answers.recording import places_of
from wetfoot.answers.stock_entering import all_findings
from wetfoot.book.exchange import ImportReport, export_records, import_records
from wetfoot.book.opening import open_book
from wetfoot.book.records import all_current
from wetfoot.plan.file import plan_path, read_plan
from wetfoot.stock.findings import Finding

MOST_ROWS_NAMED = 8


@dataclass(frozen=True)
class Imported:
    """What became of each row of a file, and what cannot be now that its rows are in the book, with the rows named."""

    file: str
    report: ImportReport
    contradictions: tuple[str, ...] = ()

    def lines(self) -> list[str]:
        """Return the outcome as lines to print: counts first, then every doubtful and every unread row."""
        report = self.report
        lines = [
            f"{self.file}: {len(report.recorded)} recorded, {len(report.doubtful)} of them as doubtful, "
            f"{len(report.already_there)} already there, {len(report.held)} kept aside unread."
        ]
        lines += [f"  row {row.row}, doubtful: {row.reason}" for row in report.doubtful]
        lines += [f"  row {row.row}, kept aside: {row.reason}" for row in report.held]
        lines += [f"  cannot be: {words}" for words in self.contradictions]
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
            "contradictions": list(self.contradictions),
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
        before = {finding.words for finding in all_findings(plan, all_current(book))}
        report = import_records(
            book, file, zone=plan.site.zone, places=places_of(plan), who=who or "not said", now=datetime.now(UTC)
        )
        found = [each for each in all_findings(plan, all_current(book)) if each.words not in before]
    return Imported(file.name, report, tuple(_with_rows(each, report) for each in found if each.kind != "open"))


def _with_rows(finding: Finding, report: ImportReport) -> str:
    """Return what cannot be with the rows of the file that say so."""
    rows = sorted({each.row for each in (*report.recorded, *report.already_there) if each.id in finding.ids})
    shown = ", ".join(str(row) for row in rows[:MOST_ROWS_NAMED])
    more = f" and {len(rows) - MOST_ROWS_NAMED} more" if len(rows) > MOST_ROWS_NAMED else ""
    return f"{finding.words} (row{'' if len(rows) == 1 else 's'} {shown}{more})" if rows else finding.words


def export_file(folder: Path, file: Path) -> int:
    """Write every record of the season's book to a CSV or XLSX file, and return how many.

    Raises:
        WetfootError: if plan, book or file cannot be used.
    """
    plan, where = read_plan(folder), plan_path(folder).parent
    with open_book(book_location(plan, where)) as book:
        return export_records(book, file, overwrite=True)
