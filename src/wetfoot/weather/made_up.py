"""Lay made-up weather onto the planned days, as seasons like those of a record."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from wetfoot.climate.evapotranspiration import daylight_h
from wetfoot.weather.daily import COLUMNS
from wetfoot.weather.reference_eto import reference_days
from wetfoot.weather.seasons import SeasonWeather

Array = NDArray[np.float64]


def days_of_year(dates: Sequence[date]) -> NDArray[np.int_]:
    """Return 1 to 366 for each date."""
    return np.array([day.timetuple().tm_yday for day in dates])


def made_seasons(
    columns: dict[str, Array],
    dates: tuple[date, ...],
    origins: Sequence[str],
    latitude_deg: float,
    elevation_m: float,
    coastal: bool,
) -> tuple[SeasonWeather, ...]:
    """Return made-up weather as seasons, with the reference evapotranspiration of its days.

    Args:
        columns: some of `COLUMNS`, shape (years, days); tmin, tmax and rain on every day.
        dates: the days of every season.
        origins: how each season was made.
        latitude_deg: south negative.
        elevation_m: above sea level.
        coastal: whether a sea is near (FAO-56 eq. 50).
    """
    years, days = len(origins), len(dates)
    day_of_year = days_of_year(dates)
    table = pd.DataFrame({name: values.ravel() for name, values in columns.items()}).reindex(columns=list(COLUMNS))
    reference = reference_days(table, np.tile(day_of_year, years), latitude_deg, elevation_m, coastal)
    eto, solar, wind = (
        values.reshape(years, days) for values in (reference.eto_mm, reference.solar_mj_m2, reference.wind_2m_m_s)
    )
    daylight = daylight_h(latitude_deg, day_of_year)
    return tuple(
        SeasonWeather(
            year=dates[0].year,
            dates=dates,
            tmin_c=columns["tmin_c"][at],
            tmax_c=columns["tmax_c"][at],
            rain_mm=columns["rain_mm"][at],
            eto_mm=eto[at],
            solar_mj_m2=solar[at],
            wind_2m_m_s=wind[at],
            daylight_h=daylight,
            filled=(),
            origin=origin,
        )
        for at, origin in enumerate(origins)
    )


def stream(seed: int, what: int, number: int) -> np.random.Generator:
    """Return the random stream of one made-up year: its own, however many are asked for.

    Two keys, where the runs of an ensemble have one, so that an ensemble of the same seed draws independently.
    """
    return np.random.default_rng(np.random.SeedSequence(seed, spawn_key=(what, number)))
