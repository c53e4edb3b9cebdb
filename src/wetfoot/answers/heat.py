"""How hot the roots get at the pot's wall on the hottest days of the weather, and what a wrap buys."""

from __future__ import annotations

import numpy as np
import pandas as pd

from wetfoot.answers.trace import Answer, Number, State
from wetfoot.climate.day_course import Course, course_of_days
from wetfoot.climate.evapotranspiration import extraterrestrial_radiation_mj_m2
from wetfoot.climate.pot_wall import ROOTS_SUFFER_ABOVE_C, HeatSaved, RootHeat, Yard, heat_saved, root_heat
from wetfoot.climate.sun_on_wall import Stand
from wetfoot.climate.wall_layers import BLACK, SHADED, WRAPPED, Cover, PotSection, Span, outer_radius_m
from wetfoot.plan.model import Bank, Plan
from wetfoot.quantities import System, convert, number_text, show
from wetfoot.water.nest import radius_m
from wetfoot.weather.seasons import Seasons, SeasonWeather

COVERS: dict[str, Cover] = {"none": BLACK, "white": WRAPPED, "shade": SHADED}
BELOW_RIM_M = 0.08  # where roots are dense and the sun reaches the wall: an estimate
DAYS_BEFORE = 2
SOURCE = (
    "conduction by rings and sectors from sol-air temperature (ASHRAE), sun by pvlib, ISO 6946 film; low and high are "
    "the corners of what is not known about colour, wind, wetness and air gap, not odds"
)


def heat(plan: Plan, seasons: Seasons) -> tuple[Answer, ...]:
    """Return how hot the roots get, once for each pairing of nest and wrap on the bench."""
    run, day = hottest_day(plan, seasons)
    course = _course(plan, run, day)
    first: dict[tuple[str, str], list[Bank]] = {}
    for bank in plan.banks:
        first.setdefault((bank.nest, bank.wrap), []).append(bank)
    return tuple(_answer(plan, run, day, course, banks) for banks in first.values())


def hottest_day(plan: Plan, seasons: Seasons) -> tuple[SeasonWeather, int]:
    """Return the year and day, between planting and the cutting of the tops, with the most sun on the hottest air.

    Ranked by highest temperature plus the radiation in MJ/m2: a degree counts as much as a megajoule.
    """
    supplied = slice(DAYS_BEFORE, plan.crop.tops_cut_d)
    run = max(seasons.runs, key=lambda each: float((each.tmax_c + each.solar_mj_m2)[supplied].max()))
    return run, DAYS_BEFORE + int(np.argmax((run.tmax_c + run.solar_mj_m2)[supplied]))


def _course(plan: Plan, run: SeasonWeather, day: int) -> Course:
    days, site = slice(day - DAYS_BEFORE, day + 1), plan.site
    day_of_year = np.array([on.timetuple().tm_yday for on in run.dates[days]])
    most = extraterrestrial_radiation_mj_m2(site.latitude_deg, day_of_year)
    return course_of_days(
        pd.DatetimeIndex(run.dates[days]),
        run.tmin_c[days],
        run.tmax_c[days],
        np.minimum(run.solar_mj_m2[days], 0.8 * most),  # a fault of the meter must not stop the answer
        site.latitude_deg,
        site.longitude_deg,
        site.elevation_m,
        run.wind_2m_m_s[days],
    )


