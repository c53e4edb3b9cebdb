"""The course of sun and air through days, from daily or hourly records, in steps of part of an hour."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import pandas as pd
import pvlib
from numpy.typing import ArrayLike, NDArray

from wetfoot.climate.day_shapes import air_temperature_c, radiation_share, split_global, sun_position, wind_course_m_s
from wetfoot.climate.evapotranspiration import daylight_h, extraterrestrial_radiation_mj_m2

Array = NDArray[np.float64]

TYPICAL_WIND_2M_M_S = 2.0
J_PER_MJ = 1e6


class Course(NamedTuple):
    """Weather and sun, step by step; every array has one value a step.

    Attributes:
        middle: the middle of each step, in UTC.
        step_h: length of a step, h.
        air_c: air temperature.
        global_w_m2: solar radiation on the horizontal.
        beam_w_m2: direct radiation on a plane that faces the sun.
        diffuse_w_m2: diffuse radiation on the horizontal.
        beam_above_air_w_m2: direct radiation above the atmosphere.
        wind_2m_m_s: wind 2 m above the ground.
        sun_height_deg: angle of the sun above the horizon, without refraction.
        sun_azimuth_deg: direction of the sun from north, through east.
    """

    middle: pd.DatetimeIndex
    step_h: float
    air_c: Array
    global_w_m2: Array
    beam_w_m2: Array
    diffuse_w_m2: Array
    beam_above_air_w_m2: Array
    wind_2m_m_s: Array
    sun_height_deg: Array
    sun_azimuth_deg: Array


def course_of_days(
    days: pd.DatetimeIndex,
    tmin_c: ArrayLike,
    tmax_c: ArrayLike,
    solar_mj_m2: ArrayLike,
    latitude_deg: float,
    longitude_deg: float,
    elevation_m: float = 0.0,
    wind_2m_m_s: ArrayLike = TYPICAL_WIND_2M_M_S,
    steps_per_hour: int = 4,
) -> Course:
    """Return the course of consecutive days from their daily records.

    A day runs from mean solar midnight at the site to the next. Each day's radiation is kept exactly.

    Args:
        days: the calendar days, without zone, without gaps; (days,).
        tmin_c: lowest air temperature of each day.
        tmax_c: highest air temperature of each day.
        solar_mj_m2: global radiation of each day, MJ/m2.
        latitude_deg: south negative.
        longitude_deg: west negative.
        elevation_m: above sea level.
        wind_2m_m_s: mean wind of each day 2 m above the ground, or one for all.
        steps_per_hour: how finely.

    Raises:
        ValueError: if days are missing, a value is not finite, radiation or wind is negative, or tmin is above tmax.
    """
    low, high, solar, wind = np.broadcast_arrays(
        *(np.asarray(v, dtype=float) for v in (tmin_c, tmax_c, solar_mj_m2, wind_2m_m_s)), np.zeros(len(days))
    )[:4]
    _check_days(days, low, high, solar, wind)
    _check_sun(days, solar, latitude_deg)
    per_day = 24 * steps_per_hour
    hours = (np.arange(len(days) * per_day) + 0.5) / steps_per_hour
    midnight = days[0].tz_localize("UTC") - pd.Timedelta(hours=longitude_deg / 15.0)
    middle = midnight + pd.to_timedelta(hours, unit="h")
    day_of_year = days.day_of_year.to_numpy()
    light = np.asarray(daylight_h(latitude_deg, day_of_year))
    sun = sun_position(middle, latitude_deg, longitude_deg, elevation_m)
    of_step = np.repeat(day_of_year, per_day)
    noon = pvlib.solarposition.equation_of_time_spencer71(of_step) / 60.0
    angle = 15.0 * (hours % 24.0 + noon - 12.0)
    share = np.where(sun[0] > 0.0, radiation_share(angle, np.repeat(7.5 * light, per_day)), 0.0)
    total = share.reshape(-1, per_day).sum(axis=1, keepdims=True)
    share = np.divide(share.reshape(-1, per_day), total, out=np.zeros((len(days), per_day)), where=total > 0.0)
    step_s = 3600.0 / steps_per_hour
    radiation = (share * solar[:, None] * J_PER_MJ / step_s).ravel()
    air = air_temperature_c(hours, low, high, 12.0 - light / 2.0)
    beam, diffuse = split_global(radiation, sun[0], of_step)
    breeze = wind_course_m_s(wind, sun[0].reshape(-1, per_day) > 0.0).ravel()
    return Course(middle, 1.0 / steps_per_hour, air, radiation, beam, diffuse, _above_air(of_step), breeze, *sun)


def _check_days(days: pd.DatetimeIndex, low: Array, high: Array, solar: Array, wind: Array) -> None:
    if len(days) == 0 or np.any(np.diff(days.to_numpy()) != np.timedelta64(1, "D")):
        raise ValueError("days must be consecutive, and at least one")
    for name, values in {"tmin_c": low, "tmax_c": high, "solar_mj_m2": solar, "wind_2m_m_s": wind}.items():
        _check_finite(name, values)
    if np.any(solar < 0.0) or np.any(wind < 0.0):
        raise ValueError("solar_mj_m2 and wind_2m_m_s must be 0 or more")
    if np.any(low > high):
        raise ValueError(f"tmin_c must not be above tmax_c: {days[low > high][0].date()}")


def _check_sun(days: pd.DatetimeIndex, solar: Array, latitude_deg: float) -> None:
    most = 1.05 * np.asarray(extraterrestrial_radiation_mj_m2(latitude_deg, days.day_of_year.to_numpy())) + 0.5
    if np.any(solar > most):
        bad = int(np.argmax(solar > most))
        raise ValueError(f"solar_mj_m2 of {days[bad].date()} is {solar[bad]:g}, above the sun's {most[bad]:.1f}")


def _check_finite(name: str, values: Array) -> None:
    if not np.all(np.isfinite(values)):
        raise ValueError(f"{name} must be finite, not {values[~np.isfinite(values)][0]!r}")


def _above_air(day_of_year: ArrayLike) -> Array:
    return np.asarray(pvlib.irradiance.get_extra_radiation(np.asarray(day_of_year)), dtype=float)


def course_of_hours(
    ends: pd.DatetimeIndex,
    air_c: ArrayLike,
    global_w_m2: ArrayLike,
    latitude_deg: float,
    longitude_deg: float,
    elevation_m: float = 0.0,
    wind_2m_m_s: ArrayLike = TYPICAL_WIND_2M_M_S,
    beam_w_m2: ArrayLike | None = None,
    diffuse_w_m2: ArrayLike | None = None,
    steps_per_hour: int = 4,
) -> Course:
    """Return the course of consecutive hours from hourly records, as TMY3 and EPW files hold them.

    Air temperature is read between the stamps; radiation and wind are those of the hour before the stamp.

    Args:
        ends: the end of each hour, with a zone, without gaps; (hours,).
        air_c: air temperature at each stamp.
        global_w_m2: mean global radiation of each hour.
        latitude_deg: south negative.
        longitude_deg: west negative.
        elevation_m: above sea level.
        wind_2m_m_s: wind 2 m above the ground, of each hour or one for all.
        beam_w_m2: mean direct radiation facing the sun; by Erbs' method if it or the diffuse is not given.
        diffuse_w_m2: mean diffuse radiation on the horizontal.
        steps_per_hour: how finely.

    Raises:
        ValueError: if hours are missing or a value is not finite, or radiation or wind is negative.
    """
    if len(ends) == 0 or np.any(np.diff(ends.to_numpy()) != np.timedelta64(1, "h")):
        raise ValueError("ends must be consecutive hours, and at least one")
    offsets = (np.arange(len(ends) * steps_per_hour) + 0.5) / steps_per_hour
    start = ends[0].tz_convert("UTC") - pd.Timedelta(hours=1)
    middle = start + pd.to_timedelta(offsets, unit="h")
    sun = sun_position(middle, latitude_deg, longitude_deg, elevation_m)
    hourly = {"global_w_m2": global_w_m2, "wind_2m_m_s": wind_2m_m_s}
    if beam_w_m2 is not None and diffuse_w_m2 is not None:
        hourly |= {"beam_w_m2": beam_w_m2, "diffuse_w_m2": diffuse_w_m2}
    held = {name: _held(name, values, len(ends), steps_per_hour) for name, values in hourly.items()}
    air = np.asarray(air_c, dtype=float)
    _check_finite("air_c", air)
    of_step = middle.day_of_year.to_numpy()
    if "beam_w_m2" not in held:
        held["beam_w_m2"], held["diffuse_w_m2"] = split_global(held["global_w_m2"], sun[0], of_step)
    return Course(
        middle,
        1.0 / steps_per_hour,
        np.interp(offsets, np.arange(1, len(ends) + 1), air),
        held["global_w_m2"],
        held["beam_w_m2"],
        held["diffuse_w_m2"],
        _above_air(of_step),
        held["wind_2m_m_s"],
        *sun,
    )


def _held(name: str, values: ArrayLike, hours: int, steps_per_hour: int) -> Array:
    """Return hourly values held through the steps of their hour."""
    array = np.broadcast_to(np.asarray(values, dtype=float), (hours,))
    _check_finite(name, array)
    if np.any(array < 0.0):
        raise ValueError(f"{name} must be 0 or more, not {array.min()!r}")
    return np.repeat(array, steps_per_hour)
