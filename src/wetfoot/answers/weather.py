"""The weather that a season is computed on, and what must be said about it."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from wetfoot.answers.trace import SEED
from wetfoot.climate.evapotranspiration import extraterrestrial_radiation_mj_m2
from wetfoot.errors import refuse
from wetfoot.plan.model import Plan
from wetfoot.quantities import show
from wetfoot.weather.daily import NOT_MEASURED, DailyWeather, Finding
from wetfoot.weather.more_years import more_seasons
from wetfoot.weather.read import read_weather
from wetfoot.weather.seasons import Seasons

FROST_C = 0.0
COLD_START_C = 20.0  # slow, uneven emergence below: common practice, no source
MOST_IMPOSSIBLE_SUN = 0.05  # of the days; single ones are taken as faults of the meter
SHOWN_FINDINGS = 12
IN_WORDS = {
    "tmin_c": "lowest temperature",
    "tmax_c": "highest temperature",
    "rain_mm": "rain",
    "solar_mj_m2": "solar radiation",
    "sunshine_h": "hours of sunshine",
    "tdew_c": "dew point",
    "rh_min_pct": "lowest humidity",
    "rh_max_pct": "highest humidity",
    "wind_2m_m_s": "wind",
}


def season_weather(plan: Plan, folder: Path) -> tuple[DailyWeather, Seasons]:
    """Return the weather file of a plan, and the plan's season in each of its years.

    Raises:
        WetfootError: if the file cannot be read, or holds no whole season.
    """
    site, crop = plan.site, plan.crop
    weather = read_weather(folder / site.weather)
    laid = more_seasons(
        weather,
        crop.planting,
        crop.season_d,
        site.latitude_deg,
        site.elevation_m,
        how=site.weather_years,
        years=site.years_in_all,
        seed=SEED,
        coastal=site.coast,
        fill_gaps_days=site.fill_gaps_d,
    )
    _refuse_other_latitude(plan, laid)
    return weather, laid


def _refuse_other_latitude(plan: Plan, laid: Seasons) -> None:
    """Refuse weather with more sun than reaches the top of the air at the site: it is from elsewhere."""
    for run in laid.runs:
        day_of_year = np.array([day.timetuple().tm_yday for day in run.dates])
        most = extraterrestrial_radiation_mj_m2(plan.site.latitude_deg, day_of_year)
        share = float((run.solar_mj_m2 > most).mean())
        if share > MOST_IMPOSSIBLE_SUN:
            raise refuse(
                "site.weather",
                f"on {100 * share:.0f} % of the days from {run.dates[0]} the file has more sun than can reach "
                f"{plan.site.latitude_deg:g} degrees of latitude",
                "weather of the site, or of a place near it",
                "check site.latitude (north positive, south negative), or use another file",
            )


def weather_warnings(plan: Plan, weather: DailyWeather, laid: Seasons, all_findings: bool = False) -> tuple[str, ...]:
    """Return what was noticed, estimated, filled or left out in the weather, and what it means."""
    words = []
    if laid.composed:
        words.append(
            "The weather file is a typical year put together from several: the ranges here come from what is not known "
            "about water use, not from wet and dry years. No odds of a drought or a storm can be read from it."
        )
    elif len(laid.record) < 10:
        words.append(f"Only {len(laid.record)} season(s) of weather: rare droughts and storms are not in it.")
    words += [f"Weather years: {note}" for note in laid.notes]
    words += [f"Weather: {fallback}." for fallback in laid.fallbacks]
    words += [f"Weather left out: {left}." for left in laid.left_out]
    words += [f"Weather filled: {filled}." for run in laid.runs for filled in run.filled]
    findings = [_finding(finding) for finding in weather.findings if finding.what != NOT_MEASURED]
    words += findings if all_findings else findings[:SHOWN_FINDINGS]
    if len(findings) > SHOWN_FINDINGS and not all_findings:
        words.append(f"Weather file: {len(findings) - SHOWN_FINDINGS} more findings; 'wetfoot check' lists them all.")
    return (*words, *_cold_start(plan, laid), *_frost(plan, laid))


def _finding(finding: Finding) -> str:
    day = f" of {finding.day}" if finding.day else ""
    return f"Weather file, {IN_WORDS.get(finding.column, finding.column)}{day}: {finding.what}."


def _cold_start(plan: Plan, laid: Seasons) -> tuple[str, ...]:
    days = plan.crop.emergence_d
    mean = float(np.mean([(run.tmin_c[:days] + run.tmax_c[:days]) / 2.0 for run in laid.runs]))
    if mean >= COLD_START_C:
        return ()
    return (
        f"The first {days} days after planting average {show(mean, 'temperature', plan.units)}: below "
        f"{show(COLD_START_C, 'temperature', plan.units)} seed sprouts late and uneven, and wet cold medium rots it. "
        "Plant later, or sprout the seed indoors first.",
    )


def _frost(plan: Plan, laid: Seasons) -> tuple[str, ...]:
    supplied = slice(plan.crop.emergence_d, plan.crop.tops_cut_d)
    frosts = [int((run.tmin_c[supplied] <= FROST_C).sum()) for run in laid.runs]
    if not any(frosts):
        return ()
    number = f"{min(frosts)} to {max(frosts)}" if len(frosts) > 1 else f"{frosts[0]}"
    return (
        f"{number} day(s) of frost fall between emergence and the cutting of the tops: leaves die at the first, and "
        "rhizomes stop filling. Plant earlier, lift earlier, or cover.",
    )
