"""The variables of the weather generator on scales on which they are nearly normal and keep to their bounds.

Square roots: if s = sqrt(x) is normal with the right mean and variance, x = s^2 has the right mean whatever else is
off, and is never negative. What is kept of the sun is its share of the radiation above the air, what of humidity the
dew point's distance below the mean temperature, so that generated days are consistent in themselves.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from wetfoot.climate import evapotranspiration as et
from wetfoot.weather.daily import COLUMNS

Array = NDArray[np.float64]
LEAST_CLEARNESS = 0.02  # of the darkest day, an estimate: thick cloud passes a few hundredths of the radiation
MOST_CLEARNESS = 0.85  # of the clearest day, an estimate: FAO-56 eq. 37 gives 0.75 at the sea, 0.81 at 3,000 m


class Scales(NamedTuple):
    """The generator's variables (tmax, tmin, then sun, dew, wind as measured), and the clearest sky of the record."""

    names: tuple[str, ...]
    clearest: float


def to_scales(table: pd.DataFrame, ra_mj_m2: Array, daylight_h: Array, least_measured: int) -> tuple[Scales, Array]:
    """Return which variables a record has, and their values; NaN where not measured, shape (days, variables).

    Args:
        table: columns of the daily table.
        ra_mj_m2: radiation above the air, shape (days,).
        daylight_h: from sunrise to sunset, shape (days,).
        least_measured: a variable with fewer days is left out.
    """
    column = {name: table[name].to_numpy(float) for name in COLUMNS}
    tmin, tmax = column["tmin_c"], column["tmax_c"]
    clearness = np.where(ra_mj_m2 > 1.0, _sun(column, ra_mj_m2, daylight_h) / np.maximum(ra_mj_m2, 1.0), np.nan)
    measured = {"tmax": tmax, "tmin": tmin, "sun": clearness, "dew": _dew_point(column), "wind": column["wind_2m_m_s"]}
    enough = {name for name, x in measured.items() if np.sum(~np.isnan(x)) >= least_measured} | {"tmax", "tmin"}
    kept = {name: x for name, x in measured.items() if name in enough}
    clearest = float(min(np.nanmax(clearness), MOST_CLEARNESS)) if "sun" in kept else MOST_CLEARNESS
    bent = {
        "tmax": lambda x: x,
        "tmin": lambda x: x,
        "sun": lambda x: -np.sqrt(np.maximum(clearest - x, 0.0)),  # minus: more sun is more
        "dew": lambda x: np.sqrt(np.maximum((tmin + tmax) / 2.0 - x, 0.0)),
        "wind": lambda x: np.sqrt(x),
    }
    return Scales(tuple(kept), clearest), np.stack([bent[name](x) for name, x in kept.items()], axis=1)


def from_scales(scales: Scales, values: Array, ra_mj_m2: Array) -> dict[str, Array]:
    """Return columns of the daily table from values on the generator's scales.

    Args:
        scales: of the values.
        values: shape (years, days, variables).
        ra_mj_m2: radiation above the air, shape (days,).
    """
    value = {name: values[:, :, at] for at, name in enumerate(scales.names)}
    low, high = np.minimum(value["tmin"], value["tmax"]), np.maximum(value["tmin"], value["tmax"])
    columns = {"tmin_c": low, "tmax_c": high}
    if "sun" in value:
        share = scales.clearest - np.minimum(value["sun"], 0.0) ** 2
        columns["solar_mj_m2"] = np.maximum(share, LEAST_CLEARNESS) * ra_mj_m2
    if "dew" in value:
        columns["tdew_c"] = (low + high) / 2.0 - np.maximum(value["dew"], 0.0) ** 2
    if "wind" in value:
        columns["wind_2m_m_s"] = np.maximum(value["wind"], 0.0) ** 2
    return columns


def _sun(column: dict[str, Array], ra_mj_m2: Array, daylight_h: Array) -> Array:
    """Return the radiation measured, else from sunshine (eq. 35); not from temperature, which is generated itself."""
    from_hours = et.radiation_from_sunshine_mj_m2(ra_mj_m2, column["sunshine_h"], daylight_h)
    return np.where(np.isnan(column["solar_mj_m2"]), from_hours, column["solar_mj_m2"])


def _dew_point(column: dict[str, Array]) -> Array:
    """Return the dew point measured, else from the extremes of humidity (FAO-56 eq. 17 and the inverse of eq. 14)."""
    ea = et.vapour_pressure_from_humidity_kpa(
        column["tmin_c"], column["tmax_c"], column["rh_min_pct"], column["rh_max_pct"]
    )
    logarithm = np.log(np.maximum(ea, 1e-3) / 0.6108)
    from_humidity = 237.3 * logarithm / (17.27 - logarithm)
    return np.where(np.isnan(column["tdew_c"]), from_humidity, column["tdew_c"])