def _answer(plan: Plan, run: SeasonWeather, day: int, course: Course, banks: list[Bank]) -> Answer:
    bank, system = banks[0], plan.units
    cover = COVERS[bank.wrap]
    edge, inside = (_wall(plan, bank, course, cover, position) for position in ("edge", "inside"))
    others = {name: _wall(plan, bank, course, other, "edge") for name, other in COVERS.items() if other != cover}
    hours = edge.hours_above.middle
    state: State = "no" if hours > 2.0 else "watch" if edge.highest_c.high > ROOTS_SUFFER_ABOVE_C else "yes"
    names = ", ".join(each.name for each in banks[:4]) + (f" and {len(banks) - 4} more" if len(banks) > 4 else "")
    limit = show(ROOTS_SUFFER_ABOVE_C, "temperature", system)
    time = (
        f"are above {limit}, where they suffer, for {number_text(hours, 2)} hours" if hours else f"stay below {limit}"
    )
    words = (
        f"On a day like {run.dates[day]} with {show(float(run.tmax_c[day]), 'temperature', system)} in the air, roots "
        f"{show(0.01, 'depth', system)} inside the sunny wall of an edge row ({cover.name}) reach "
        f"{_span_text(edge.highest_c, system)} and {time}. {_advice(bank, edge, others, system)}"
    )
    return Answer(f"Do roots get too hot in bank{'s' if len(banks) > 1 else ''} {names}?", state, words,
                  _numbers(edge, inside, others))  # fmt: skip


def _wall(plan: Plan, bank: Bank, course: Course, cover: Cover, position: str) -> RootHeat:
    nest = plan.nests[bank.nest]
    rim = min(nest.basin.height_m, nest.pot.height_m)
    at = max(rim - BELOW_RIM_M, rim / 2.0)
    pot, basin = float(radius_m(nest.pot.frustum, at)), float(radius_m(nest.basin.frustum, at))
    section = PotSection(pot, basin, max(nest.wall_m, 0.0005))
    # no closer than the thickest cover allows, so that all covers are compared at one spacing
    touching = 2.0 * max(outer_radius_m(section, each) for each in COVERS.values())
    spacing = max(bank.lateral_length_m / bank.pots, 1.02 * touching)
    row = max(bank.ground_per_pot_m2 / spacing, spacing)
    stand = Stand("edge" if position == "edge" else "inside", spacing, row)
    yard = Yard(stand, rim_m=rim, at_m=at, board_m=bank.board_height_m)
    return root_heat(course, section, cover, yard)


def _advice(bank: Bank, edge: RootHeat, others: dict[str, RootHeat], system: System) -> str:
    if bank.wrap == "none":
        saved = heat_saved(edge, others["white"])
        return f"A white wrap takes off {_difference_text(saved, system)}; wrap the edge rows first."
    saved = heat_saved(others["none"], edge)
    return f"Against bare black pots that is {_difference_text(saved, system)} cooler."


def _numbers(edge: RootHeat, inside: RootHeat, others: dict[str, RootHeat]) -> tuple[Number, ...]:
    where = "1 cm inside the hottest side, highest of the hottest day with the two days before it"

    def highest(name: str, found: RootHeat) -> Number:
        span = found.highest_c
        return Number(name, span.middle, where, SOURCE, kind="temperature", low=span.low, high=span.high)

    centre, hours = edge.highest_centre_c, edge.hours_above
    return (
        highest("hottest roots, edge row", edge),
        highest("hottest roots, inner row", inside),
        Number("hottest centre of the pot", centre.middle, "middle of the medium, edge row", SOURCE,
               kind="temperature", low=centre.low, high=centre.high),
        Number(f"hours above {ROOTS_SUFFER_ABOVE_C:g} °C in three days", hours.middle, where, SOURCE, unit="hours",
               low=hours.low, high=hours.high),
        *(highest(f"edge row, {found.cover.name}", found) for found in others.values()),
    )  # fmt: skip


def _span_text(span: Span, system: System) -> str:
    low, high = (number_text(float(convert(value, "temperature", system)), 2) for value in (span.low, span.high))
    return f"{show(round(float(span.middle)), 'temperature', system)} ({low} to {high})"


def _difference_text(saved: HeatSaved, system: System) -> str:
    scale, unit = (1.8, "°F") if system == "US" else (1.0, "°C")
    low, middle, high = (round(float(value) * scale) for value in saved.cooler_c)
    return f"{middle} {unit} ({low} to {high})"
