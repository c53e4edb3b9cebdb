"""An invented season on real weather: place, bench and readings exist nowhere; it shows the whole chain at work."""

from __future__ import annotations

import csv
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from wetfoot.answers.records import import_file
from wetfoot.answers.trial_demo import write_demo_trial
from wetfoot.answers.weather import season_weather
from wetfoot.crop.calendar import visit_days
from wetfoot.errors import refuse
from wetfoot.plan.example import example_text, write_folder
from wetfoot.plan.file import PLAN_FILE, changed_text, read_plan
from wetfoot.plan.model import Plan
from wetfoot.season import columns as c
from wetfoot.season.bench import bench_arrays
from wetfoot.season.drivers import drivers, warmth_of_calendar
from wetfoot.season.feed import ec_scale
from wetfoot.season.run import SeasonCourse, simulate_season

TITLE = "Tern Hollow, an invented season"
# A season that lies in the past, so that its readings are not taken for slips of the pen.
INVENTED = {
    "title": TITLE,
    "invented": True,
    "site.name": "Tern Hollow (invented)",
    "crop.planting": date(2026, 4, 5),
    "crop.harvest": date(2026, 12, 6),
    "goal.field_planting": date(2027, 3, 15),
}
READINGS_FILE = "readings.csv"
READ_UNTIL_DAY = 170
SEED = 4
TRUE_WATER_USE = 1.15  # the invented crop drinks this much more than the plan expects, as readings should show
STOCK_FILE = "stock.csv"
STOCK_FIELDS = ("date", "what", "lot", "parents", "generation", "species", "source", "batch", "pieces", "place", "pot",
                "value", "unit", "knife", "disinfectant", "agent", "result", "method", "samples", "to", "cause",
                "who", "note")  # fmt: skip
POSITIVE_POT = ("East", 3)
FIELDS = ("date", "time", "what", "place", "value", "unit", "temperature", "who", "note")


def demo_folder(folder: Path) -> tuple[Path, ...]:
    """Make the invented season's folder: plan, real weather, and a book with invented readings until mid-season.

    Raises:
        WetfootError: if another plan is there already, or the folder cannot be written.
    """
    plan_file = folder / PLAN_FILE
    if plan_file.exists() and TITLE not in plan_file.read_text("utf-8", errors="replace"):
        raise refuse(
            str(plan_file),
            "another plan is here already",
            "a new folder",
            "name another: wetfoot demo FOLDER",
        )
    text = changed_text(example_text(), INVENTED)
    made = write_folder(folder, text)
    readings = folder / READINGS_FILE
    plan = read_plan(folder)
    _write(readings, _invented_rows(plan, folder))
    import_file(folder, readings, "invented")
    stock = folder / STOCK_FILE
    _write(stock, _stock_rows(plan), STOCK_FIELDS)
    import_file(folder, stock, "invented")
    return (*made, readings, stock, *write_demo_trial(folder))


def _invented_rows(plan: Plan, folder: Path) -> list[dict[str, object]]:
    """Return what a visitor would have read on a bench whose crop drinks more than expected, with reading errors."""
    course = _invented_course(plan, folder)
    random = np.random.default_rng(SEED)
    days = [day for day in visit_days(plan.visits.every_d, plan.crop.season_d) if 0 < day <= READ_UNTIL_DAY]
    rain_mm = season_weather(plan, folder)[1].runs[0].rain_mm
    rows = [row for day in days for row in _visit_rows(plan, course, day, random)]
    return rows + [_rain_row(course, before, day, rain_mm) for before, day in pairwise([0, *days])]


def _rain_row(course: SeasonCourse, before: int, day: int, rain_mm: NDArray[np.float64]) -> dict[str, object]:
    """Return the gauge of one morning: what fell since the visit before."""
    fallen = {"what": "rain", "value": round(float(rain_mm[before:day].sum()), 1), "unit": "mm"}
    return {"date": course.dates[day].isoformat(), "time": "08:00", "who": "invented", **fallen}


