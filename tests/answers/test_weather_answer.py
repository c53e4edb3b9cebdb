from pathlib import Path

import pytest

from wetfoot.answers.weather import season_weather, weather_warnings
from wetfoot.errors import WetfootError
from wetfoot.plan.example import example_text
from wetfoot.plan.file import changed_text, plan_from_text


def test_weather_of_the_other_hemisphere_is_refused(season_folder: Path) -> None:
    plan = plan_from_text(changed_text(example_text(), {"site.latitude": -45.0}))
    with pytest.raises(WetfootError, match="more sun than can reach -45 degrees"):
        season_weather(plan, season_folder)


def test_a_cold_start_and_frost_are_told_with_their_effect(season_folder: Path) -> None:
    plan = plan_from_text(changed_text(example_text(), {"crop.planting": "2027-03-01"}))
    weather, laid = season_weather(plan, season_folder)
    told = " ".join(weather_warnings(plan, weather, laid))
    assert "rots it" in told
    assert "frost" in told


def test_every_finding_is_listed_when_asked_for(season_folder: Path) -> None:
    plan = plan_from_text(example_text())
    weather, laid = season_weather(plan, season_folder)
    assert len(weather_warnings(plan, weather, laid, all_findings=True)) >= len(weather_warnings(plan, weather, laid))
