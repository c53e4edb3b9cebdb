"""What to do at a visit, from a season's folder alone."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from wetfoot.answers.calendar import calendar
from wetfoot.answers.solution import mix
from wetfoot.answers.today import Today, today
from wetfoot.answers.trace import SEED
from wetfoot.answers.weather import season_weather
from wetfoot.plan.file import plan_path, read_plan
from wetfoot.quantities import parse_day
from wetfoot.season.ensemble import run_ensemble


def visit_today(folder: Path, on: str = "", runs: int = 100, progress: Callable[[int], None] | None = None) -> Today:
    """Return what to do at a visit.

    Args:
        folder: the season's folder, or the plan's file.
        on: the day as an ISO date; the site's today if empty.
        runs: how often the season is computed.
        progress: called with the number of runs done.

    Raises:
        WetfootError: if plan, weather or book cannot be used, or the day is none.
    """
    plan, where = read_plan(folder), plan_path(folder).parent
    day = parse_day(on, "--on") if on else datetime.now(ZoneInfo(plan.site.zone)).date()
    _, seasons = season_weather(plan, where)
    ensemble = run_ensemble(plan, seasons, runs, SEED, progress)
    entries = calendar(plan, ensemble, mix(plan, ensemble))
    return today(plan, where, day, seasons, ensemble, entries)
