"""Refuse a record whose warm months are the other hemisphere's."""

from __future__ import annotations

from calendar import month_name

import numpy as np
import pandas as pd

from wetfoot.climate.evapotranspiration import extraterrestrial_radiation_mj_m2
from wetfoot.errors import refuse
from wetfoot.weather.daily import DailyWeather

# Estimates, set wide so that no real place is refused: monsoon climates are warmest before the rains, not at midsummer.
LEAST_LATITUDE_DEG = 20.0
LAG_D = 25  # air is warmest three to four weeks after midsummer, by the sea later
LEAST_DAYS = 300  # nearly a year: in part of one, weather may hide the season
CLEARLY_AGAINST = -0.5


def refuse_other_hemisphere(weather: DailyWeather, latitude_deg: float) -> None:
    """Refuse weather that is warm when the sun of the site is low.

    Only a record without measured radiation is looked at: measured sun tells by itself. Near the equator, and in less
    than about a year, the seasons do not tell.

    Args:
        weather: daily weather.
        latitude_deg: of the site, south negative.

    Raises:
        WetfootError: if temperature goes clearly against the sun.
    """
    table = weather.table
    mean = ((table["tmin_c"] + table["tmax_c"]) / 2.0).dropna()
    if abs(latitude_deg) < LEAST_LATITUDE_DEG or len(mean) < LEAST_DAYS or table["solar_mj_m2"].notna().any():
        return
    index = pd.DatetimeIndex(mean.index)
    day_of_year = index.day_of_year.to_numpy() - LAG_D
    sun = extraterrestrial_radiation_mj_m2(latitude_deg, day_of_year)
    if np.std(mean) == 0.0 or float(np.corrcoef(sun, mean)[0, 1]) > CLEARLY_AGAINST:
        return
    by_month = [float(mean[index.month == month].mean()) for month in range(1, 13)]
    warmest = month_name[1 + int(np.nanargmax(by_month))]
    raise refuse(
        "site.weather",
        f"the warmest month of {weather.source} is {warmest}, against the sun at {latitude_deg:g} "
        "degrees of latitude: the record looks like the other hemisphere's",
        "weather of the site, or of a place near it",
        "check site.latitude (north positive, south negative), or use another file",
    )
