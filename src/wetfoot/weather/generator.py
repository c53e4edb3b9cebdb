"""A generator of daily weather, fitted to a record: chain of wet and dry days, gamma rain, correlated residuals.

After Richardson 1981 (Water Resour. Res. 17: 182-190) and Richardson & Wright 1984 (WGEN, USDA ARS-8), with dew point
and wind, where the record has them, as further variables of the same chain of residuals.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from wetfoot.climate import day_residuals as dr
from wetfoot.climate import evapotranspiration as et
from wetfoot.climate import rain_chain as rc
from wetfoot.errors import refuse
from wetfoot.weather.daily import DailyWeather
from wetfoot.weather.made_up import stream
from wetfoot.weather.scales import Scales, from_scales, to_scales

Array = NDArray[np.float64]

LEAST_DAYS = 360  # a year but for a few days: a month without data has no chain
LEAST_PAIRS = 730  # two years: a correlation then has a standard error of 0.04
LEAST_MEASURED = 300  # of sun, dew point or wind
_STREAM = 2


@dataclass(frozen=True, eq=False)
class Fitted:
    """A generator's parameters.

    Attributes:
        rain: chain and amounts by month.
        scales: what the variables are, and how they are bent to be nearly normal.
        courses: mean and standard deviation of each variable over the year.
        same_day, a, b: correlations on the same day, and the matrices of the chain of residuals.
        pairs: pairs of days behind the correlations.
        published: whether those of tmax, tmin and sun are the published ones, for want of pairs.
        years: length of the record.
        source: of the record.
    """

    rain: rc.RainMonths
    scales: Scales
    courses: tuple[dr.Course, ...]
    same_day: Array
    a: Array
    b: Array
    pairs: int
    published: bool
    years: float
    source: str


def fit_generator(weather: DailyWeather, latitude_deg: float) -> Fitted:
    """Return the generator that fits a record, or a typical year.

    Args:
        weather: daily weather; at least a year.
        latitude_deg: south negative.

    Raises:
        WetfootError: if fewer than `LEAST_DAYS` days have tmin, tmax and rain, or a month has none.
    """
    table = weather.table
    index = pd.DatetimeIndex(table.index)
    month, day_of_year = index.month.to_numpy(), index.day_of_year.to_numpy()
    follows = np.r_[False, np.diff(index.to_numpy()) == np.timedelta64(1, "D")]
    rain_mm = table["rain_mm"].to_numpy(float)
    _refuse_short(weather, month)
    rain = rc.fit_rain_months(month, rain_mm, follows)
    wet = rain_mm >= rc.WET_MM
    ra, daylight = (f(latitude_deg, day_of_year) for f in (et.extraterrestrial_radiation_mj_m2, et.daylight_h))
    scales, values = to_scales(table, ra, daylight, LEAST_MEASURED)
    values[np.isnan(rain_mm)] = np.nan  # wet or dry is not known
    courses = tuple(dr.fit_course(day_of_year, wet, column) for column in values.T)
    at = [dr.course_at(course, day_of_year, wet) for course in courses]
    residuals = np.stack([(y - mean) / sd for y, (mean, sd) in zip(values.T, at, strict=True)], axis=1)
    found = dr.fit_correlations(residuals, follows)
    published = found.pairs < LEAST_PAIRS
    same_day, day_before = _with_published(residuals, follows, scales) if published else found[:2]
    a, b = dr.chain_matrices(same_day, day_before)
    years = int((~np.isnan(rain_mm)).sum()) / dr.DAYS_A_YEAR
    return Fitted(rain, scales, courses, same_day, a, b, found.pairs, published, years, weather.source)


def _refuse_short(weather: DailyWeather, month: NDArray[np.int_]) -> None:
    whole = weather.table[["tmin_c", "tmax_c", "rain_mm"]].notna().all(axis=1).to_numpy()
    if whole.sum() >= LEAST_DAYS and len(set(month[whole].tolist())) == 12:
        return
    raise refuse(
        weather.source,
        f"{whole.sum()} days have tmin, tmax and rain: too few to fit a weather generator",
        f"{LEAST_DAYS} days or more, in all twelve months; ten years or more to read odds from",
        "use the record alone, or a longer record",
    )


def _with_published(residuals: Array, follows: NDArray[np.bool_], scales: Scales) -> tuple[Array, Array]:
    """Return the published correlations of tmax, tmin and sun; others stand alone with their own persistence."""
    same, before = dr.published_correlations()
    count = 3 if "sun" in scales.names else 2
    k = len(scales.names)
    same_day, day_before = np.eye(k), np.zeros((k, k))
    same_day[:count, :count], day_before[:count, :count] = same[:count, :count], before[:count, :count]
    for at in range(count, k):
        day_before[at, at] = dr.fit_correlations(residuals[:, [at]], follows).day_before[0, 0]
    return same_day, day_before


def generated(
    fitted: Fitted, dates: pd.DatetimeIndex, numbers: range, seed: int, latitude_deg: float
) -> dict[str, Array]:
    """Return generated seasons.

    Args:
        fitted: from `fit_generator`.
        dates: the days of each season.
        numbers: which of the generated seasons to give, from 0.
        seed: of the random numbers.
        latitude_deg: south negative.

    Returns:
        Columns of the daily table, each of shape (seasons, days); a minimum is never above its maximum.
    """
    at, day_of_year = dates.month.to_numpy() - 1, dates.day_of_year.to_numpy()
    days, k = len(dates), len(fitted.scales.names)
    uniform = np.empty((len(numbers), days))
    amount, normal = np.empty_like(uniform), np.empty((len(numbers), days, k))
    for row, number in enumerate(numbers):
        random = stream(seed, _STREAM, number)
        uniform[row] = random.random(days)
        amount[row] = random.standard_gamma(fitted.rain.shape[at])
        normal[row] = random.standard_normal((days, k))
    wet = rc.wet_days(uniform, fitted.rain.wet_after_dry[at], fitted.rain.wet_after_wet[at])
    rain = np.where(wet, rc.WET_MM + amount * (fitted.rain.mean_mm / fitted.rain.shape)[at], 0.0)
    residual = dr.residual_chain(normal, fitted.same_day, fitted.a, fitted.b)
    values = np.empty_like(residual)
    for variable, course in enumerate(fitted.courses):
        mean, sd = dr.course_at(course, day_of_year, wet)
        values[:, :, variable] = mean + sd * residual[:, :, variable]
    ra = et.extraterrestrial_radiation_mj_m2(latitude_deg, day_of_year)
    return {"rain_mm": rain} | from_scales(fitted.scales, values, ra)
