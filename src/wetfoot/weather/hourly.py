"""Make days of the 24 hours that TMY3 and EPW files have."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from wetfoot.climate.evapotranspiration import wind_at_2m_m_s
from wetfoot.weather.checks import day_of
from wetfoot.weather.daily import Finding

Array = NDArray[np.float64]
MJ_PER_WH = 0.0036
ANEMOMETER_M = 10.0  # the height that both formats state for wind
TENTHS_PER_HUNDREDTH_INCH = 2.54
ENOUGH_WET_HOURS = 30


def days_of_hours(hours: pd.DataFrame) -> tuple[pd.DataFrame, list[Finding]]:
    """Return one row a day from hourly rows, and what was noticed.

    A column of a day is NaN unless all of its 24 hours are measured. Extremes are those of the hourly
    readings, which miss a few tenths of a degree of the true ones.

    Args:
        hours: in the order of the file, NaN where missing: ``day`` (the day that the hour belongs to),
            ``temp_c``, ``dew_c``, ``rh_pct``, ``ghi_wh_m2``, ``wind_10m_m_s``, ``rain_mm`` and
            ``rain_period_h`` (the hours over which that rain fell).
    """
    depth, findings = rain_in_mm(hours["rain_mm"].to_numpy(float))
    depth, several = rain_of_each_hour(depth, hours["rain_period_h"].to_numpy(float))
    if several:
        what = f"{several} totals of several hours are counted less the hourly rain they contain"
        findings.append(Finding(None, "rain_mm", what))
    by_day = hours.assign(rain_mm=depth).drop(columns="rain_period_h").groupby("day")
    low, mean, high, total = by_day.min(), by_day.mean(), by_day.max(), by_day.sum()
    measured, listed = by_day.count(), by_day.size()
    days = pd.DataFrame(
        {
            "tmin_c": low["temp_c"],
            "tmax_c": high["temp_c"],
            "rain_mm": total["rain_mm"],
            "solar_mj_m2": total["ghi_wh_m2"] * MJ_PER_WH,
            "tdew_c": mean["dew_c"],
            "rh_min_pct": low["rh_pct"],
            "rh_max_pct": high["rh_pct"],
            "wind_2m_m_s": wind_at_2m_m_s(mean["wind_10m_m_s"].to_numpy(float), ANEMOMETER_M),
        }
    )
    for hourly, columns in _DAILY_OF.items():
        whole = (measured[hourly] == 24) & (listed == 24)
        days.loc[~whole, columns] = float("nan")
        if measured[hourly].any():
            findings += [
                Finding(day_of(day), ", ".join(columns), _short(measured.loc[day, hourly], listed[day]))
                for day in days.index[~whole]
            ]
    return days.reset_index(names="date"), findings


_DAILY_OF = {
    "temp_c": ["tmin_c", "tmax_c"],
    "rain_mm": ["rain_mm"],
    "ghi_wh_m2": ["solar_mj_m2"],
    "dew_c": ["tdew_c"],
    "rh_pct": ["rh_min_pct", "rh_max_pct"],
    "wind_10m_m_s": ["wind_2m_m_s"],
}


def _short(measured: object, listed: object) -> str:
    rows = "" if listed == 24 else f" ({listed} rows for the day)"
    return f"{measured} of 24 hours measured{rows}; the day is taken as not measured"


def rain_in_mm(depth: Array) -> tuple[Array, list[Finding]]:
    """Return hourly rain in mm, and a finding if it stood in tenths of a millimetre, as in some TMY3 files.

    Both formats state mm. What shows tenths: American gauges tip every 0.01 inch, which in tenths of a
    millimetre are 3, 5, 8, 10, 13 and so on, where whole millimetres would mostly be 1, 2 and 4. So whole
    numbers on that ladder in nine of ten wet hours are tenths.
    """
    wet = depth[depth > 0]
    tips = np.round(wet / TENTHS_PER_HUNDREDTH_INCH)
    on_ladder = (tips >= 1) & (np.abs(wet - tips * TENTHS_PER_HUNDREDTH_INCH) <= 0.5) & (wet == np.round(wet))
    if len(wet) < ENOUGH_WET_HOURS or on_ladder.mean() < 0.9:
        return depth, []
    what = (
        f"read as tenths of a millimetre, though the format states mm: {100 * on_ladder.mean():.0f} % of {len(wet)}"
        " wet hours hold hundredths of an inch written in tenths of a millimetre"
    )
    return depth / 10.0, [Finding(None, "rain_mm", what)]


def rain_of_each_hour(depth_mm: Array, period_h: Array) -> tuple[Array, int]:
    """Return the rain to count for each hour, and how many totals of several hours were resolved.

    A total over the hours up to and including its own counts less what was reported for those hours, and
    makes those that were missing known. A total of more than 24 hours is not used.
    """
    depth = np.where((depth_mm < 0) | (period_h > 24), np.nan, depth_mm)
    totals = np.flatnonzero((period_h > 1) & (period_h <= 24) & ~np.isnan(depth))
    for at in totals:
        before = slice(max(0, at + 1 - int(period_h[at])), at)
        depth[before] = np.nan_to_num(depth[before])
        depth[at] = max(0.0, depth[at] - depth[before].sum())
    return depth, len(totals)
