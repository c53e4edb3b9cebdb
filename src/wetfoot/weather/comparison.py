"""Made-up seasons against the record, and a generator's parameters, as tables to show."""

from __future__ import annotations

from calendar import month_name
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from wetfoot.climate.rain_chain import WET_MM, longest_run
from wetfoot.weather.generator import Fitted
from wetfoot.weather.seasons import Seasons, SeasonWeather

Array = NDArray[np.float64]
Summary = Callable[..., Any]  # numpy's mean, min or max, over all or along an axis

DRAWS = 2000
_SEED = 5  # of the drawing of groups: the same table every time


class Compared(NamedTuple):
    """A statistic of the record beside that of made-up records of the same number of years.

    Attributes:
        what: the statistic, in words with its unit.
        month: 1 to 12, or 0 for the whole season.
        record: its value in the record.
        made: its mean over the made-up records.
        low, high: between these lie 95 % of them.
        inside: whether the record does.
    """

    what: str
    month: int
    record: float
    made: float
    low: float
    high: float
    inside: bool


class _Days(NamedTuple):
    """Seasons as arrays of shape (years, days)."""

    month: NDArray[np.int_]
    tmin_c: Array
    tmax_c: Array
    rain_mm: Array
    eto_mm: Array
    solar_mj_m2: Array


def compare(laid: Seasons) -> tuple[Compared, ...]:
    """Return statistics of the record against made-up records of as many years.

    One record is one draw of what the climate can do: so it is held against the spread between groups of as many
    made-up years, drawn with replacement. About one row in twenty lies outside by chance alone.

    Args:
        laid: seasons with some made up.

    Raises:
        ValueError: if none is made up.
    """
    if not laid.made:
        raise ValueError("laid must hold made-up seasons")
    record, made = _days(laid.record), _days(laid.runs[len(laid.record) :])
    groups = np.random.default_rng(_SEED).integers(laid.made, size=(DRAWS, len(laid.record)))
    return tuple(
        _compared(what, month, statistic(record), statistic(made)[groups], over_years)
        for what, month, statistic, over_years in _statistics(np.unique(record.month).tolist())
    )


def _days(runs: Sequence[SeasonWeather]) -> _Days:
    months: dict[int, NDArray[np.int_]] = {}
    for run in runs:  # made-up seasons share their dates
        if id(run.dates) not in months:
            months[id(run.dates)] = np.array([day.month for day in run.dates])
    names = _Days._fields[1:]
    columns = {name: np.stack([getattr(run, name) for run in runs]) for name in names}
    return _Days(month=np.stack([months[id(run.dates)] for run in runs]), **columns)


def _statistics(months: Sequence[int]) -> Iterator[tuple[str, int, Callable[[_Days], Array], Summary]]:
    """Yield what it is, its month, its value in each year, and how years are put together."""
    for month in months:
        for what, by_year in _BY_MONTH:
            yield what, month, partial(by_year, month=month), np.mean
    for what, in_season, over_years in _BY_SEASON:
        yield what, 0, in_season, over_years


def _wet_share(days: _Days, month: int) -> Array:
    return 100.0 * _mean_in(days, days.rain_mm >= WET_MM, month)


def _month_rain(days: _Days, month: int) -> Array:
    return np.asarray((days.rain_mm * (days.month == month)).sum(axis=1))


def _lowest(days: _Days, month: int) -> Array:
    return _mean_in(days, days.tmin_c, month)


def _highest(days: _Days, month: int) -> Array:
    return _mean_in(days, days.tmax_c, month)


def _mean_in(days: _Days, values: Array | NDArray[np.bool_], month: int) -> Array:
    here = days.month == month
    return np.asarray((values * here).sum(axis=1) / np.maximum(here.sum(axis=1), 1))


def _dry_spell(days: _Days) -> Array:
    return longest_run(days.rain_mm < WET_MM).astype(float)


def _wet_spell(days: _Days) -> Array:
    return longest_run(days.rain_mm >= WET_MM).astype(float)


def _season_rain(days: _Days) -> Array:
    return np.asarray(days.rain_mm.sum(axis=1))


def _wettest_day(days: _Days) -> Array:
    return np.asarray(days.rain_mm.max(axis=1))


def _season_eto(days: _Days) -> Array:
    return np.asarray(days.eto_mm.sum(axis=1))


def _season_sun(days: _Days) -> Array:
    return np.asarray(days.solar_mj_m2.mean(axis=1))


_BY_MONTH = (
    ("wet days, %", _wet_share),
    ("rain, mm", _month_rain),
    ("mean of lowest temperatures, °C", _lowest),
    ("mean of highest temperatures, °C", _highest),
)
_BY_SEASON: tuple[tuple[str, Callable[[_Days], Array], Summary], ...] = (
    ("longest dry spell of a season, days", _dry_spell, np.mean),
    ("longest dry spell of all, days", _dry_spell, np.max),
    ("longest wet spell of a season, days", _wet_spell, np.mean),
    ("longest wet spell of all, days", _wet_spell, np.max),
    ("wettest day, mm", _wettest_day, np.max),
    ("rain of the season, mm", _season_rain, np.mean),
    ("rain of the driest season, mm", _season_rain, np.min),
    ("rain of the wettest season, mm", _season_rain, np.max),
    ("reference evapotranspiration of the season, mm", _season_eto, np.mean),
    ("solar radiation, MJ/m2 a day", _season_sun, np.mean),
)


def _compared(what: str, month: int, of_record: Array, of_groups: Array, over_years: Summary) -> Compared:
    value = float(over_years(of_record))
    groups = over_years(of_groups, axis=1)
    low, high = (float(edge) for edge in np.quantile(groups, (0.025, 0.975)))
    rounding = 1e-9 * max(1.0, abs(value))
    inside = low - rounding <= value <= high + rounding
    return Compared(what, month, value, float(groups.mean()), low, high, inside)


def rain_table(fitted: Fitted) -> list[dict[str, str | float]]:
    """Return the chain and the amounts of a generator, a row a month, to show."""
    rain = fitted.rain
    return [
        {
            "month": month_name[at + 1],
            "days": int(rain.days[at]),
            "wet days": int(rain.wet_days[at]),
            "chance of rain after a dry day": float(rain.wet_after_dry[at]),
            "chance of rain after a wet day": float(rain.wet_after_wet[at]),
            "rain of a wet day, mm": float(rain.mean_mm[at] + WET_MM) if rain.wet_days[at] else 0.0,
            "shape of the amounts": float(rain.shape[at]),
        }
        for at in range(12)
    ]


def residual_table(fitted: Fitted) -> list[dict[str, str | float]]:
    """Return the matrices A and B of a generator, a row a variable, to show."""
    names = fitted.scales.names
    rows: list[dict[str, str | float]] = []
    for at, name in enumerate(names):
        row: dict[str, str | float] = {"variable": name}
        row |= {f"A, {other} of the day before": float(fitted.a[at, j]) for j, other in enumerate(names)}
        row |= {f"B, random {other}": float(fitted.b[at, j]) for j, other in enumerate(names)}
        rows.append(row)
    return rows
