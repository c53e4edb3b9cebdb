"""One season of the plan's bench through one year's weather, with its balances."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from wetfoot.season import columns as c
from wetfoot.season import kernel, reference
from wetfoot.season.bench import Bench
from wetfoot.season.drivers import Drivers
from wetfoot.season.feed import EcScale

Array = NDArray[np.float64]


@dataclass(frozen=True)
class SeasonCourse:
    """A season's daily course.

    Attributes:
        dates: the days.
        banks: results by day, bank and column of `columns`; litres are per pot.
        tank: results by day and tank column.
        bank_mmol: species by day, bank, row of `columns` and species of `feed.Feed`, per pot.
        tank_mmol: species by day, tank row and species.
        bench: the bench they were computed on.
        scale: EC of a plain sum.
    """

    dates: tuple[date, ...]
    banks: Array
    tank: Array
    bank_mmol: Array
    tank_mmol: Array
    bench: Bench
    scale: EcScale

    def ec_free_ms_cm(self) -> Array:
        """Return the EC of the free solution at the end of each day, by bank; not a number where it ran dry."""
        return np.asarray(self.banks[:, :, c.EC_FREE_MS_CM])

    def ec_medium_ms_cm(self) -> Array:
        """Return the EC of the water in the medium at the end of each day, by bank."""
        return np.asarray(self.banks[:, :, c.EC_MEDIUM_MS_CM])

    def ec_top_ms_cm(self) -> Array:
        """Return the EC of the water in the medium's top layer at the end of each day, by bank: an estimate."""
        return np.asarray(self.banks[:, :, c.EC_TOP_MS_CM])


def simulate_season(bench: Bench, scale: EcScale, drivers: Drivers, dates: tuple[date, ...]) -> SeasonCourse:
    """Return the season's course."""
    return SeasonCourse(dates, *kernel.simulate(bench, drivers), bench, scale)


@dataclass(frozen=True)
class Balance:
    """What came in, what went out and what the store gained; ``error`` is the gap over what came in and was there.

    Of dissolved species, the largest gap of any one over what of it came in and was there, and a thousandth of all.
    """

    into: float
    out: float
    gained: float
    error: float


def balances(course: SeasonCourse) -> dict[str, Balance]:
    """Return the season's balances of water (L) and dissolved species (mmol): of each bank's pot and of the tank."""
    found: dict[str, Balance] = {}
    for b, start in enumerate(reference.planted(course.bench)):
        total, end = course.banks[:, b].sum(axis=0), course.banks[-1, b]
        water_in = total[c.INFLOW_L] + total[c.RAIN_L] + total[c.FED_L]
        water_out = total[c.OVERFLOW_L] + total[c.UPTAKE_L] + total[c.EVAPORATION_L] + total[c.LEAKED_L]
        there = start.free_l + start.medium_l
        found[f"bank {b} water"] = _balance(water_in, water_out, end[c.FREE_L] + end[c.MEDIUM_L] - there, there)
        moved, left = course.bank_mmol[:, b].sum(axis=0), course.bank_mmol[-1, b]
        salts_there = start.free + start.medium
        gained = left[c.FREE_END] + left[c.MEDIUM_END] - salts_there
        out = moved[c.OVERFLOW] + moved[c.UPTAKE] + moved[c.LEAKED]
        found[f"bank {b} salts"] = _balance(moved[c.TAKEN_IN] + moved[c.FED], out, gained, salts_there)
    return found | _tank_balances(course)


def _tank_balances(course: SeasonCourse) -> dict[str, Balance]:
    bench, total, end = course.bench, course.tank.sum(axis=0), course.tank[-1]
    full, full_mmol = bench.tank_full_l, bench.tank_full_l * bench.start_mmol_l
    water_in = total[c.WATER_ADDED_L] + 2.0 * total[c.STOCK_ADDED_L]
    water_out = (course.banks[:, :, c.INFLOW_L].sum(axis=0) * bench.pots).sum()
    moved = course.tank_mmol.sum(axis=0)
    out = (course.bank_mmol[:, :, c.TAKEN_IN].sum(axis=0) * bench.pots[:, None]).sum(axis=0)
    gained = course.tank_mmol[-1, c.TANK_END] - full_mmol
    return {
        "tank water": _balance(water_in, water_out, end[c.TANK_END_L] - full, full),
        "tank salts": _balance(moved[c.FROM_SOURCE] + moved[c.FROM_STOCKS], out, gained, full_mmol),
    }


def _balance(into: float | Array, out: float | Array, gained: float | Array, there: float | Array) -> Balance:
    """Return a balance, summed over species where there are several."""
    scale = np.abs(into) + np.abs(there) + np.abs(out)
    error = np.abs(np.asarray(into) - out - gained) / np.maximum(scale, 1e-3 * np.sum(scale))
    return Balance(float(np.sum(into)), float(np.sum(out)), float(np.sum(gained)), float(np.max(error)))


def charge_gap_meq_l(course: SeasonCourse) -> float:
    """Return the largest gap between cations and anions of any solution at the end of any day, in meq/L."""
    charge = course.bench.charge
    stores = (
        (course.bank_mmol[:, :, c.FREE_END], course.banks[:, :, c.FREE_L]),
        (course.bank_mmol[:, :, c.MEDIUM_END], course.banks[:, :, c.MEDIUM_L]),
        (course.tank_mmol[:, c.TANK_END], course.tank[:, c.TANK_END_L]),
    )
    gaps = [np.abs(mmol @ charge) / np.maximum(litres, c.LEAST_FREE_L) for mmol, litres in stores]
    return max(float(gap.max()) for gap in gaps)
