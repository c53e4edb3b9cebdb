"""The sun through a day and the published shapes that spread a day's record over its hours."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pvlib
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

WARMEST_HOUR = 14.0
DAY_TO_NIGHT_WIND = 2.0


def sun_position(
    times: pd.DatetimeIndex, latitude_deg: float, longitude_deg: float, elevation_m: float = 0.0
) -> tuple[Array, Array]:
    """Return the height above the horizon (without refraction) and the azimuth of the sun, in degrees.

    Reda & Andreas 2004, Solar Energy 76:577 (NREL's algorithm), as pvlib computes it.

    Args:
        times: instants with a zone.
        latitude_deg: south negative.
        longitude_deg: west negative.
        elevation_m: above sea level.

    Raises:
        ValueError: if the times have no zone.
    """
    if times.tz is None:
        raise ValueError("times must have a zone")
    found = pvlib.solarposition.get_solarposition(times, latitude_deg, longitude_deg, altitude=elevation_m)
    return found["elevation"].to_numpy(float), found["azimuth"].to_numpy(float)


def air_temperature_c(hours: ArrayLike, tmin_c: ArrayLike, tmax_c: ArrayLike, sunrise_h: ArrayLike) -> Array:
    """Return the air temperature at any hour of consecutive days, from their extremes.

    Half waves of a cosine from the lowest at sunrise to the highest at 14 h solar time and on to the lowest of
    the next sunrise: de Wit, Goudriaan & van Laar 1978, Simulation of assimilation, respiration and transpiration
    of crops; called WAVE by Reicosky et al. 1989, Agric. For. Meteorol. 46:193 (both from memory).

    Args:
        hours: solar time from the start of the first day, h.
        tmin_c: lowest of each day; (days,).
        tmax_c: highest of each day; (days,).
        sunrise_h: solar time of sunrise of each day; (days,).
    """
    low, high, rise = (np.asarray(values, dtype=float) for values in (tmin_c, tmax_c, sunrise_h))
    midnight = 24.0 * np.arange(len(low))
    at = np.column_stack([midnight + np.minimum(rise, WARMEST_HOUR - 1.0), midnight + WARMEST_HOUR]).ravel()
    values = np.column_stack([low, high]).ravel()
    # the evening before the first day and the night after the last one repeat those days
    at = np.concatenate([[WARMEST_HOUR - 24.0], at, [at[-2] + 24.0]])
    values = np.concatenate([high[:1], values, low[-1:]])
    asked = np.asarray(hours, dtype=float)
    before = np.clip(np.searchsorted(at, asked, side="right") - 1, 0, len(at) - 2)
    share = np.clip((asked - at[before]) / (at[before + 1] - at[before]), 0.0, 1.0)
    return np.asarray(values[before] + (values[before + 1] - values[before]) * (1.0 - np.cos(np.pi * share)) / 2.0)


def radiation_share(hour_angle_deg: ArrayLike, sunset_angle_deg: ArrayLike) -> Array:
    """Return the share of a day's solar radiation that falls in an hour round an hour angle.

    Collares-Pereira & Rabl 1979, Solar Energy 22:155: pi/24 (a + b cos w)(cos w - cos ws) / (sin ws - ws cos ws),
    a = 0.409 + 0.5016 sin(ws - 60), b = 0.6609 - 0.4767 sin(ws - 60); 0 while the sun is down.

    Args:
        hour_angle_deg: of the middle of the hour, 0 at solar noon, w.
        sunset_angle_deg: of sunset, ws; above 0 and at most 180.

    >>> float(radiation_share(-52.5, 107.0).round(3))  # Melbourne in January, 8 to 9 h
    0.076
    """
    w, ws = np.radians(np.asarray(hour_angle_deg, dtype=float)), np.radians(np.asarray(sunset_angle_deg, dtype=float))
    a = 0.409 + 0.5016 * np.sin(ws - np.pi / 3.0)
    b = 0.6609 - 0.4767 * np.sin(ws - np.pi / 3.0)
    day = np.maximum(np.sin(ws) - ws * np.cos(ws), 1e-12)
    share = np.pi / 24.0 * (a + b * np.cos(w)) * (np.cos(w) - np.cos(ws)) / day
    return np.asarray(np.where(np.cos(w) > np.cos(ws), share, 0.0))


def split_global(global_w_m2: Array, sun_height_deg: Array, day_of_year: ArrayLike) -> tuple[Array, Array]:
    """Return the direct radiation on a plane that faces the sun, and the diffuse on the horizontal.

    Erbs, Klein & Duffie 1982, Solar Energy 28:293, eq. 1, as pvlib computes it: below 3 degrees of sun all is diffuse.
    """
    parts = pvlib.irradiance.erbs(global_w_m2, 90.0 - sun_height_deg, np.asarray(day_of_year))
    return np.asarray(parts["dni"], dtype=float), np.asarray(parts["dhi"], dtype=float)


def wind_course_m_s(wind_m_s: Array, sun_is_up: NDArray[np.bool_]) -> Array:
    """Return the wind by day and by night, of each step, from each day's mean.

    It blows twice as hard by day as by night: Doorenbos & Pruitt 1977, FAO Irrigation and Drainage Paper 24, where
    the ratio is not known (from memory). The mean is kept.

    Args:
        wind_m_s: mean of each day; (days,).
        sun_is_up: (days, steps of a day).
    """
    weight = np.where(sun_is_up, DAY_TO_NIGHT_WIND, 1.0)
    return np.asarray(wind_m_s[:, None] * weight / weight.mean(axis=1, keepdims=True))
