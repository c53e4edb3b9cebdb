"""How much each nest holds, and how long it lasts when the supply stops."""

from __future__ import annotations

from math import inf

from wetfoot.answers.trace import Number
from wetfoot.plan.media import own_fit
from wetfoot.plan.model import Plan
from wetfoot.quantities import show
from wetfoot.season.bench import DRY_KPA, STRESS_KPA, nest_table
from wetfoot.water.nest import (
    driest_level_m,
    free_solution_l,
    held_between_l,
    medium_volume_l,
    solution_per_mm_l,
)

FRUSTUM = "volume of a conical frustum"
RETENTION = "retention curve of the medium (van Genuchten 1980), water at rest above the level"

LEVEL_STEP = {"metric": ("mm", 1.0), "US": ("1/8 in", 3.175)}  # what can be read off a ruler, and its millimetres


def nest_numbers(plan: Plan, name: str, draw_l_d: float) -> tuple[Number, ...]:
    """Return what a nest holds at its levels.

    Args:
        plan: the plan.
        name: of the nest.
        draw_l_d: what a pot draws in a day at its highest, to turn litres into days.
    """
    nest = plan.nests[name]
    table, shape, level = nest_table(plan, nest), nest.shape, nest.set_level_m
    without = medium_volume_l(shape._replace(dome=None))
    step, in_mm = LEVEL_STEP[plan.units]
    per_step = solution_per_mm_l(table, level) * in_mm
    foot = held_between_l(table, 0.0, level)
    store = held_between_l(table, driest_level_m(shape, STRESS_KPA), level)
    spare = held_between_l(table, level, nest.overflow_height_m)
    source = f"{RETENTION}; {nest.medium}, its curve a mean of published or estimated points"
    at_peak = "over the draw of a pot on its thirstiest day"
    return (
        Number("medium in a pot", medium_volume_l(shape), "pot to the fill height, less the dome's outside", FRUSTUM,
               kind="volume"),
        Number("medium without the dome", without, "pot to the fill height", FRUSTUM, kind="volume"),
        Number("free solution at the set level", float(free_solution_l(shape, level)),
               "gap between basin and pot, and the inside of the dome", FRUSTUM, kind="volume"),
        Number(f"solution held per {step} of level", per_step, "free solution and drainable pore water", source,
               kind="small_volume"),
        Number("room from set level to overflow", spare, "what the nest takes up before it spills", source,
               kind="volume"),
        Number("solution above the pot's bottom", foot, "from the set level down to an empty basin", source,
               kind="volume"),
        Number("store until stress", store, f"from the set level until the middle of the medium reaches {STRESS_KPA:g} "
               f"kPa; uptake stops at {DRY_KPA:g} kPa", source, kind="volume"),
        Number("days without supply until the basin is empty", _days(foot, draw_l_d), at_peak, source, unit="days"),
        *_fit_numbers(plan, nest.medium),
    )  # fmt: skip


def _fit_numbers(plan: Plan, medium: str) -> tuple[Number, ...]:
    """Return how well the curve of a user's own medium goes through the table."""
    if medium not in plan.media:
        return ()
    fit = own_fit(medium, plan.media[medium])
    rows = [
        f"{show(suction, 'suction')}: {show(measured, 'fraction')} measured, {show(fitted, 'fraction')} on the curve"
        for suction, measured, fitted in zip(fit.suction_kpa, fit.measured, fit.fitted, strict=True)
    ]
    miss = fit.root_mean_square
    return (Number(f"curve of {medium}, typical miss", miss, "; ".join(rows), "least squares (van Genuchten 1980)",
                   kind="fraction"),)  # fmt: skip


def _days(litres: float, draw_l_d: float) -> float:
    return litres / draw_l_d if draw_l_d > 0 else inf
