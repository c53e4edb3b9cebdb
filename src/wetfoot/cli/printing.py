"""Print answers, warnings and problems so that they read well in a terminal and in a pipe."""

from __future__ import annotations

import json
import textwrap
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

import typer

from wetfoot.errors import WetfootError

if TYPE_CHECKING:
    from wetfoot.answers.dossier import Dossier
    from wetfoot.answers.trace import Answer
    from wetfoot.quantities import System

WIDTH = 100
SHOWN_BANKS = 4
MARKS = {"yes": ("[yes]  ", "green"), "watch": ("[watch]", "yellow"), "no": ("[no]   ", "red")}


def print_json(result: dict[str, Any]) -> None:
    """Print a result for machines."""
    typer.echo(json.dumps(result, indent=2, ensure_ascii=False, default=str))


def print_problems(error: WetfootError) -> None:
    """Print every problem of refused input on standard error."""
    count = len(error.problems)
    typer.secho(f"Refused: {count} problem{'s' if count != 1 else ''}.", fg="red", bold=True, err=True)
    for problem in error.problems:
        typer.secho(f"\n{problem.where}", bold=True, err=True)
        typer.echo(_wrapped(problem.what), err=True)
        for label, words in (("allowed", problem.allowed), ("to mend it", problem.fix)):
            if words:
                typer.echo(_wrapped(f"{label}: {words}"), err=True)


def print_warnings(warnings: Iterable[str]) -> None:
    """Print what is risky."""
    for warning in warnings:
        typer.echo("\n" + _wrapped(f"! {warning}"))


def print_answers(dossier: Dossier) -> None:
    """Print each question with its verdict and numbers, then the warnings."""
    system = dossier.plan.units
    typer.secho(dossier.plan.title + (" (invented)" if dossier.plan.invented else ""), bold=True)
    banks = sorted(dossier.water[1:], key=lambda answer: -list(MARKS).index(answer.state))
    hidden = banks[SHOWN_BANKS:]
    for answer in dossier.answers:
        if any(answer is each for each in hidden):
            continue
        _print_verdict(answer, system)
    if hidden:
        typer.echo(f"\n{len(hidden)} more banks do no worse than those above; the sheet of traces lists them all.")
    print_warnings([warning for answer in dossier.answers for warning in answer.warnings])
    print_warnings(dossier.warnings)


def print_answer(answer: Answer, system: System) -> None:
    """Print one question with its verdict, numbers and warnings."""
    _print_verdict(answer, system)
    print_warnings(answer.warnings)


def _print_verdict(answer: Answer, system: System) -> None:
    mark, colour = MARKS[answer.state]
    typer.echo("\n" + typer.style(mark, fg=colour, bold=True) + " " + typer.style(answer.question, bold=True))
    typer.echo(_wrapped(answer.words))
    for number in answer.numbers:
        typer.echo(f"    {number.name}: {number.text(system)}")


def _wrapped(text: str) -> str:
    return textwrap.fill(text, WIDTH, initial_indent="  ", subsequent_indent="  ", break_long_words=False)
