"""What is handed to the one who computes a site, and what comes back; nothing heavy, as every process reads it."""

from __future__ import annotations

from typing import Any, NamedTuple

from wetfoot.answers.computed_log import sha256_of
from wetfoot.errors import Problem

REFUSED = "refused"


class SiteRow(NamedTuple):
    """A row of the table.

    Attributes:
        table: the table's file name.
        number: of the row as a spreadsheet counts, the headings being row 1.
        site, design: its names.
        plan_file: the file in the season's folder that it changes.
        cells: what it changes there, as typed, by dotted key.
        problems: what is wrong with the row itself.
    """

    table: str
    number: int
    site: str
    design: str
    plan_file: str
    cells: dict[str, str]
    problems: tuple[Problem, ...] = ()

    def place(self, column: str = "") -> str:
        """Return where in the table something is."""
        named = f" ({', '.join(part for part in (self.site, self.design) if part)})" if self.site else ""
        return f"{self.table}, row {self.number}{named}" + (f", column {column}" if column else "")


class SiteTask(NamedTuple):
    """A row to be computed, in which season folder, how often and from which seed."""

    row: SiteRow
    folder: str
    runs: int
    seed: int


class SiteResult(NamedTuple):
    """What a row came to.

    Attributes:
        inputs: all that the numbers depend on; files by their SHA-256.
        row: the key numbers, with units in the names; without them if it was refused.
        problems: why it was refused, if it was.
        seconds: that it took.
        kept: whether the same inputs would give the same again, so that it need not be computed twice.
    """

    inputs: dict[str, Any]
    row: dict[str, Any]
    problems: tuple[dict[str, str], ...]
    seconds: float
    kept: bool = True

    @property
    def inputs_sha256(self) -> str:
        """The SHA-256 of the inputs."""
        return sha256_of(self.inputs)


def failure(row: SiteRow, what: str) -> tuple[dict[str, str], ...]:
    """Return a fault that is not the row's, as its problems are told."""
    return ({"where": row.place(), "what": what, "allowed": "", "fix": "run it again; if it stays, tell us"},)


def died(task: SiteTask) -> SiteResult:
    """Return what a site came to whose process was lost again and again."""
    problems = failure(task.row, "the process that computed it died again and again (killed, or out of memory)")
    named = {"site": task.row.site, "design": task.row.design, "row": task.row.number, "verdict": REFUSED}
    return SiteResult({}, named, problems, 0.0, kept=False)
