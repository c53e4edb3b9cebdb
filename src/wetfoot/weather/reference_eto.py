"""Reference evapotranspiration of daily weather, with FAO-56's stand-ins for what was not measured."""

from __future__ import annotations

from collections import Counter
from typing import NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from wetfoot.climate import evapotranspiration as et

Array = NDArray[np.float64]

FROM_SUNSHINE = "radiation estimated from hours of sunshine (FAO-56 eq. 35)"
FROM_TEMPERATURE = "radiation estimated from the temperature range (FAO-56 eq. 50)"
FROM_TMIN = "humidity estimated, with the minimum temperature as dew point (FAO-56 eq. 48)"
USUAL_WIND = "wind taken as 2 m/s (FAO-56 chapter 3, the mean of many stations)"


class ReferenceDay(NamedTuple):
    """ETo of each day with the radiation and wind behind it, and on how many days each stand-in was used."""

    eto_mm: Array
    solar_mj_m2: Array
    wind_2m_m_s: Array
    stand_ins: Counter[str]


def reference_days(
    table: pd.DataFrame,
    day_of_year: NDArray[np.int_],
    latitude_deg: float,
    elevation_m: float,
    coastal: bool = False,
) -> ReferenceDay:
    """Return ETo of each day (FAO-56 Penman-Monteith), and what stood in for what was not measured.

    Each day takes the best that it has: radiation measured, else from sunshine, else from the temperature
    range; vapour pressure from the dew point, else from humidity, else from tmin; wind measured, else 2 m/s.
    Days on which dew would form have 0.

    Args:
        table: columns of the daily table; tmin and tmax on every day.
        day_of_year: 1 to 366, one for each row.
        latitude_deg: south negative.
        elevation_m: above sea level.
        coastal: whether a sea is near, for eq. 50.
    """
    column = {name: table[name].to_numpy(float) for name in table}
    tmin, tmax = column["tmin_c"], column["tmax_c"]
    ra = et.extraterrestrial_radiation_mj_m2(latitude_deg, day_of_year)
    daylight = et.daylight_h(latitude_deg, day_of_year)
    used: Counter[str] = Counter()
    rs = _first_known(
        used,
        (column["solar_mj_m2"], ""),
        (et.radiation_from_sunshine_mj_m2(ra, column["sunshine_h"], daylight), FROM_SUNSHINE),
        (et.radiation_from_temperature_mj_m2(ra, tmin, tmax, elevation_m, coastal), FROM_TEMPERATURE),
    )
    humid = et.vapour_pressure_from_humidity_kpa(tmin, tmax, column["rh_min_pct"], column["rh_max_pct"])
    ea = _first_known(
        used,
        (et.vapour_pressure_from_dew_point_kpa(column["tdew_c"]), ""),
        (humid, ""),
        (et.vapour_pressure_from_tmin_kpa(tmin), FROM_TMIN),
    )
    usual = np.full(len(table), et.TYPICAL_WIND_2M_M_S)
    wind = _first_known(used, (column["wind_2m_m_s"], ""), (usual, USUAL_WIND))
    rso = et.clear_sky_radiation_mj_m2(ra, elevation_m)
    rn = et.net_shortwave_mj_m2(rs) - et.net_longwave_mj_m2(tmin, tmax, ea, rs, rso)
    eto = np.maximum(et.penman_monteith_mm(tmin, tmax, ea, rn, wind, elevation_m), 0.0)
    return ReferenceDay(eto, rs, wind, used)


def _first_known(used: Counter[str], *choices: tuple[Array, str]) -> Array:
    """Return for each day the first choice that is known, counting the days of each named choice."""
    chosen = np.full(choices[0][0].shape, np.nan)
    for values, name in choices:
        take = np.isnan(chosen) & ~np.isnan(values)
        chosen = np.where(take, values, chosen)
        if name and take.any():
            used[name] += int(take.sum())
    return chosen
