"""The season many times over: the weather's years, and what we do not know about water use, rain catch and salts."""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import Executor, ThreadPoolExecutor, as_completed
from dataclasses import dataclass
from datetime import date, timedelta
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from wetfoot.plan.model import Plan
from wetfoot.season import columns as c
from wetfoot.season import kernel
from wetfoot.season.bands import Band, BandSum, Single, batches
from wetfoot.season.bench import Bench, bench_arrays
from wetfoot.season.drivers import Warmth, drivers, warmth_of_calendar
from wetfoot.season.feed import ELEMENTS, EcScale, Feed, ec_scale, feed_of
from wetfoot.season.run import SeasonCourse, simulate_season
from wetfoot.season.splits import NEVER, Splits, holes_by_day, split_days, with_leaks
from wetfoot.season.totals import Totals, run_totals, stacked, tank_empty
from wetfoot.weather.seasons import Seasons

Array = NDArray[np.float64]

# Spread of what is not known before the season; all are estimates, to be narrowed by readings.
WATER_USE_LN_SD = 0.20
RAIN_CATCH_LN_SD = 0.15
SALT_UPTAKE_LN_SD = 0.10

# What becomes bands, by bank and for the tank.
_BANK = [c.LEVEL_MIN_M, c.EC_FREE_MS_CM, c.EC_MEDIUM_MS_CM, c.EC_TOP_MS_CM]
_BANK += range(c.ELEMENTS_MG_L, c.ELEMENTS_MG_L + len(ELEMENTS))
_TANK = [c.TANK_MIN_L, c.DRAWN_L, *range(c.TANK_ELEMENTS_MG_L, c.TANK_ELEMENTS_MG_L + len(ELEMENTS))]


@dataclass(frozen=True)
class Ensemble:
    """Many runs of one season: the expected run, bands by day, and totals by run.

    ``expected`` is the run of the first weather year with every factor at its middle, and no pot split.

    Attributes:
        dates: the plan's days.
        expected: the expected run.
        level_m: lowest level of the day, by bank.
        ec_free_ms_cm: at the end of the day, by bank; likewise in the medium, and in its top layer (an estimate).
        tank_l: least in the tank on the day.
        draw_l: drawn from the tank in the day.
        elements_mg_l: in the free solution at the end of the day, by bank and element of `feed.ELEMENTS`.
        tank_elements_mg_l: in the tank at the end of the day, by element.
        tank_empty_share: share of the runs in which the tank was empty at some hour of the day, shape (days,).
        totals: one number a run.
        split_day: on which day each pot began to leak, shape (runs, pots), -1 for never; None if pots do not split.
        feed: the species of the totals, and what elements are in them.
        scale: EC of a plain sum.
        seed, runs, splits: what was asked for.
    """

    dates: tuple[date, ...]
    expected: SeasonCourse
    level_m: Band
    ec_free_ms_cm: Band
    ec_medium_ms_cm: Band
    ec_top_ms_cm: Band
    tank_l: Band
    draw_l: Band
    elements_mg_l: Band
    tank_elements_mg_l: Band
    tank_empty_share: Array
    totals: Totals
    split_day: NDArray[np.int16] | None
    feed: Feed
    scale: EcScale
    seed: int
    runs: int
    splits: Splits | None = None

    def element_g(self, mmol: Array) -> Array:
        """Return grams of each of `feed.ELEMENTS` in mmol of species: shape (runs, elements) from (runs, species)."""
        # a plain sum: a matrix product's last digit depends on how many threads there are
        return np.asarray((mmol[..., None, :] * self.feed.elements_mg).sum(axis=-1) / 1000.0)

    def empty_by_share(self) -> Array:
        """Return the share of the runs in which the tank was empty at least once by each day; shape (days,)."""
        first = self.totals.first_empty_day
        return np.array([np.mean((first >= 0) & (first <= day)) for day in range(len(self.dates))])

    def lost_by_leaks_l(self) -> Array:
        """Return the litres that ran to the ground from split pots, less what saucers held back; (runs, banks)."""
        if self.split_day is None or self.splits is None:
            return np.zeros_like(self.totals.leaked_l)
        banks = self.expected.bench.pots.astype(int)
        per_pot = (self.split_day != NEVER).astype(float)
        split = np.add.reduceat(per_pot, np.cumsum([0, *banks[:-1]]), axis=1)
        return np.maximum(0.0, self.totals.leaked_l - self.splits.saucer_l * split)


class _Setting(NamedTuple):
    """What all runs share."""

    plan: Plan
    seasons: Seasons
    warmth: Warmth
    bench: Bench
    splits: Splits | None
    seed: int


class _Run(NamedTuple):
    """What is kept of a run beside its courses."""

    totals: Totals
    empty: NDArray[np.bool_]
    split_day: NDArray[np.int16] | None


