"""One season of the plan's bench through one year's weather, with its balances."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from wetfoot.season import columns as c
from wetfoot.season import kernel, reference
from wetfoot.season.bench import Bench, EcScale
from wetfoot.season.drivers import Drivers

Array = NDArray[np.float64]


@dataclass(frozen=True)
class SeasonCourse:
    """A season's daily course.

    Attributes:
        dates: the days.
        banks: results by day, bank and column of `columns`; litres and meq are per pot.
        tank: results by day and tank column.
        bench: the bench they were computed on.
        scale: EC of a strength in meq/L.
    """

    dates: tuple[date, ...]
    banks: Array
    tank: Array
    bench: Bench
    scale: EcScale

    def ec_free_ms_cm(self) -> Array:
        """Return the EC of the free solution at the end of each day, by bank; not a number where it ran dry."""
        return self._ec(c.SALT_FREE_MEQ, c.FREE_L, least_l=0.02)

    def ec_medium_ms_cm(self) -> Array:
        """Return the EC of the water in the medium at the end of each day, by bank."""
        return self._ec(c.SALT_MEDIUM_MEQ, c.MEDIUM_L, least_l=0.0)

    def _ec(self, salt: int, water: int, least_l: float) -> Array:
        litres = self.banks[:, :, water]
        wet = litres > least_l
        strength = np.divide(self.banks[:, :, salt], litres, out=np.zeros_like(litres), where=wet)
        return np.where(wet, self.scale.ec(strength), np.nan)


def simulate_season(bench: Bench, scale: EcScale, drivers: Drivers, dates: tuple[date, ...]) -> SeasonCourse:
    """Return the season's course."""
    banks, tank = kernel.simulate(bench, drivers)
    return SeasonCourse(dates, banks, tank, bench, scale)


@dataclass(frozen=True)
class Balance:
    """What came in, what went out and what the store gained; ``error`` is the gap over what came in and was there."""

    into: float
    out: float
    gained: float
    error: float


def balances(course: SeasonCourse) -> dict[str, Balance]:
    """Return the season's balances of water (L) and salt (meq): of each bank's pot and of the tank."""
    start = reference.planted(course.bench)
    found: dict[str, Balance] = {}
    for b in range(len(course.bench.pots)):
        day = course.banks[:, b]
        total, end = day.sum(axis=0), day[-1]
        water_out = total[c.OVERFLOW_L] + total[c.UPTAKE_L] + total[c.EVAPORATION_L]
        water = end[c.FREE_L] + end[c.MEDIUM_L] - start[b, 0] - start[b, 1]
        salt_out = total[c.SALT_OVERFLOW_MEQ] + total[c.SALT_UPTAKE_MEQ]
        salt = end[c.SALT_FREE_MEQ] + end[c.SALT_MEDIUM_MEQ] - start[b, 2] - start[b, 3]
        found[f"bank {b} water"] = _balance(total[c.INFLOW_L] + total[c.RAIN_L], water_out, water, start[b, :2].sum())
        salt_in = total[c.SALT_IN_MEQ] + total[c.SALT_FED_MEQ]
        found[f"bank {b} salt"] = _balance(salt_in, salt_out, salt, start[b, 2:].sum())
    return found | _tank_balances(course)


def _tank_balances(course: SeasonCourse) -> dict[str, Balance]:
    bench, total, end = course.bench, course.tank.sum(axis=0), course.tank[-1]
    full, full_meq = bench.tank_full_l, bench.tank_full_l * bench.target_meq_l
    salt_out = float((course.banks[:, :, c.SALT_IN_MEQ].sum(axis=0) * bench.pots).sum())
    water_out = float((course.banks[:, :, c.INFLOW_L].sum(axis=0) * bench.pots).sum())
    salt_in = total[c.SOURCE_SALT_MEQ] + total[c.STOCK_SALT_MEQ]
    return {
        "tank water": _balance(total[c.WATER_ADDED_L], water_out, end[c.TANK_END_L] - full, full),
        "tank salt": _balance(salt_in, salt_out, end[c.TANK_SALT_MEQ] - full_meq, full_meq),
    }


def _balance(into: float, out: float, gained: float, there: float) -> Balance:
    return Balance(float(into), float(out), float(gained), float(abs(into - out - gained) / (into + there)))
