"""What is wrong and what is risky in a season's folder, without computing the season."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from wetfoot.answers.health import folder_health
from wetfoot.answers.weather import season_weather, weather_warnings
from wetfoot.errors import WetfootError
from wetfoot.plan.file import plan_path, read_plan
from wetfoot.plan.model import Plan
from wetfoot.plan.risks import risks


@dataclass(frozen=True)
class Checked:
    """A plan that can be built, its weather in words, what is in order in its folder, and what is risky."""

    plan: Plan
    weather: str
    sound: tuple[str, ...]
    warnings: tuple[str, ...]

    def record(self) -> dict[str, Any]:
        """Return the result for machines."""
        answer = {"plan": self.plan.title, "can be built": True, "weather": self.weather, "sound": list(self.sound)}
        return {"answer": answer, "units": self.plan.units, "trace": {}, "warnings": list(self.warnings)}


def check_season(folder: Path) -> Checked:
    """Return what is risky in a season's folder: plan, weather, book, backups, disk.

    Raises:
        WetfootError: with everything that is wrong in the plan; or else in the book; or else in the weather file.
    """
    plan, where = read_plan(folder), plan_path(folder).parent
    health = folder_health(plan, where)
    if health.problems:
        raise WetfootError(health.problems)
    weather, laid = season_weather(plan, where)
    words = f"Weather: {weather.source}, {len(laid.runs)} season(s)."
    risky = (*risks(plan), *weather_warnings(plan, weather, laid, all_findings=True))
    return Checked(plan, words, health.sound, (*risky, *health.warnings))
