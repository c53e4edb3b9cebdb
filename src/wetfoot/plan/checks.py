"""What is impossible in a plan: each check names the field, the value, what is allowed and how to mend it.

The checks also run on plans of which only a part could be read (what could not is None), so that a person
sees everything at once.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from zoneinfo import ZoneInfo

from wetfoot.errors import Problem
from wetfoot.plan.bench_checks import bank_problems, known, medium_problems, nest_problems
from wetfoot.plan.model import Plan
from wetfoot.plan.stock_problems import stock_problems
from wetfoot.quantities import show
from wetfoot.solution.water_analysis import KNOWN, source_water_from_analysis

LONGEST_NAME = 100  # as the book's columns of names


def refusals(plan: Plan, folder: Path | None = None) -> list[Problem]:
    """Return everything that makes a plan impossible; an empty list for a plan that can be built."""
    problems: list[Problem] = []
    for name, own in (plan.media or {}).items():
        problems += medium_problems(own, name)
    for name, nest in (plan.nests or {}).items():
        problems += nest_problems(plan, nest, f"nests.{name}")
    for index, bank in enumerate(plan.banks or ()):
        problems += bank_problems(plan, bank, f"banks[{index}]")
    for check in (_site, _goal, _tank, _solution, stock_problems, _dates, _names):
        problems += check(plan)
    return problems + _weather_file(plan, folder)


def _site(plan: Plan) -> Iterator[Problem]:
    if plan.site is None or not known(plan.site.zone):
        return
    try:
        ZoneInfo(plan.site.zone)
    except (KeyError, ValueError, OSError):
        yield Problem(
            "site.zone",
            f"{plan.site.zone!r} is not a time zone",
            "a name of the IANA time zone database, such as 'Pacific/Honolulu' or 'America/New_York'",
            "look the name up for your place",
        )


def _goal(plan: Plan) -> Iterator[Problem]:
    goal = plan.goal
    spacings = (goal.row_spacing_m, goal.in_row_spacing_m)
    if (goal.seed_rate_kg_m2 is None) == (None in spacings):
        yield Problem(
            "goal",
            "the seed rate of the field is given twice or not at all",
            "either seed_rate, or row_spacing and in_row_spacing",
            "keep one of the two",
        )


def _tank(plan: Plan) -> Iterator[Problem]:
    tank = plan.tank
    if known(tank.volume_l, tank.unusable_l) and tank.unusable_l >= tank.volume_l:
        yield Problem(
            "tank.unusable",
            f"{show(tank.unusable_l, 'volume')} below the outlet leaves nothing of {show(tank.volume_l, 'volume')}",
            f"below {show(tank.volume_l, 'volume')}",
            "correct one of the two",
        )


def _solution(plan: Plan) -> Iterator[Problem]:
    solution = plan.solution
    source, low, high = solution.source_ec_ms_cm, solution.ec_low_ms_cm, solution.ec_high_ms_cm
    if known(low, high) and low >= high:
        yield Problem(
            "solution.ec_low",
            f"the EC band is upside down: low {show(low, 'conductivity')}, high {show(high, 'conductivity')}",
            "ec_low below ec_high; 1.5 to 2.0 mS/cm is common",
            "swap the two",
        )
    elif known(source, low) and source >= low:
        yield Problem(
            "solution.source_ec",
            f"the source water has {show(source, 'conductivity')} before any feed is added",
            f"below ec_low ({show(low, 'conductivity')})",
            "find cleaner water (rain from a clean roof) or correct the value",
        )
    yield from _source_water(solution.source_water)


def _source_water(analysis: dict[str, float] | None) -> Iterator[Problem]:
    try:
        source_water_from_analysis(analysis or {})
    except ValueError as error:
        allowed = f"mg/L of {', '.join(KNOWN)}, with cations and anions that balance"
        fix = "copy every ion of the report, mostly HCO3 or alkalinity is missing; or leave the analysis out"
        yield Problem("solution.source_water", str(error), allowed, fix)


def _dates(plan: Plan) -> Iterator[Problem]:
    crop, field_planting = plan.crop, plan.goal.field_planting
    if not known(crop.planting, crop.harvest):
        return
    if crop.harvest <= crop.planting:
        yield Problem(
            "crop.planting",
            f"planting on {crop.planting} comes after harvest on {crop.harvest}",
            "planting before harvest; eight to nine months between them are common",
            "correct one of the two dates",
        )
        return
    yield from _calendar(plan)
    if known(field_planting) and field_planting <= crop.harvest:
        yield Problem(
            "goal.field_planting",
            f"the field is planted on {field_planting}, before the pots are lifted on {crop.harvest}",
            "a date after crop.harvest",
            "correct one of the two dates",
        )


def _calendar(plan: Plan) -> Iterator[Problem]:
    crop = plan.crop
    days = (crop.harvest - crop.planting).days
    if not 60 <= days <= 365:
        yield Problem(
            "crop.harvest",
            f"{days} days lie between planting and harvest",
            "60 to 365 days",
            "correct one of the two dates",
        )
        return
    order: tuple[tuple[str, int | None], ...] = (
        ("emergence", crop.emergence_d),
        ("half_cover", crop.half_cover_d),
        ("harvest less dry_down", None if crop.dry_down_d is None else days - crop.dry_down_d),
    )
    for (early, first), (late, second) in pairwise(order):
        if first is not None and second is not None and first >= second:
            yield Problem(
                f"crop.{early}",
                f"day {first} is not before day {second} ({late})",
                "emergence, half cover, end of supply in this order",
                "correct the days or the dates",
            )


def _names(plan: Plan) -> Iterator[Problem]:
    names = [bank.name for bank in plan.banks or () if bank.name is not None]
    for name in sorted({name for name in names if names.count(name) > 1 or not name.strip() or name == "tank"}):
        yield Problem(
            "banks",
            f"the name {name!r} cannot tell banks apart",
            "a name for each bank that no other bank has, and not 'tank'",
            "rename one of them",
        )
    for index, bank in enumerate(plan.banks or ()):
        if bank.name is not None and len(bank.name) > LONGEST_NAME:
            yield Problem(
                f"banks[{index}].name",
                f"{bank.name[:20] + '…'!r} has {len(bank.name)} letters, and the book cannot hold it",
                f"up to {LONGEST_NAME} letters",
                "shorten it",
            )


def _weather_file(plan: Plan, folder: Path | None) -> list[Problem]:
    if folder is None or plan.site is None or not known(plan.site.weather):
        return []
    path = folder / plan.site.weather
    if path.is_file():
        return []
    what = f"there is no file {plan.site.weather!r} in the season's folder"
    allowed = "a CSV with named columns, a TMY3, an EPW or a GHCN-Daily file"
    return [Problem("site.weather", what, allowed, "copy your weather file there, or correct its name")]
