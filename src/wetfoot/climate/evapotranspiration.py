"""Reference evapotranspiration of a day, and each quantity it needs, after FAO-56.

Equation numbers are those of Allen, Pereira, Raes & Smith 1998, Crop evapotranspiration, FAO Irrigation and
Drainage Paper 56. Arguments are floats or arrays that broadcast together; results have the broadcast shape.
Vapour pressures are in kPa, radiation in MJ/m2 a day, ``day_of_year`` is 1 on 1 January.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

SOLAR_CONSTANT_MJ_M2_MIN = 0.0820
STEFAN_BOLTZMANN_MJ_K4_M2_D = 4.903e-9
GRASS_ALBEDO = 0.23
MM_PER_MJ_M2 = 0.408  # 1 / latent heat of 2.45 MJ/kg
TYPICAL_WIND_2M_M_S = 2.0


def _floats(values: ArrayLike) -> Array:
    return np.asarray(values, dtype=float)


def mean_temperature_c(tmin_c: ArrayLike, tmax_c: ArrayLike) -> Array:
    """Return the mean air temperature of a day from its extremes (eq. 9)."""
    return (_floats(tmin_c) + _floats(tmax_c)) / 2.0


def saturation_vapour_pressure_kpa(temperature_c: ArrayLike) -> Array:
    """Return the vapour pressure of saturated air at one temperature (eq. 11)."""
    t = _floats(temperature_c)
    return np.asarray(0.6108 * np.exp(17.27 * t / (t + 237.3)))


def mean_saturation_vapour_pressure_kpa(tmin_c: ArrayLike, tmax_c: ArrayLike) -> Array:
    """Return the mean saturation vapour pressure of a day, the mean of that at its extremes (eq. 12)."""
    return (saturation_vapour_pressure_kpa(tmin_c) + saturation_vapour_pressure_kpa(tmax_c)) / 2.0


def vapour_pressure_slope_kpa_c(temperature_c: ArrayLike) -> Array:
    """Return the slope of the saturation vapour pressure curve, kPa per deg C (eq. 13)."""
    t = _floats(temperature_c)
    return np.asarray(4098.0 * saturation_vapour_pressure_kpa(t) / (t + 237.3) ** 2)


def air_pressure_kpa(elevation_m: ArrayLike) -> Array:
    """Return the atmospheric pressure at an elevation above sea level (eq. 7)."""
    return np.asarray(101.3 * ((293.0 - 0.0065 * _floats(elevation_m)) / 293.0) ** 5.26)


def psychrometric_constant_kpa_c(elevation_m: ArrayLike) -> Array:
    """Return the psychrometric constant, kPa per deg C (eq. 8)."""
    return 0.665e-3 * air_pressure_kpa(elevation_m)


def vapour_pressure_from_dew_point_kpa(dew_point_c: ArrayLike) -> Array:
    """Return the actual vapour pressure from the dew point (eq. 14)."""
    return saturation_vapour_pressure_kpa(dew_point_c)


def vapour_pressure_from_humidity_kpa(
    tmin_c: ArrayLike, tmax_c: ArrayLike, rh_min_pct: ArrayLike, rh_max_pct: ArrayLike
) -> Array:
    """Return the actual vapour pressure from the extremes of temperature and relative humidity (eq. 17).

    With the mean humidity given for both extremes this is eq. 19.
    """
    at_dawn = saturation_vapour_pressure_kpa(tmin_c) * _floats(rh_max_pct) / 100.0
    at_noon = saturation_vapour_pressure_kpa(tmax_c) * _floats(rh_min_pct) / 100.0
    return (at_dawn + at_noon) / 2.0


def vapour_pressure_from_mean_humidity_kpa(tmin_c: ArrayLike, tmax_c: ArrayLike, rh_mean_pct: ArrayLike) -> Array:
    """Return the actual vapour pressure from the mean relative humidity (eq. 19)."""
    return _floats(rh_mean_pct) / 100.0 * mean_saturation_vapour_pressure_kpa(tmin_c, tmax_c)


def vapour_pressure_from_tmin_kpa(tmin_c: ArrayLike) -> Array:
    """Return the actual vapour pressure when humidity is not measured (eq. 48): tmin is the dew point.

    Too high in arid climates, where the air at dawn is not saturated.
    """
    return saturation_vapour_pressure_kpa(tmin_c)


def _sun(latitude_deg: ArrayLike, day_of_year: ArrayLike) -> tuple[Array, Array, Array]:
    """Return latitude, solar declination (eq. 24) and sunset hour angle (eq. 25), all in rad."""
    degrees = _floats(latitude_deg)
    if np.any(np.abs(degrees) > 90.0):
        raise ValueError(f"latitude_deg must be between -90 and 90, not {latitude_deg!r}")
    latitude = np.radians(degrees)
    declination = np.asarray(0.409 * np.sin(2.0 * np.pi / 365.0 * _floats(day_of_year) - 1.39))
    # beyond the polar circles the sun may not set or not rise: the argument leaves -1 to 1
    sunset = np.arccos(np.clip(-np.tan(latitude) * np.tan(declination), -1.0, 1.0))
    return latitude, declination, sunset


def extraterrestrial_radiation_mj_m2(latitude_deg: ArrayLike, day_of_year: ArrayLike) -> Array:
    """Return the solar radiation above the atmosphere on a horizontal plane in a day, Ra (eq. 21, 23).

    Raises:
        ValueError: if the latitude (south negative) is beyond a pole.
    """
    latitude, declination, sunset = _sun(latitude_deg, day_of_year)
    nearness = 1.0 + 0.033 * np.cos(2.0 * np.pi / 365.0 * _floats(day_of_year))
    height = sunset * np.sin(latitude) * np.sin(declination)
    height = height + np.cos(latitude) * np.cos(declination) * np.sin(sunset)
    per_day = 24.0 * 60.0 / np.pi * SOLAR_CONSTANT_MJ_M2_MIN
    return np.asarray(np.maximum(per_day * nearness * height, 0.0))


def daylight_h(latitude_deg: ArrayLike, day_of_year: ArrayLike) -> Array:
    """Return the hours between sunrise and sunset, N (eq. 34): 0 in the polar night, 24 under midnight sun.

    Raises:
        ValueError: if the latitude (south negative) is beyond a pole.
    """
    return 24.0 / np.pi * _sun(latitude_deg, day_of_year)[2]


def clear_sky_radiation_mj_m2(ra_mj_m2: ArrayLike, elevation_m: ArrayLike) -> Array:
    """Return the solar radiation that reaches the ground under a clear sky, Rso (eq. 37)."""
    return (0.75 + 2e-5 * _floats(elevation_m)) * _floats(ra_mj_m2)


def radiation_from_sunshine_mj_m2(ra_mj_m2: ArrayLike, sunshine_h: ArrayLike, day_length_h: ArrayLike) -> Array:
    """Return the solar radiation Rs from hours of bright sunshine (eq. 35, Angstrom with 0.25 and 0.50).

    More sunshine than daylight counts as all of it.
    """
    share = _share(_floats(sunshine_h), _floats(day_length_h), 0.0)
    return np.asarray((0.25 + 0.50 * share) * _floats(ra_mj_m2))


def _share(part: Array, whole: Array, of_nothing: float) -> Array:
    """Return part / whole, at most 1, and the given value where the whole is nothing."""
    capped = np.minimum(part, whole)
    share = np.full(capped.shape, of_nothing)
    np.divide(capped, whole, out=share, where=whole > 0.0)
    return share


def radiation_from_temperature_mj_m2(
    ra_mj_m2: ArrayLike,
    tmin_c: ArrayLike,
    tmax_c: ArrayLike,
    elevation_m: ArrayLike,
    coastal: bool = False,
) -> Array:
    """Return the solar radiation Rs from the range of temperature (eq. 50), never above a clear sky's.

    The coefficient is 0.16 inland and 0.19 where air masses come from a nearby sea.
    """
    coefficient = 0.19 if coastal else 0.16
    root = np.sqrt(np.maximum(_floats(tmax_c) - _floats(tmin_c), 0.0))
    clear = clear_sky_radiation_mj_m2(ra_mj_m2, elevation_m)
    return np.asarray(np.minimum(coefficient * root * _floats(ra_mj_m2), clear))


def net_shortwave_mj_m2(rs_mj_m2: ArrayLike, albedo: float = GRASS_ALBEDO) -> Array:
    """Return what the reference grass keeps of the solar radiation, Rns (eq. 38)."""
    return (1.0 - albedo) * _floats(rs_mj_m2)


def net_longwave_mj_m2(
    tmin_c: ArrayLike, tmax_c: ArrayLike, ea_kpa: ArrayLike, rs_mj_m2: ArrayLike, rso_mj_m2: ArrayLike
) -> Array:
    """Return the heat radiated to the sky in a day, Rnl (eq. 39), with Rs/Rso limited to at most 1.

    The cloud factor is kept at 0.05 or above (ASCE-EWRI 2005, from memory), so that a dark day gains nothing.
    Without any sun (Rso = 0) Rs/Rso is taken as 0.5, a middling sky: an estimate, as no source gives one.
    """
    sun, clear = _floats(rs_mj_m2), _floats(rso_mj_m2)
    share = _share(sun, clear, 0.5)
    cloud = np.maximum(1.35 * share - 0.35, 0.05)
    warm = ((_floats(tmax_c) + 273.16) ** 4 + (_floats(tmin_c) + 273.16) ** 4) / 2.0
    moist = 0.34 - 0.14 * np.sqrt(_floats(ea_kpa))
    return np.asarray(STEFAN_BOLTZMANN_MJ_K4_M2_D * warm * moist * cloud)


def wind_at_2m_m_s(wind_m_s: ArrayLike, height_m: ArrayLike) -> Array:
    """Return the wind at 2 m above grass from that measured at another height (eq. 47).

    Raises:
        ValueError: if the height is below 0.1 m, where the profile does not hold.
    """
    height = _floats(height_m)
    if np.any(height < 0.1):
        raise ValueError(f"height_m must be 0.1 m or more, not {height_m!r}")
    return _floats(wind_m_s) * 4.87 / np.log(67.8 * height - 5.42)


def penman_monteith_mm(
    tmin_c: ArrayLike,
    tmax_c: ArrayLike,
    ea_kpa: ArrayLike,
    net_radiation_mj_m2: ArrayLike,
    wind_2m_m_s: ArrayLike,
    elevation_m: ArrayLike,
    soil_heat_mj_m2: ArrayLike = 0.0,
) -> Array:
    """Return the reference evapotranspiration ETo of a day in mm (eq. 6).

    ``soil_heat_mj_m2`` (G) may be neglected for a day (eq. 42). Air is saturated at most. Below 0: dew.
    """
    mean = mean_temperature_c(tmin_c, tmax_c)
    slope, gamma = vapour_pressure_slope_kpa_c(mean), psychrometric_constant_kpa_c(elevation_m)
    deficit = np.maximum(mean_saturation_vapour_pressure_kpa(tmin_c, tmax_c) - _floats(ea_kpa), 0.0)
    wind = _floats(wind_2m_m_s)
    from_sun = MM_PER_MJ_M2 * slope * (_floats(net_radiation_mj_m2) - _floats(soil_heat_mj_m2))
    from_air = gamma * 900.0 / (mean + 273.0) * wind * deficit
    return np.asarray((from_sun + from_air) / (slope + gamma * (1.0 + 0.34 * wind)))


def hargreaves_mm(tmin_c: ArrayLike, tmax_c: ArrayLike, ra_mj_m2: ArrayLike) -> Array:
    """Return ETo of a day in mm from temperature only (eq. 52); Ra enters as evaporation, MJ/m2 / 2.45."""
    root = np.sqrt(np.maximum(_floats(tmax_c) - _floats(tmin_c), 0.0))
    evaporable_mm = MM_PER_MJ_M2 * _floats(ra_mj_m2)
    return np.asarray(0.0023 * (mean_temperature_c(tmin_c, tmax_c) + 17.8) * root * evaporable_mm)
