"""A whole report of a trial: its findings, its recommendation, and where its prices come from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from wetfoot.answers.trial_analysis import Findings, Wish, analyse
from wetfoot.answers.trial_answers import record
from wetfoot.answers.trial_choices import PIECE_KG, Worth, worth_of
from wetfoot.answers.trial_margin import read_margin
from wetfoot.answers.trial_recommendation import Recommendation, recommend
from wetfoot.answers.trial_table import Asked, read_table
from wetfoot.errors import Problem, WetfootError
from wetfoot.plan.file import PLAN_FILE, read_plan
from wetfoot.plan.model import Plan
from wetfoot.quantities import System, parse
from wetfoot.trial.layout_file import read_layout

TRIAL_FOLDER = "trial"


@dataclass(frozen=True)
class Report:
    """A trial's findings and recommendation, with the plan they were made for, if any."""

    findings: Findings
    recommendation: Recommendation | None
    plan: Plan | None

    @property
    def units(self) -> System:
        """Return the units of the words: the plan's, else metric."""
        return self.plan.units if self.plan else "metric"

    @property
    def title(self) -> str:
        """Return what the report is about."""
        return self.plan.title if self.plan else ", ".join(self.findings.table.sources)

    def record(self) -> dict[str, Any]:
        """Return the report for machines."""
        found = record(self.findings)
        advice = self.recommendation
        if advice:
            suggestion = vars(advice.suggestion) if advice.suggestion else None
            found["answer"]["recommendation"] = {
                "pieces": advice.pieces,
                "headline": advice.headline,
                "paragraphs": dict(advice.lines),
                "depends_on_what_is_short": advice.depends,
                "choices": [vars(choice) for choice in _without_nan(advice.choices.choices)],
                "suggested_for_the_plan": suggestion,
                **advice.answer.record(self.units),
            }
        return {**found, "units": self.units}


def _without_nan(choices: Sequence[Any]) -> list[Any]:
    return [replace(c, split=None) if c.split != c.split else c for c in choices]


def trial_report(
    files: Sequence[Path],
    asked: Asked | None = None,
    margins: Sequence[str] = (),
    piece: str = "",
    season: Path | None = None,
    alpha: float = 0.05,
    layout: Path | None = None,
) -> Report:
    """Return the report of a trial's tables.

    Args:
        files: tables, one for each year or all years in one.
        asked: what is known of the columns.
        margins: agreed losses as typed, e.g. ``pot=air by 5 %``.
        piece: mass of a seed piece as typed; the plan's, or 50 g, if empty.
        season: a season's folder for prices and losses; the folder around ``trial/`` if the files lie there.
        alpha: level of the tests.
        layout: the trial's layout, to read one file against.

    Raises:
        WetfootError: with everything that is wrong.
    """
    if layout is not None and len(files) > 1:
        raise WetfootError(Problem("layout", "one layout for several files", "one file", "analyse each year by itself"))
    home = season or season_around(files)
    plan = read_plan(home) if home else None
    piece_kg = parse(piece, "mass", "piece") if piece else None
    if piece_kg is not None and not 0.001 <= piece_kg <= 2.0:
        raise WetfootError(Problem("piece", f"{piece!r} is no mass of a seed piece", "1 g to 2 kg", "correct it"))
    worth = worth_of(plan, piece_kg) if plan else Worth(piece_kg=piece_kg or PIECE_KG)
    table = read_table(files, asked, read_layout(layout) if layout else None)
    wish = Wish(alpha, worth.seed_g_harvest, tuple(read_margin(typed) for typed in margins))
    findings = analyse(table, wish)
    units: System = plan.units if plan else "metric"
    return Report(findings, recommend(findings, worth, units, plan.site.name if plan else ""), plan)


def season_around(files: Sequence[Path]) -> Path | None:
    """Return the season's folder that tables in its trial folder belong to."""
    if files and files[0].parent.name == TRIAL_FOLDER and (files[0].parent.parent / PLAN_FILE).is_file():
        return files[0].parent.parent
    return None
