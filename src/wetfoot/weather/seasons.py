"""Lay a growing season onto the years of a weather record."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from wetfoot.climate.evapotranspiration import daylight_h
from wetfoot.errors import refuse
from wetfoot.weather.daily import COLUMNS, FIRST_YEAR, LAST_YEAR, REQUIRED, DailyWeather
from wetfoot.weather.gaps import fill_gaps
from wetfoot.weather.hemisphere import refuse_other_hemisphere
from wetfoot.weather.reference_eto import reference_days

Array = NDArray[np.float64]

LONGEST_SEASON_D = 1000
NAMED_DAYS = 10
ONE_DAY = timedelta(days=1)


@dataclass(frozen=True, eq=False)
class SeasonWeather:
    """The weather of one season, day by day.

    Attributes:
        year: the year in which it starts.
        dates: its consecutive days.
        tmin_c, tmax_c, rain_mm, eto_mm, solar_mj_m2, wind_2m_m_s, daylight_h: one value a day.
        filled: each day whose weather was not measured on it, and where it comes from.
        origin: of a made-up season: how it was made; empty for one of the record.
    """

    year: int
    dates: tuple[date, ...]
    tmin_c: Array
    tmax_c: Array
    rain_mm: Array
    eto_mm: Array
    solar_mj_m2: Array
    wind_2m_m_s: Array
    daylight_h: Array
    filled: tuple[str, ...]
    origin: str = ""


@dataclass(frozen=True, eq=False)
class Seasons:
    """The same season in every year that the weather record holds whole.

    Attributes:
        runs: the seasons, in order of time.
        left_out: the seasons that are not whole, and which days they lack.
        fallbacks: what of the evapotranspiration was estimated, and on how many days.
        composed: whether the weather is a typical year, made of several: no risk may be read from it.
        how: where seasons beyond the record come from (`more_years.How`).
        seed: of the random numbers behind them; None if there are none.
        made: how many of the runs, the last ones, are made up.
        notes: what must be said about them.
        own: the planned season itself as far as the record holds it, not a number on the other days; None if it
            holds none of its days, or is a typical year.
    """

    runs: tuple[SeasonWeather, ...]
    left_out: tuple[str, ...]
    fallbacks: tuple[str, ...]
    composed: bool
    how: str = "record"
    seed: int | None = None
    made: int = 0
    notes: tuple[str, ...] = ()
    own: SeasonWeather | None = None

    @property
    def record(self) -> tuple[SeasonWeather, ...]:
        """Return the seasons of the record, without those made up."""
        return self.runs[: len(self.runs) - self.made]


@dataclass(frozen=True)
class Piece:
    """A season cut from the table: dates, a row for each (NaN where nothing is known), notes by position."""

    dates: tuple[date, ...]
    table: pd.DataFrame
    notes: dict[int, str]

    def lacking(self) -> list[date]:
        """Return the days without tmin, tmax or rain."""
        whole = self.table[list(REQUIRED)].notna().all(axis=1).to_numpy()
        return [day for day, known in zip(self.dates, whole, strict=True) if not known]


def seasons(
    weather: DailyWeather,
    planting: date,
    days: int,
    latitude_deg: float,
    elevation_m: float,
    coastal: bool = False,
    fill_gaps_days: int = 0,
) -> Seasons:
    """Return the season in every year of a record, or once on the planting year's dates for a composed year.

    A season starts on the month and day of planting (1 March for 29 February in other years) and runs over
    consecutive days, across the new year too. It must have tmin, tmax and rain on every day. A composed year
    goes round by month and day; as it has no 29 February, that day gets the weather of 28 February.

    Args:
        weather: daily weather.
        planting: first day of the season.
        days: length of the season.
        latitude_deg: south negative.
        elevation_m: above sea level.
        coastal: whether a sea is near, for radiation from temperature (FAO-56 eq. 50).
        fill_gaps_days: gaps up to so many days are filled (temperature interpolated, rain zero).

    Raises:
        WetfootError: if no season is whole, or the season itself cannot be.
    """
    _refuse_impossible(planting, days, fill_gaps_days)
    refuse_other_hemisphere(weather, latitude_deg)
    if weather.composed:
        pieces = [_round_the_year(weather.table, planting, days, fill_gaps_days)]
    else:
        pieces = year_by_year(weather.table, planting, days, fill_gaps_days)
    whole = [piece for piece in pieces if not piece.lacking()]
    if not whole:
        raise _nothing_whole(weather.source, pieces, planting, days)
    used: Counter[str] = Counter()
    runs = tuple(_run(piece, latitude_deg, elevation_m, coastal, used) for piece in whole)
    left_out = tuple(_left_out(piece) for piece in pieces if piece.lacking())
    total = days * len(runs)
    fallbacks = tuple(f"{name} on {count} of {total} days" for name, count in used.items())
    here = [] if weather.composed else [piece for piece in pieces if piece.dates[0] == planting]
    own = [_run(piece, latitude_deg, elevation_m, coastal, Counter()) for piece in here]
    return Seasons(runs, left_out, fallbacks, weather.composed, own=own[0] if own else None)


def _refuse_impossible(planting: date, days: int, fill_gaps_days: int) -> None:
    if not 1 <= days <= LONGEST_SEASON_D:
        raise refuse("season length", f"{days} days", f"1 to {LONGEST_SEASON_D} days", "check planting and harvest")
    if fill_gaps_days < 0:
        raise refuse("fill_gaps_days", f"{fill_gaps_days} days", "0 or more", "0 fills no gaps")
    if not FIRST_YEAR <= planting.year <= LAST_YEAR:
        raise refuse("planting", f"the year {planting.year}", f"{FIRST_YEAR} to {LAST_YEAR}", "check the date")


def _consecutive(start: date, days: int) -> tuple[date, ...]:
    return tuple(start + timedelta(days=day) for day in range(days))


def _start_in(year: int, planting: date) -> date:
    """Return the planting day in a year; the day after 28 February where there is no 29th."""
    try:
        return planting.replace(year=year)
    except ValueError:
        return date(year, 3, 1)


def year_by_year(table: pd.DataFrame, planting: date, days: int, fill_gaps_days: int) -> list[Piece]:
    """Return the season of each year that has some day of it in a record, whole or not."""
    filled, notes = fill_gaps(table, fill_gaps_days)
    first, last = pd.Timestamp(table.index[0]).date(), pd.Timestamp(table.index[-1]).date()
    pieces = []
    for year in range(first.year - days // 365 - 1, last.year + 1):
        start = _start_in(year, planting)
        if start > last or start + (days - 1) * ONE_DAY < first:
            continue
        offset = (start - first).days
        dates = _consecutive(start, days)
        rows = filled.reindex(pd.DatetimeIndex(dates))
        here = {at - offset: note for at, note in notes.items() if 0 <= at - offset < days}
        pieces.append(Piece(dates, rows, here))
    return pieces


def _round_the_year(table: pd.DataFrame, planting: date, days: int, fill_gaps_days: int) -> Piece:
    """Cut the season from a composed year, which follows on itself."""
    by_month_day = table.set_axis(table.index.to_series().dt.strftime("%m-%d"))
    calendar = pd.date_range("2001-01-01", "2001-12-31").strftime("%m-%d")  # any year without a leap day
    year = by_month_day.reindex(calendar)
    thrice, notes = fill_gaps(pd.concat([year, year, year], ignore_index=True), fill_gaps_days)
    dates = _consecutive(planting, days)
    leap = [at for at, day in enumerate(dates) if (day.month, day.day) == (2, 29)]
    keys = ["02-28" if at in leap else day.strftime("%m-%d") for at, day in enumerate(dates)]
    positions = calendar.get_indexer(pd.Index(keys)) + len(calendar)
    here = {at: notes[position] for at, position in enumerate(positions.tolist()) if position in notes}
    here |= dict.fromkeys(leap, "the weather of 28 February, as a typical year has no 29th")
    return Piece(dates, thrice.iloc[positions], here)


def _run(piece: Piece, latitude_deg: float, elevation_m: float, coastal: bool, used: Counter[str]) -> SeasonWeather:
    day_of_year = np.array([day.timetuple().tm_yday for day in piece.dates])
    table = piece.table[list(COLUMNS)]
    reference = reference_days(table, day_of_year, latitude_deg, elevation_m, coastal)
    used.update(reference.stand_ins)
    return SeasonWeather(
        year=piece.dates[0].year,
        dates=piece.dates,
        tmin_c=table["tmin_c"].to_numpy(float),
        tmax_c=table["tmax_c"].to_numpy(float),
        rain_mm=table["rain_mm"].to_numpy(float),
        eto_mm=reference.eto_mm,
        solar_mj_m2=reference.solar_mj_m2,
        wind_2m_m_s=reference.wind_2m_m_s,
        daylight_h=daylight_h(latitude_deg, day_of_year),
        filled=tuple(f"{piece.dates[at]}: {note}" for at, note in sorted(piece.notes.items())),
    )


def _named(lacking: Sequence[date]) -> str:
    """Return the first ten of some days, and how many more there are."""
    named = ", ".join(day.isoformat() for day in lacking[:NAMED_DAYS])
    more = len(lacking) - NAMED_DAYS
    return f"{named} and {more} more" if more > 0 else named


def _left_out(piece: Piece) -> str:
    lacking = piece.lacking()
    many = f"{len(lacking)} of {len(piece.dates)} days"
    return f"season from {piece.dates[0]}: {many} lack tmin, tmax or rain ({_named(lacking)})"


def _nothing_whole(source: str, pieces: list[Piece], planting: date, days: int) -> Exception:
    season = f"{days} days from {planting.day} {planting:%B}"
    fullest = min(pieces, key=lambda piece: len(piece.lacking()), default=None)
    what = f"no season of {season} is whole"
    if fullest:
        what += f"; the fullest, {_left_out(fullest)}"
    return refuse(
        source,
        what,
        "tmin, tmax and rain on every day of at least one season",
        "set fill_gaps_days if the gaps are short, or take another file",
    )