def _invented_course(plan: Plan, folder: Path) -> SeasonCourse:
    _, laid = season_weather(plan, folder)
    warmth = warmth_of_calendar(plan.crop, laid.runs)
    driven = drivers(plan, laid.runs[0], warmth, water_use_factor=TRUE_WATER_USE)
    return simulate_season(bench_arrays(plan), ec_scale(plan), driven, laid.runs[0].dates)


def _visit_rows(plan: Plan, course: SeasonCourse, day: int, random: np.random.Generator) -> list[dict[str, object]]:
    """Return the rows of one morning, before the tank is filled: the state at the end of the day before."""
    before = day - 1

    def row(what: str, place: str, value: float, unit: str, **more: object) -> dict[str, object]:
        shared = {"date": course.dates[day].isoformat(), "time": "08:00", "who": "invented"}
        return {**shared, "what": what, "place": place, "value": value, "unit": unit, **more}

    tank = course.tank[before, c.TANK_END_L] + random.normal(0.0, 4.0)
    added = course.tank[day, c.WATER_ADDED_L]
    rows = [
        row("tank", "tank", round(min(tank, plan.tank.volume_l)), "L"),
        row("water added", "tank", round(added), "L"),
    ]
    for b, bank in enumerate(plan.banks):
        ec = course.ec_free_ms_cm()[before, b] * (1.0 + random.normal(0.0, 0.03))
        level = course.banks[before, b, c.LEVEL_END_M] + random.normal(0.0, 0.0015)
        rows.append(row("EC", bank.name, round(float(ec), 2), "mS/cm", temperature="25 degC"))
        rows.append(row("level", bank.name, round(100.0 * float(level), 1), "cm"))
    return rows


def _stock_rows(plan: Plan) -> list[dict[str, object]]:
    """Return the invented stock: one clean lot, cut bank by bank, planted; a test that turns positive in September."""
    planted, pieces = plan.crop.planting, plan.crop.pieces_per_pot
    cut = (planted - timedelta(days=5)).isoformat()

    def row(on: str, what: str, **more: object) -> dict[str, object]:
        return {"date": on, "what": what, "who": "invented", **more}

    kg = plan.goal.piece_mass_kg * pieces * plan.pots
    rows = [
        row("2025-12-10", "lot", lot="G0 plantlets", generation=0, species="ginger", source="invented laboratory",
            value=2, unit="kg"),
        row("2026-01-12", "lot", lot="G1 2026", parents="G0 plantlets", generation=1, species="ginger",
            value=round(kg * 1.3, 2), unit="kg"),
        row("2026-02-02", "test", lot="G1 2026", agent="bacterial wilt", result="negative", method="strip", samples=60),
        row("2026-03-02", "shipment", lot="G1 2026", to="invented grower", value=1, unit="kg"),
    ]  # fmt: skip
    for bank in plan.banks:
        taken = round(plan.goal.piece_mass_kg * pieces * bank.pots, 3)
        rows.append(row(cut, "cutting", batch=f"cut {bank.name}", lot="G1 2026", pieces=bank.pots * pieces, value=taken,
                        unit="kg", knife=f"knife {bank.name}", disinfectant="10 % bleach"))  # fmt: skip
        rows += [
            row(planted.isoformat(), "planting", place=bank.name, pot=number, pieces=pieces, batch=f"cut {bank.name}")
            for number in range(1, bank.pots + 1)
        ]
        water = {"agent": "bacterial wilt", "result": "negative", "method": "strip", "samples": 1}
        rows.append(row("2026-07-06", "test", place=bank.name, **water))
    bank_name, number = POSITIVE_POT
    rows.append(row("2026-09-07", "test", place=bank_name, pot=number, agent="bacterial wilt", result="positive",
                    method="strip", samples=1, note="invented; to be confirmed"))  # fmt: skip
    rows.append(row("2026-09-07", "hold", place=bank_name, cause="positive strip on one pot", note="invented"))
    return rows


def _write(path: Path, rows: list[dict[str, object]], fields: tuple[str, ...] = FIELDS) -> None:
    part = path.with_suffix(".part")
    with part.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, fields)
        writer.writeheader()
        writer.writerows(rows)
    part.replace(path)
