"""Plans as earlier versions of the program wrote them are read for ever. All of them are invented examples.

`earlier/` holds the example of each version whose plan had other keys, unchanged since; the values below were read off
the text by hand and put into base units.
"""

from datetime import date
from pathlib import Path
from typing import Any

import pytest

from wetfoot.errors import WetfootError
from wetfoot.plan.file import changed_text, plan_from_text
from wetfoot.plan.model import Plan

EARLIER = Path(__file__).parent / "earlier"
NEST = {"set_level_m": 0.05, "overflow_height_m": 0.07, "wall_m": 0.002, "medium": "peat-perlite 3:1"}
BANK = {"pots": 10, "valve_seat_m": 0.0032, "lateral_bore_m": 0.016, "microtube_length_m": 0.3, "wrap": "white"}
SAYS: dict[str, dict[str, Any]] = {
    "first": {
        "title": "Example bench", "site.latitude_deg": 36.1, "site.elevation_m": 273.0, "goal.field_area_m2": 2000.0,
        "goal.field_planting": date(2028, 3, 20), "goal.seed_rate_kg_m2": 0.2, "goal.piece_mass_kg": 0.05,
        "goal.kept_back_kg": 25.0, "goal.loss_storage": 0.2, "tank.volume_l": 1000.0, "tank.base_height_m": 1.1,
        "supply_line.bore_m": 0.019, "banks.count": 2, "pots": 20, "solution.source_ec_ms_cm": 0.25,
        "solution.stock_b.magnesium sulfate heptahydrate": 49.0, "crop.planting": date(2027, 3, 15),
        "crop.half_cover_d": 110, "crop.salt_uptake_fraction": 0.9, "visits.every_d": 7, "costs.labour_per_hour": 18.0,
        "costs.salts_per_kg.potassium nitrate": 2.4,
        # what that version did not know takes the value that it computed with
        "nests.standard.wetting": "wetted from above once", "solution.recipe": None, "site.weather_years": "record",
    },
    "with_water_analysis": {
        "title": "Example bench", "banks.count": 4, "pots": 40, "goal.field_area_m2": 500.0,
        "solution.recipe.target": "Steiner 1984", "solution.recipe.fold": 100.0, "solution.barrel_l": 25.0,
        "solution.coldest_c": 5.0,
    },
    "with_more_years": {
        "title": "Example bench", "banks.count": 4, "pots": 40, "site.weather_years": "record",
        "site.years_in_all": 100, "goal.pot_spread": 0.2, "goal.certainty": 0.9, "costs.short_per_kg": 30.0,
        "costs.interest": 0.08, "visits.feed_banks": True, "crop.harvest": date(2027, 12, 6),
    },
}  # fmt: skip


def value(plan: Plan, dotted: str) -> Any:
    found: Any = plan
    for step in dotted.split("."):
        if step == "count":
            return len(found)
        found = found[step] if isinstance(found, dict) else getattr(found, step)
    return found


def test_every_kept_plan_is_tried() -> None:
    assert {path.stem for path in EARLIER.glob("*.toml")} == set(SAYS)


@pytest.mark.parametrize("name", SAYS)
def test_a_plan_of_an_earlier_version_says_what_was_written(name: str) -> None:
    plan = plan_from_text((EARLIER / f"{name}.toml").read_text("utf-8"))
    for dotted, wanted in SAYS[name].items():
        found = value(plan, dotted)
        assert found == (pytest.approx(wanted, rel=1e-12) if isinstance(wanted, float) else wanted), dotted
    for dotted, wanted in NEST.items():
        assert value(plan, f"nests.standard.{dotted}") == wanted
    for bank in plan.banks:
        assert {key: getattr(bank, key) for key in BANK} == pytest.approx(BANK)


@pytest.mark.parametrize("name", SAYS)
def test_an_edit_of_an_earlier_plan_changes_that_value_alone(name: str) -> None:
    text = (EARLIER / f"{name}.toml").read_text("utf-8")
    changed = changed_text(text, {"tank.volume": "900 L"})
    lines = [(old, new) for old, new in zip(text.splitlines(), changed.splitlines(), strict=True) if old != new]
    assert len(lines) == 1
    assert plan_from_text(changed).tank.volume_l == pytest.approx(900.0)


def test_a_plan_of_a_newer_version_is_refused_by_its_version_and_nothing_else() -> None:
    text = (EARLIER / "first.toml").read_text("utf-8").replace("format = 1", "format = 2\nmoon = 'full'")
    with pytest.raises(WetfootError, match="newer version") as refused:
        plan_from_text(text)
    assert [problem.where for problem in refused.value.problems] == ["format"]