def run_ensemble(
    plan: Plan,
    seasons: Seasons,
    runs: int = 200,
    seed: int = 1,
    progress: Callable[[int], None] | None = None,
    splits: Splits | None = None,
    threads: int | None = None,
) -> Ensemble:
    """Return the season over many draws of weather year, water use, rain catch and salt uptake.

    Every run draws from a seed of its own, so that its numbers are the same for any number of runs and threads, and
    before and after a change of the plan. An interrupt ends all threads before it is passed on.

    Args:
        plan: the plan.
        seasons: the weather's years, each as long as the plan's season.
        runs: number of draws; the weather years are taken in turn.
        seed: of the random numbers, kept with the result.
        progress: called after each run with the number of runs done.
        splits: how pots split and leak; none do if it is not given.
        threads: that work at once; as many as there are processors if it is not given.

    Raises:
        ValueError: if there are no runs or no threads.
        NotConvergedError: if pots split and the network of tubes cannot be solved.
    """
    if runs < 1 or (threads is not None and threads < 1):
        raise ValueError(f"runs and threads must be at least 1, not {runs} and {threads}")
    bench, scale = bench_arrays(plan), ec_scale(plan)
    bench = with_leaks(bench, plan, splits) if splits else bench
    setting = _Setting(plan, seasons, warmth_of_calendar(plan.crop, seasons.runs), bench, splits, seed)
    # the plan's own days: a year of a weather record has dates of its own
    dates = tuple(plan.crop.planting + timedelta(days=day) for day in range(len(seasons.runs[0].dates)))
    # before any thread starts, as it compiles the kernel
    expected = simulate_season(bench, scale, drivers(plan, seasons.runs[0], setting.warmth), dates)
    bank_sum = BandSum((len(dates), len(plan.banks), len(_BANK)))
    tank_sum = BandSum((len(dates), len(_TANK)))
    found: dict[int, _Run] = {}
    pool = ThreadPoolExecutor(threads or os.cpu_count() or 1)
    try:
        for batch in batches(runs, seed):
            found |= _batch(setting, batch.tolist(), bank_sum, tank_sum, pool, progress, len(found))
    finally:
        pool.shutdown(wait=True, cancel_futures=True)
    in_order = [found[run] for run in range(runs)]
    banks, tank = bank_sum.band().values, tank_sum.band().values
    return Ensemble(
        dates=dates,
        expected=expected,
        **{name: Band(banks[..., at]) for at, name in enumerate(("level_m", "ec_free_ms_cm", "ec_medium_ms_cm",
                                                              "ec_top_ms_cm"))},
        tank_l=Band(tank[..., 0]),
        draw_l=Band(tank[..., 1]),
        elements_mg_l=Band(banks[..., 4:]),
        tank_elements_mg_l=Band(tank[..., 2:]),
        tank_empty_share=np.mean([run.empty for run in in_order], axis=0),
        totals=stacked([run.totals for run in in_order]),
        split_day=np.array([run.split_day for run in in_order]) if splits else None,
        feed=feed_of(plan),
        scale=scale,
        seed=seed,
        runs=runs,
        splits=splits,
    )  # fmt: skip


def _batch(
    setting: _Setting,
    batch: list[int],
    bank_sum: BandSum,
    tank_sum: BandSum,
    pool: Executor,
    progress: Callable[[int], None] | None,
    done: int,
) -> dict[int, _Run]:
    """Compute a batch of runs, add their courses to the bands, and return what else is kept of them."""
    shape = (len(setting.seasons.runs[0].dates), len(setting.plan.banks))
    banks = np.empty((len(batch), *shape, len(_BANK)), dtype=np.float32)
    tank = np.empty((len(batch), shape[0], len(_TANK)), dtype=np.float32)
    futures = [pool.submit(_run, setting, run, banks[at], tank[at]) for at, run in enumerate(batch)]
    for at, future in enumerate(as_completed(futures)):
        future.result()
        if progress:
            progress(done + at + 1)
    bank_sum.add(banks, pool.map)
    tank_sum.add(tank, pool.map)
    return {run: future.result() for run, future in zip(batch, futures, strict=True)}


def _run(setting: _Setting, run: int, banks: Single, tank: Single) -> _Run:
    """Compute one run and write its courses."""
    plan, bench, splits = setting.plan, setting.bench, setting.splits
    random = np.random.default_rng(np.random.SeedSequence(setting.seed, spawn_key=(run,)))
    water, rain, salt = np.exp(random.normal(0.0, (WATER_USE_LN_SD, RAIN_CATCH_LN_SD, SALT_UPTAKE_LN_SD)))
    year = setting.seasons.runs[run % len(setting.seasons.runs)]
    driven = drivers(plan, year, setting.warmth, float(water), float(rain))
    split_day = split_days(plan, splits, random) if splits else None
    if splits and split_day is not None:
        driven = driven._replace(new_holes=holes_by_day(plan, split_day), shut_off_h=splits.shut_off_h)
    drawn = bench._replace(uptake_ratio=bench.uptake_ratio * float(salt))
    days = kernel.simulate(drawn, driven, by_day=False)
    banks[:], tank[:] = days.banks[:, :, _BANK], days.tank[:, _TANK]
    return _Run(run_totals(plan, bench, days), tank_empty(bench, days.tank), split_day)
