"""More seasons than the record holds: resampled from it, or by a generator fitted to it; chosen, never by default."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Literal

import pandas as pd

from wetfoot.errors import refuse
from wetfoot.weather.bootstrap import resampled
from wetfoot.weather.daily import DailyWeather
from wetfoot.weather.generator import LEAST_PAIRS, Fitted, fit_generator, generated
from wetfoot.weather.made_up import made_seasons
from wetfoot.weather.seasons import Seasons, SeasonWeather, seasons, year_by_year

How = Literal["record", "resampled", "generated"]
HOWS: tuple[How, ...] = ("record", "resampled", "generated")
MOST_YEARS = 100_000
BATCH = 500  # years made at once, to bound the memory of their tables
FEW_YEARS = 10


def more_seasons(
    weather: DailyWeather,
    planting: date,
    days: int,
    latitude_deg: float,
    elevation_m: float,
    how: How,
    years: int,
    seed: int,
    coastal: bool = False,
    fill_gaps_days: int = 0,
    block_days: int | None = None,
) -> Seasons:
    """Return the seasons of the record, and behind them made-up ones until there are as many as asked for.

    Every season of the record comes first and unchanged, also where fewer are asked for. A made-up season is the same
    however many are made; its days carry the planned dates.

    Args:
        weather, planting, days, latitude_deg, elevation_m, coastal, fill_gaps_days: as in `seasons`.
        how: ``record`` adds none, ``resampled`` mixes blocks of the record's years, ``generated`` fits a generator.
        years: how many seasons in all.
        seed: of the random numbers.
        block_days: length of the blocks for ``resampled``; whole calendar months if it is None.

    Raises:
        WetfootError: if the record holds no whole season, or cannot be used in this way.
    """
    _refuse_impossible(how, years, seed)
    laid = seasons(weather, planting, days, latitude_deg, elevation_m, coastal, fill_gaps_days)
    missing = years - len(laid.runs)
    if how == "record" or missing <= 0:
        return laid
    dates = tuple(planting + timedelta(days=day) for day in range(days))
    if how == "resampled":
        _refuse_composed(weather)
        pieces = year_by_year(weather.table, planting, days, fill_gaps_days)
        notes = _resampled_notes(len(laid.runs))
    else:
        fitted, index = fit_generator(weather, latitude_deg), pd.DatetimeIndex(dates)
        notes = _generated_notes(fitted, weather.composed)
    made: list[SeasonWeather] = []
    for first in range(0, missing, BATCH):
        numbers = range(first, min(first + BATCH, missing))
        if how == "resampled":
            columns, origins = resampled(pieces, dates, numbers, seed, block_days)
        else:
            columns = generated(fitted, index, numbers, seed, latitude_deg)
            origins = [f"generated: number {number + 1} of seed {seed}" for number in numbers]
        made += made_seasons(columns, dates, origins, latitude_deg, elevation_m, coastal)
    return replace(laid, runs=(*laid.runs, *made), how=how, seed=seed, made=len(made), notes=notes)


def _refuse_impossible(how: str, years: int, seed: int) -> None:
    if how not in HOWS:
        raise refuse("weather years", f"{how!r} is no way to make them", ", ".join(HOWS), "choose one of them")
    if not 1 <= years <= MOST_YEARS:
        raise refuse("weather years", f"{years} years", f"1 to {MOST_YEARS:,}", "1,000 tells odds of one in a hundred")
    if seed < 0:
        raise refuse("seed", f"{seed}", "a whole number from 0", "keep the seed to draw the same years again")


def _refuse_composed(weather: DailyWeather) -> None:
    if weather.composed:
        raise refuse(
            "weather years",
            f"{weather.source} is one typical year, put together from several: there are no years to mix",
            "a record of two or more real years",
            "use a record of real years; the fitted generator runs on it, but tells no odds",
        )


def _resampled_notes(years: int) -> tuple[str, ...]:
    notes = [
        f"Seasons beyond the {years} of the record are mixed from blocks of its years: no block is wetter, drier or "
        "hotter than one on record, and droughts longer than a block come out too rare."
    ]
    if years < FEW_YEARS:
        notes.append(f"They are mixed from {years} season(s) only: take the odds of rare weather as a rough guess.")
    return tuple(notes)


def _generated_notes(fitted: Fitted, composed: bool) -> tuple[str, ...]:
    notes = [
        "Seasons beyond the record come from a generator fitted to it: whole years that are wet or dry throughout come "
        "out too rare, so look at the comparison with the record."
    ]
    if composed:
        notes.append(
            "The generator was fitted to one typical year, put together from several: it shows how days vary, but no "
            "odds of a drought, a storm or a hot spell may be read from it."
        )
    elif fitted.years < FEW_YEARS:
        notes.append(
            f"The generator was fitted to {fitted.years:.1f} years: under {FEW_YEARS}, take the odds of rare weather "
            "as a rough guess."
        )
    if fitted.published:
        notes.append(
            f"Only {fitted.pairs} pairs of days tell how one day follows another ({LEAST_PAIRS} are needed): published "
            "means of 31 stations are used for temperature and sun (Richardson & Wright 1984)."
        )
    return tuple(notes)
