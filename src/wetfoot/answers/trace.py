"""What every answer is made of: numbers that can be traced, and words that say what they mean."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite
from typing import Any, Literal

from wetfoot.quantities import System, convert, number_text, show, unit_label

State = Literal["yes", "watch", "no"]

SEED = 20  # of all that is drawn for an answer: the same for everyone, so that two people see the same odds


@dataclass(frozen=True)
class Number:
    """A number with its unit, how it was computed and from what, its source, and how far it can be trusted.

    Attributes:
        name: what it is, in a few words.
        value: in the base unit of its kind, or plain where ``kind`` is empty.
        how: the computation and its inputs, in words.
        source: where the formula or the value comes from.
        kind: a kind of `quantities`, or empty for counts.
        unit: what is counted, where there is no kind.
        low: the value that one case in ten stays below, where that is known.
        high: the value that one case in ten goes above.
    """

    name: str
    value: float
    how: str
    source: str
    kind: str = ""
    unit: str = ""
    low: float | None = None
    high: float | None = None

    def text(self, system: System) -> str:
        """Return the value with its unit and, where it has one, its range."""
        if self.low is None or self.high is None:
            return self._one(self.value, system)
        return f"{self._one(self.value, system)} ({self._bare(self.low, system)} to {self._bare(self.high, system)})"

    def _one(self, value: float, system: System) -> str:
        if self.kind:
            return show(value, self.kind, system)
        return f"{number_text(value)} {self.unit}".strip() if isfinite(value) else number_text(value)

    def _bare(self, value: float, system: System) -> str:
        return number_text(float(convert(value, self.kind, system)) if self.kind else value)

    def record(self, system: System) -> dict[str, Any]:
        """Return the number for machines: converted to the system's unit, with its trace."""
        convert_ = (
            (lambda x: None if x is None else float(convert(x, self.kind, system))) if self.kind else (lambda x: x)
        )
        unit = unit_label(self.kind, system) if self.kind else self.unit
        values = {"value": convert_(self.value), "low": convert_(self.low), "high": convert_(self.high)}
        return {"name": self.name, **values, "unit": unit, "how": self.how, "source": self.source}


@dataclass(frozen=True)
class Answer:
    """A question of the season with its verdict, the words that go with it, its numbers and its warnings."""

    question: str
    state: State
    words: str
    numbers: tuple[Number, ...]
    warnings: tuple[str, ...] = ()

    def record(self, system: System) -> dict[str, Any]:
        """Return the answer for machines."""
        return {
            "question": self.question,
            "state": self.state,
            "words": self.words,
            "numbers": [number.record(system) for number in self.numbers],
            "warnings": list(self.warnings),
        }


def worst(states: list[State]) -> State:
    """Return the worst of several verdicts, 'yes' if there is none."""
    order: tuple[State, ...] = ("yes", "watch", "no")
    return max(states, key=order.index, default="yes")
