"""The sheet on which every number can be traced: how computed, from what, by whose formula, how spread."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from wetfoot.answers.dossier import Dossier
from wetfoot.answers.trace import Number
from wetfoot.quantities import System
from wetfoot.sheets.press import LONGEST_CELL, Sheet, short


def trace(dossier: Dossier) -> Sheet:
    """Return the sheet of traces; sources are listed once and referred to by number."""
    system, groups = dossier.plan.units, _groups(dossier)
    sources = list(dict.fromkeys(number.source for _, numbers in groups for number in numbers))
    known = dossier.trace()
    says = {
        "groups": [
            {"question": question, "numbers": [_row(number, sources, system) for number in numbers]}
            for question, numbers in groups
        ],
        "sources": sources,
        "computed": [[key, _words(value)] for key, value in known.items()],
        "inputs": [[key, _words(value)] for key, value in plan_values(dossier.plan.model_dump())],
    }
    return Sheet("trace.typ", "Traces", says)


def plan_values(value: Any, key: str = "") -> Iterator[tuple[str, Any]]:
    """Yield every value of a plan with its path, as it is computed with: the unit is the end of the name."""
    if isinstance(value, dict):
        for name, inner in value.items():
            step = short(str(name), LONGEST_CELL)
            yield from plan_values(inner, f"{key}.{step}" if key else step)
    elif isinstance(value, (list, tuple)):
        for index, inner in enumerate(value):
            yield from plan_values(inner, f"{key}[{index}]")
    elif value is not None:
        yield key, value


def _groups(dossier: Dossier) -> list[tuple[str, tuple[Number, ...]]]:
    return [
        *((answer.question, answer.numbers) for answer in dossier.answers),
        *((f"What does nest {name} hold?", numbers) for name, numbers in dossier.nests.items()),
        ("What does it cost?", (dossier.bill.total,)),
    ]


def _row(number: Number, sources: list[str], system: System) -> list[str]:
    return [number.name, number.text(system), number.how, f"[{sources.index(number.source) + 1}]"]


def _words(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.6g}"
    if isinstance(value, Iterable) and not isinstance(value, str):
        return ", ".join(str(each) for each in value)
    return str(value)
