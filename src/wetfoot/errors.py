"""The one error that people see, and the parts every such message must have."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Problem:
    """One thing that is wrong with what a person gave us.

    Attributes:
        where: the field or place, e.g. ``banks[1].valve_seat`` or ``weather.csv, 2014-03-02``.
        what: what is wrong, with the value that was given.
        allowed: what would be accepted.
        fix: what to do about it.
    """

    where: str
    what: str
    allowed: str = ""
    fix: str = ""

    def __str__(self) -> str:
        """Return the problem as one readable sentence group."""
        parts = [f"{self.where}: {self.what}."]
        if self.allowed:
            parts.append(f"Allowed: {self.allowed}.")
        if self.fix:
            parts.append(f"To mend it: {self.fix}.")
        return " ".join(parts)


class WetfootError(Exception):
    """Input that was refused, with every problem that was found in it."""

    def __init__(self, problems: Problem | Iterable[Problem]) -> None:
        self.problems: tuple[Problem, ...] = (problems,) if isinstance(problems, Problem) else tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


def refuse(where: str, what: str, allowed: str = "", fix: str = "") -> WetfootError:
    """Return a `WetfootError` with a single problem, ready to be raised."""
    return WetfootError(Problem(where, what, allowed, fix))
