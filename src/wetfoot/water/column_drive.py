"""What happens to a column, cut into spans of time in which nothing jumps: level, water from the top, demand."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import ceil, isfinite, pi
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from wetfoot.water.column_steps import Drive

Array = NDArray[np.float64]

Level = float | Sequence[tuple[float, float]]
Demand = float | Sequence[float]


class Watering(NamedTuple):
    """Litres that come from the top, evenly from one hour to another; less than 0 is evaporation from the surface."""

    from_h: float
    to_h: float
    litres: float


class Daylight(NamedTuple):
    """The hours of the day between which plants drink."""

    sunrise_h: float = 6.0
    sunset_h: float = 18.0


def drive_spans(
    hours: Array, level_m: Level, waterings: Sequence[Watering], demand_l_d: Demand, daylight: Daylight
) -> Drive:
    """Return the spans up to the last of ``hours``, with a boundary at each of them.

    Args:
        hours: times at which the state is wanted, from midnight of the first day.
        level_m: one level, or (hour, level) points joined by straight lines; two points at one hour are a jump.
        waterings: water from the top.
        demand_l_d: litres per day of a half-sine demand, one value or one per day (the last goes on).
        daylight: from when to when.

    Raises:
        ValueError: naming the argument and the value.
    """
    points = _level_points(level_m)
    daily = _daily_l(demand_l_d, daylight)
    _check_waterings(waterings)
    days = range(ceil(float(hours[-1]) / 24.0) + 1)
    edges = [24.0 * day + hour for day in days for hour in daylight]
    edges += [hour for watering in waterings for hour in watering[:2]] + [hour for hour, _ in points]
    ends = _distinct(sorted([*edges, *hours]), float(hours[-1]))
    starts = np.concatenate([[0.0], ends[:-1]])
    middle = 0.5 * (starts + ends)
    levels = np.array([[_level_after(points, a), _level_before(points, b)] for a, b in zip(starts, ends, strict=True)])
    top_l = np.array([sum(_litres_between(w, a, b) for w in waterings) for a, b in zip(starts, ends, strict=True)])
    top = top_l / (ends - starts)
    jump = np.ones(len(ends), dtype=bool)
    jump[1:] = (levels[1:, 0] != levels[:-1, 1]) | ~np.isclose(top[1:], top[:-1], rtol=1e-12)
    return Drive(
        end_d=ends / 24.0,
        level_m=levels,
        top_m3_d=top * 24.0 / 1000.0,
        peak_m3_d=_peak_l_d(daily, daylight, middle) * _lit(middle, daylight) / 1000.0,
        dawn_d=np.floor(middle / 24.0) + daylight.sunrise_h / 24.0,
        jump=jump,
    )


def demand_rate_l_d(hours: Array, demand_l_d: Demand, daylight: Daylight) -> Array:
    """Return the rate of a half-sine demand at hours from the first midnight."""
    lit = (hours % 24.0 - daylight.sunrise_h) / (daylight.sunset_h - daylight.sunrise_h)
    by_day = np.sin(pi * np.clip(lit, 0.0, 1.0))
    return _peak_l_d(_daily_l(demand_l_d, daylight), daylight, hours) * by_day


def wanted_l(hours: Array, demand_l_d: Demand, daylight: Daylight) -> Array:
    """Return what was wanted up to hours from the first midnight: the half sine summed."""
    daily = _daily_l(demand_l_d, daylight)
    lit = (hours % 24.0 - daylight.sunrise_h) / (daylight.sunset_h - daylight.sunrise_h)
    day = (hours // 24.0).astype(int)
    days = np.array([daily[min(k, len(daily) - 1)] for k in range(int(day.max()) + 1)])
    before = np.concatenate([[0.0], np.cumsum(days)])
    return np.asarray(before[day] + days[day] * 0.5 * (1.0 - np.cos(pi * np.clip(lit, 0.0, 1.0))))


def _peak_l_d(daily: Sequence[float], daylight: Daylight, hours: Array) -> Array:
    """Return the peak rate of the day that each hour belongs to."""
    day = np.minimum(hours // 24.0, len(daily) - 1).astype(int)
    return np.asarray(np.array(daily)[day] * pi / 2.0 * 24.0 / (daylight.sunset_h - daylight.sunrise_h))


def _lit(hours: Array, daylight: Daylight) -> Array:
    return np.where((hours % 24.0 > daylight.sunrise_h) & (hours % 24.0 < daylight.sunset_h), 1.0, 0.0)


def _level_points(level_m: Level) -> list[tuple[float, float]]:
    given = [(0.0, level_m)] if isinstance(level_m, (int, float)) else level_m
    points = [(float(hour), float(metres)) for hour, metres in given]
    hours = [hour for hour, _ in points]
    if not points or sorted(hours) != hours or not all(isfinite(x) for point in points for x in point):
        raise ValueError(f"level_m must be a finite level or rising (hour, level) points, not {level_m}")
    return points


def _daily_l(demand_l_d: Demand, daylight: Daylight) -> list[float]:
    daily = [float(demand_l_d)] if isinstance(demand_l_d, (int, float)) else [float(litres) for litres in demand_l_d]
    if not daily or not all(isfinite(litres) and litres >= 0.0 for litres in daily):
        raise ValueError(f"demand_l_d must be at least 0 on each day, not {demand_l_d}")
    if not 0.0 <= daylight.sunrise_h < daylight.sunset_h <= 24.0:
        raise ValueError(f"daylight must rise within 0 to 24 h, not {tuple(daylight)}")
    return daily


def _check_waterings(waterings: Iterable[Watering]) -> None:
    for watering in waterings:
        if not (all(map(isfinite, watering)) and 0.0 <= watering.from_h < watering.to_h):
            raise ValueError(f"waterings must be finite, from an hour to a later one, not {tuple(watering)}")


def _litres_between(watering: Watering, start: float, end: float) -> float:
    share = (min(end, watering.to_h) - max(start, watering.from_h)) / (watering.to_h - watering.from_h)
    return watering.litres * max(share, 0.0)


def _distinct(rising: Sequence[float], last: float, least_h: float = 1e-6) -> Array:
    """Return the times above 0 up to the last, without such as rounding alone sets apart."""
    ends: list[float] = []
    for hour in rising:
        if hour > (ends[-1] if ends else 0.0) + least_h and hour <= last:
            ends.append(hour)
    ends[-1:] = [last]
    return np.array(ends)


def _level_after(points: Sequence[tuple[float, float]], hour: float) -> float:
    later = next((k for k, point in enumerate(points) if point[0] > hour), len(points))
    return _between(points, later, hour)


def _level_before(points: Sequence[tuple[float, float]], hour: float) -> float:
    later = next((k for k, point in enumerate(points) if point[0] >= hour), len(points))
    return _between(points, later, hour)


def _between(points: Sequence[tuple[float, float]], later: int, hour: float) -> float:
    if later == 0 or later == len(points):
        return points[min(later, len(points) - 1)][1]
    (h0, m0), (h1, m1) = points[later - 1], points[later]
    return m0 + (m1 - m0) * (hour - h0) / (h1 - h0)
