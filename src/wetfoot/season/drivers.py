"""What drives the bench day by day: warmth, canopy, water use, rain, visits, open or shut supply, split pots."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from wetfoot.crop.calendar import visit_days
from wetfoot.crop.canopy import canopy_cover, mouth_evaporation_l_d, thermal_days, transpiration_l_d
from wetfoot.plan.model import Crop, Plan
from wetfoot.season.bench import mouth_area_m2
from wetfoot.weather.seasons import SeasonWeather

Array = NDArray[np.float64]
STEPS_A_DAY = 24


class Drivers(NamedTuple):
    """Daily arrays of a season: per pot and bank in litres, rain in mm, flags as booleans; shares of a day by step.

    ``new_holes`` are the pots of each bank that split on a day, ``shut_off_h`` the hours after which somebody shuts
    off a bank with a split pot, if no visit comes before.
    """

    transpiration_l: Array
    evaporation_l: Array
    rain_mm: Array
    supply_open: NDArray[np.bool_]
    visit: NDArray[np.bool_]
    demand_share: Array
    rain_share: Array
    new_holes: Array
    shut_off_h: float


class Warmth(NamedTuple):
    """Thermal days at which shoots show and half the canopy stands, in the mean of the weather's years."""

    emergence_d: float
    half_cover_d: float


def warmth_of_calendar(crop: Crop, runs: Sequence[SeasonWeather]) -> Warmth:
    """Return the warmth that the calendar's days stand for: a warm year runs ahead of it, a cool one behind."""
    sums = np.mean([_thermal_sum(crop, run) for run in runs], axis=0)
    emergence, half = sums[crop.emergence_d], sums[crop.half_cover_d]
    return Warmth(float(emergence), float(max(half, emergence + 1.0)))


def _thermal_sum(crop: Crop, run: SeasonWeather) -> Array:
    daily = thermal_days(run.tmin_c, run.tmax_c, crop.base_temperature_c, crop.optimum_temperature_c)
    return np.asarray(np.cumsum(daily))


def cover_by_day(crop: Crop, run: SeasonWeather, warmth: Warmth) -> Array:
    """Return the canopy's cover on each day, nothing once the tops are cut."""
    cover = canopy_cover(_thermal_sum(crop, run), warmth.emergence_d, warmth.half_cover_d)
    cover[crop.tops_cut_d :] = 0.0
    return cover


def drivers(
    plan: Plan, run: SeasonWeather, warmth: Warmth, water_use_factor: float = 1.0, rain_factor: float = 1.0
) -> Drivers:
    """Return what drives the bench through one season's weather.

    Args:
        plan: the plan.
        run: one season of weather, as long as the plan's season.
        warmth: what the calendar's days stand for (`warmth_of_calendar`).
        water_use_factor: multiplies transpiration and evaporation.
        rain_factor: multiplies the rain that reaches the nests.
    """
    crop, days = plan.crop, len(run.dates)
    cover = cover_by_day(crop, run, warmth)
    transpired = transpiration_l_d(run.eto_mm, cover, crop.canopy_area_m2, crop.kc_initial, crop.kc_full, crop.exposure)
    evaporated = [mouth_evaporation_l_d(run.eto_mm, cover, mouth_area_m2(plan.nests[b.nest])) for b in plan.banks]
    day = np.arange(days)
    return Drivers(
        transpiration_l=np.repeat(transpired[:, None], len(plan.banks), axis=1) * water_use_factor,
        evaporation_l=np.array(evaporated).T.copy() * water_use_factor,
        rain_mm=run.rain_mm * rain_factor,
        supply_open=day < crop.tops_cut_d,
        visit=np.isin(day, [d for d in visit_days(plan.visits.every_d, crop.season_d) if d < crop.tops_cut_d]),
        demand_share=demand_share(),
        rain_share=np.full(STEPS_A_DAY, 1.0 / STEPS_A_DAY),
        new_holes=np.zeros((days, len(plan.banks))),
        shut_off_h=np.inf,
    )


def demand_share(steps: int = STEPS_A_DAY) -> Array:
    """Return the share of a day's water use in each step: a half sine from 6 to 18 hours, exactly integrated."""
    edges = np.clip(np.linspace(0.0, 24.0, steps + 1), 6.0, 18.0)
    return np.asarray(np.diff(0.5 * (1.0 - np.cos(np.pi * (edges - 6.0) / 12.0))))
