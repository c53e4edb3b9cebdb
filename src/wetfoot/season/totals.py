"""What a run comes to: one number a run, and a bank, and a species."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wetfoot.plan.model import Plan
from wetfoot.season import columns as c
from wetfoot.season.bench import Bench
from wetfoot.season.days import Days

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Totals:
    """One number a run; arrays of shape (runs, banks), or (runs,) for the tank, or (runs, species) for the bench.

    Attributes:
        stress_days: days on which a pot could not drink its fill at some hour, while the supply is open.
        overflow_l: litres spilled per pot.
        uptake_l: litres drunk and evaporated per pot.
        ec_low_days: days with the free solution below the EC band while the supply is open.
        ec_high_days: days above it.
        lowest_level_m: lowest level while the supply is open.
        peak_draw_l_d: largest draw of a pot in a day.
        leaked_l: litres that ran from split pots of the bank, saucers not counted.
        tank_short_days: days on which the tank could not give what the floats asked for.
        tank_empty_days: days on which the tank was empty at some hour.
        first_empty_day: the first of them after planting, -1 if none.
        tank_used_l: litres drawn from the tank.
        stock_l: litres of each stock added, to tank and banks.
        water_added_l: source water poured into the tank.
        taken_up_mmol: of each species of `feed.Feed`, taken up by all pots; alkalinity as what closed the charge.
        overflow_mmol: spilled from all pots.
        leaked_mmol: run from split pots.
        from_source_mmol: come with source water, after the first filling.
        from_stocks_mmol: come with the stocks, after the first filling.
    """

    stress_days: Array
    overflow_l: Array
    uptake_l: Array
    ec_low_days: Array
    ec_high_days: Array
    lowest_level_m: Array
    peak_draw_l_d: Array
    leaked_l: Array
    tank_short_days: Array
    tank_empty_days: Array
    first_empty_day: Array
    tank_used_l: Array
    stock_l: Array
    water_added_l: Array
    taken_up_mmol: Array
    overflow_mmol: Array
    leaked_mmol: Array
    from_source_mmol: Array
    from_stocks_mmol: Array


def tank_empty(bench: Bench, tank: Array) -> NDArray[np.bool_]:
    """Return on which days of a run the tank was empty at some hour."""
    return np.asarray(tank[:, c.TANK_MIN_L] <= bench.tank_unusable_l + 1e-6 * bench.tank_full_l)


def run_totals(plan: Plan, bench: Bench, days: Days) -> Totals:
    """Return the totals of one run: as `Totals`, without its first axis."""
    supplied = days.banks[: plan.crop.tops_cut_d]
    ec, drunk = supplied[:, :, c.EC_FREE_MS_CM], days.banks[:, :, c.UPTAKE_L] + days.banks[:, :, c.EVAPORATION_L]
    per_pot, tank = days.banks.sum(axis=0), days.tank.sum(axis=0)
    empty = np.flatnonzero(tank_empty(bench, days.tank))
    fed_l = float(per_pot[:, c.FED_L] @ bench.pots) / 2.0
    mmol = np.einsum("b,sbri->ri", bench.pots, days.bank_mmol)
    added = days.tank_mmol.sum(axis=0)
    return Totals(
        stress_days=(supplied[:, :, c.LEAST_UPTAKE_SHARE] < 0.999).sum(axis=0).astype(float),
        overflow_l=per_pot[:, c.OVERFLOW_L],
        uptake_l=drunk.sum(axis=0),
        ec_low_days=(ec < plan.solution.ec_low_ms_cm).sum(axis=0).astype(float),
        ec_high_days=(ec > plan.solution.ec_high_ms_cm).sum(axis=0).astype(float),
        lowest_level_m=supplied[:, :, c.LEVEL_MIN_M].min(axis=0),
        peak_draw_l_d=drunk.max(axis=0),
        leaked_l=per_pot[:, c.LEAKED_L] * bench.pots,
        tank_short_days=np.asarray(float((days.tank[:, c.SHORT_L] > 1e-9).sum())),
        tank_empty_days=np.asarray(float(empty.size)),
        first_empty_day=np.asarray(float(empty[0]) if empty.size else -1.0),
        tank_used_l=np.asarray(tank[c.DRAWN_L]),
        stock_l=np.asarray(tank[c.STOCK_ADDED_L] + fed_l),
        water_added_l=np.asarray(tank[c.WATER_ADDED_L]),
        taken_up_mmol=mmol[c.UPTAKE],
        overflow_mmol=mmol[c.OVERFLOW],
        leaked_mmol=mmol[c.LEAKED],
        from_source_mmol=added[c.FROM_SOURCE],
        from_stocks_mmol=added[c.FROM_STOCKS] + mmol[c.FED],
    )


def stacked(runs: list[Totals]) -> Totals:
    """Return the totals of many runs as one record of arrays, runs first."""
    return Totals(**{name: np.stack([vars(run)[name] for run in runs]) for name in vars(runs[0])})
