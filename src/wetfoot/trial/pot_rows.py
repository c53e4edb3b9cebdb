"""The rows of a trial while they are read, and the doubts about them."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from wetfoot.trial.weights import Reading

NOT_SAID = "not said"
OUT, IN, LOST = "left out until it is settled", "used as it stands", "counted as lost"


@dataclass(frozen=True)
class Doubt:
    """A doubtful value: where it stands, what is doubtful, and what was done about it."""

    row: int
    pot: str
    column: str
    value: str
    what: str
    done: str


@dataclass
class PotRow:
    """A row while it is being read."""

    number: int
    pot: str
    typed: str
    reading: Reading
    labels: dict[str, str] = field(default_factory=dict)
    lost: str = ""
    value: float = math.nan
    state: str = "used"

    def leave_out(self) -> None:
        """Take the row's value out of use; the row stays."""
        self.value, self.state = math.nan, "left out"


class Rows:
    """The rows being read, and the doubts so far."""

    def __init__(self, rows: list[PotRow], response: str) -> None:
        self.rows = rows
        self.response = response
        self.doubts: list[Doubt] = []

    def doubt(self, row: PotRow, what: str, done: str, column: str | None = None, value: str | None = None) -> None:
        """Write down a doubt; `OUT` also takes the row's value out of use."""
        if done == OUT:
            row.leave_out()
        self.doubts.append(
            Doubt(row.number, row.pot, column or self.response, row.typed if value is None else value, what, done)
        )


def level_key(cell: str) -> str:
    """Return a level in small letters, numbers in one way: 2 and 2.0 are one level."""
    try:
        return f"{float(cell):g}"
    except ValueError:
        return cell.casefold()
