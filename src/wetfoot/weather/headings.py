"""What the headings of a plain CSV file mean: which column of the daily table, in which unit."""

from __future__ import annotations

import re
from dataclasses import dataclass

_MPH_M_S = 0.44704  # exact: 1609.344 m in 3600 s
_KNOT_M_S = 1852.0 / 3600.0

_TEMPERATURE = {
    **dict.fromkeys(("c", "degc", "deg_c", "celsius"), (1.0, 0.0)),
    **dict.fromkeys(("f", "degf", "deg_f", "fahrenheit"), (5.0 / 9.0, -160.0 / 9.0)),
    **dict.fromkeys(("k", "kelvin"), (1.0, -273.15)),
}
_RAIN = {
    "mm": (1.0, 0.0),
    "cm": (10.0, 0.0),
    **dict.fromkeys(("in", "inch", "inches"), (25.4, 0.0)),
}
_SOLAR = {
    **dict.fromkeys(("mj_m2", "mj_m2_d", "mj_m2_day"), (1.0, 0.0)),
    **dict.fromkeys(("kwh_m2", "kwh_m2_d", "kwh_m2_day"), (3.6, 0.0)),
    **dict.fromkeys(("wh_m2", "wh_m2_d", "wh_m2_day"), (0.0036, 0.0)),
    "w_m2": (0.0864, 0.0),  # mean of the 24 hours
}
_SUNSHINE = {
    **dict.fromkeys(("h", "hr", "hours"), (1.0, 0.0)),
    **dict.fromkeys(("min", "minutes"), (1.0 / 60.0, 0.0)),
}
_WIND = {
    **dict.fromkeys(("m_s", "ms", "mps"), (1.0, 0.0)),
    **dict.fromkeys(("km_h", "kmh", "kph"), (1.0 / 3.6, 0.0)),
    "mph": (_MPH_M_S, 0.0),
    **dict.fromkeys(("kn", "kt", "knots"), (_KNOT_M_S, 0.0)),
}
_HUMIDITY = dict.fromkeys(("pct", "percent"), (1.0, 0.0))

# Two stand-ins beside the columns of the daily table: the mean humidity, and wind at the usual 10 m.
RH_MEAN, WIND_10M = "rh_mean_pct", "wind_10m_m_s"
UNITS = {
    "tmin_c": _TEMPERATURE,
    "tmax_c": _TEMPERATURE,
    "rain_mm": _RAIN,
    "solar_mj_m2": _SOLAR,
    "sunshine_h": _SUNSHINE,
    "tdew_c": _TEMPERATURE,
    "rh_min_pct": _HUMIDITY,
    "rh_max_pct": _HUMIDITY,
    "wind_2m_m_s": _WIND,
    RH_MEAN: _HUMIDITY,
    WIND_10M: _WIND,
}
_NAMES = {
    "tmin_c": "tmin t_min tempmin temp_min mintemp min_temp temperature_min min_temperature tn",
    "tmax_c": "tmax t_max tempmax temp_max maxtemp max_temp temperature_max max_temperature tx",
    "rain_mm": "rain rainfall precip precipitation prcp ppt rain_total precipitation_total",
    "solar_mj_m2": "solar solar_radiation global_radiation radiation rs ghi srad",
    "sunshine_h": "sunshine sunshine_duration sunshine_hours sun_hours",
    "tdew_c": "tdew t_dew dew_point dewpoint dew dew_point_temperature",
    "rh_min_pct": "rh_min rhmin min_rh humidity_min relative_humidity_min",
    "rh_max_pct": "rh_max rhmax max_rh humidity_max relative_humidity_max",
    "wind_2m_m_s": "wind_2m wind2m wind_speed_2m u2",
    RH_MEAN: "rh rh_mean humidity relative_humidity humidity_mean",
    WIND_10M: "wind wind_speed windspeed wind_mean wind_10m wind10m wind_speed_10m u10",
}
NAME_OF = {name: column for column, names in _NAMES.items() for name in names.split()}


@dataclass(frozen=True)
class Heading:
    """What one heading means: value in the daily table = written value x scale + offset.

    ``scale`` is NaN if the heading names a unit that is not known for such a column.
    """

    column: str
    scale: float
    offset: float


def read_heading(text: str) -> Heading | None:
    """Return what a heading means, or None if it is not a quantity of the daily table.

    The unit stands in brackets or as a suffix; without one it is deg C, mm, MJ/m2 a day, h, % or m/s.

    >>> read_heading("Rain (in)")
    Heading(column='rain_mm', scale=25.4, offset=0.0)
    >>> read_heading("wind_speed_km_h").column
    'wind_10m_m_s'
    >>> read_heading("weather") is None
    True
    """
    bracketed = re.fullmatch(r"([^(\[]+)[(\[]([^)\]]*)[)\]]\s*", text)
    if bracketed:
        name, unit = plain(bracketed[1]), plain(bracketed[2])
        return _heading(NAME_OF[name], unit) if name in NAME_OF else None
    name = plain(text)
    if name in NAME_OF:
        return _heading(NAME_OF[name], "")
    for cut in [at for at, mark in enumerate(name) if mark == "_"][::-1]:
        column = NAME_OF.get(name[:cut])
        if column and name[cut + 1 :] in UNITS[column]:
            return _heading(column, name[cut + 1 :])
    return None


def _heading(column: str, unit: str) -> Heading:
    known = UNITS[column]
    scale, offset = known.get(unit, (float("nan"), 0.0)) if unit else (1.0, 0.0)
    return Heading(column, scale, offset)


def plain(text: str) -> str:
    """Return a heading or a unit in small letters, with single underscores.

    >>> plain("Temp. Max"), plain("MJ/m²/day"), plain("%")
    ('temp_max', 'mj_m2_day', 'pct')
    """
    text = text.lower().replace("²", "2").replace("°", "").replace("%", "pct").replace("·", " ")
    return re.sub(r"[^a-z0-9]+", "_", text).strip("_")
