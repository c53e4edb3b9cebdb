"""One site of many: its season over many draws, told as one row of key numbers, or why it was refused."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from wetfoot import __version__
from wetfoot.answers.computed_log import code_sha256, sha256_of_file
from wetfoot.answers.odds import dry_state, outcome
from wetfoot.answers.site_task import REFUSED, SiteResult, SiteRow, SiteTask, failure
from wetfoot.answers.sites_table import plan_of_row, plan_text
from wetfoot.answers.solution import mix
from wetfoot.answers.supply import supply
from wetfoot.answers.trace import SEED, State, worst
from wetfoot.answers.water import in_ten, peak_bench, peak_levels, water
from wetfoot.answers.weather import season_weather, weather_warnings
from wetfoot.errors import WetfootError
from wetfoot.plan.model import Plan
from wetfoot.plan.risks import risks
from wetfoot.season.ensemble import Ensemble, run_ensemble

FORMAT = 1


def site_inputs(task: SiteTask) -> dict[str, Any]:
    """Return all that a site's numbers depend on: files and program by their SHA-256, the row's cells, runs, seeds."""
    row, folder = task.row, Path(task.folder)
    weather = row.cells.get("site.weather")
    return {
        "format": FORMAT,
        "site": row.site,
        "design": row.design,
        "cells": dict(row.cells),
        "row_problems": [problem.what for problem in row.problems],
        "plan_sha256": sha256_of_file(folder / row.plan_file),
        "weather_sha256": sha256_of_file(folder / weather) if weather else None,
        "runs": task.runs,
        "seed": task.seed,
        "weather_seed": SEED,
        "wetfoot": __version__,
        "code_sha256": code_sha256(),
    }


def compute_site(task: SiteTask) -> SiteResult:
    """Return a site's key numbers; a site that is refused, or that the program fails on, comes back with the reasons.

    It uses one thread and only the seeds in the task, so that it comes out the same wherever it is computed.
    """
    start, row = time.perf_counter(), task.row
    inputs = site_inputs(task)
    named = {"site": row.site, "design": row.design, "row": row.number}
    try:
        numbers = _numbers(task)
    except WetfootError as error:
        problems = tuple({key: str(value) for key, value in vars(problem).items()} for problem in error.problems)
        problems = tuple(_at_row(problem, row) for problem in problems)
        return SiteResult(inputs, {**named, "verdict": REFUSED}, problems, time.perf_counter() - start)
    except Exception as error:  # one site must not stop a hundred thousand; it is told, and tried again next time
        failed = failure(row, f"Wetfoot failed on it: {type(error).__name__}: {error}")
        return SiteResult(inputs, {**named, "verdict": REFUSED}, failed, time.perf_counter() - start, kept=False)
    return SiteResult(inputs, {**named, **numbers}, (), time.perf_counter() - start)


def _at_row(problem: dict[str, str], row: SiteRow) -> dict[str, str]:
    """Return a problem with the row it was found in, where it does not say so (weather, network)."""
    where = problem["where"]
    return problem if where.startswith(row.table) else {**problem, "where": f"{row.place()}: {where}"}


def _numbers(task: SiteTask) -> dict[str, Any]:
    folder = Path(task.folder)
    plan = plan_of_row(task.row, plan_text(folder, task.row.plan_file), folder)
    weather, seasons = season_weather(plan, folder)
    ensemble = run_ensemble(plan, seasons, task.runs, task.seed, threads=1)
    warnings = (*risks(plan), *weather_warnings(plan, weather, seasons))
    states = _verdicts(plan, ensemble, seasons.composed)
    return {
        "latitude_deg": plan.site.latitude_deg,
        "longitude_deg": plan.site.longitude_deg,
        "elevation_m": plan.site.elevation_m,
        "verdict": worst(list(states.values())),
        **states,
        **_supply_numbers(plan),
        **_season_numbers(plan, ensemble),
        "weather": weather.source,
        "weather_years": len(seasons.record),
        "runs": task.runs,
        "warnings": len(warnings),
    }


def _verdicts(plan: Plan, ensemble: Ensemble, composed: bool) -> dict[str, State]:
    levels = peak_levels(peak_bench(plan, ensemble))
    return {
        "verdict_pots": supply(plan).answer.state,
        "verdict_water": worst([answer.state for answer in water(plan, ensemble, levels)]),
        "verdict_dry": dry_state(outcome(ensemble).dry, plan, composed),
        "verdict_ec": mix(plan, ensemble).answer.state,
    }


def _supply_numbers(plan: Plan) -> dict[str, Any]:
    found = supply(plan)
    return {
        "pots": plan.pots,
        "pots_needed": found.pots_expected,
        "pots_needed_poor_season": found.pots_low_yield,
        "pots_needed_good_season": found.pots_high_yield,
        "yield_per_pot_kg": found.yield_kg,
    }


def _season_numbers(plan: Plan, ensemble: Ensemble) -> dict[str, float]:
    """Return the season's chances, and middle, low and high (8 runs in 10 between) of what is drawn and lost."""
    chances, mixed, totals = outcome(ensemble), mix(plan, ensemble), ensemble.totals
    drawn = in_ten(totals.tank_used_l)
    return {
        "dry_chance": chances.dry,
        "tank_empty_chance": chances.empty,
        "thirsty_chance": chances.thirsty,
        "thirsty_days_mean_d": chances.thirsty_days,
        "lowest_level_m": _middle(totals.lowest_level_m.min(axis=1)),
        "ec_low_days_mean_d": chances.ec_low_days,
        "ec_high_days_mean_d": chances.ec_high_days,
        "drawn_l": drawn[0],
        "drawn_low_l": drawn[1],
        "drawn_high_l": drawn[2],
        "most_drawn_in_a_day_per_pot_l": _middle(totals.peak_draw_l_d.max(axis=1)),
        "spilled_per_pot_mean_l": chances.spilled_l,
        "stock_of_each_l": mixed.stock_l[0],
        "salts_kg": float(sum(mixed.salts_kg.values())),
        "n_lost_mean_g": chances.lost_n_g,
    }


def _middle(values: NDArray[np.float64]) -> float:
    return float(np.median(values))
