"""The ensemble: seeds, threads, batches, interrupts, and a season's order of size."""

from __future__ import annotations

import threading

import numpy as np
import pytest
from scipy import stats

from wetfoot.plan.model import Plan
from wetfoot.season import bands
from wetfoot.season.bands import BandSum, batches
from wetfoot.season.drivers import cover_by_day, demand_share, warmth_of_calendar
from wetfoot.season.ensemble import Ensemble, run_ensemble
from wetfoot.weather.seasons import Seasons


def test_the_same_seed_gives_the_same_season(example_plan: Plan, greensboro: Seasons) -> None:
    one, two, other = (run_ensemble(example_plan, greensboro, 12, seed) for seed in (3, 3, 4))
    assert np.array_equal(one.tank_l.values, two.tank_l.values)
    assert not np.array_equal(one.tank_l.values, other.tank_l.values)


def test_bands_are_in_order_and_progress_is_told(example_plan: Plan, seattle: Seasons) -> None:
    told: list[int] = []
    found = run_ensemble(example_plan, seattle, 16, 1, told.append)
    assert told == list(range(1, 17))
    assert found.dates[0] == example_plan.crop.planting  # the plan's days, whatever year the weather is from
    for band in (found.level_m, found.tank_l, found.draw_l):
        assert np.all(band.low <= band.middle)
        assert np.all(band.middle <= band.high)
    assert found.totals.overflow_l.shape == (16, 4)


def test_the_calendar_holds_in_the_mean_year(example_plan: Plan, greensboro: Seasons) -> None:
    crop, run = example_plan.crop, greensboro.runs[0]
    cover = cover_by_day(crop, run, warmth_of_calendar(crop, greensboro.runs))
    assert cover[crop.half_cover_d] == pytest.approx(0.5)
    assert cover[crop.emergence_d] == pytest.approx(0.05)
    assert np.all(cover[crop.tops_cut_d :] == 0.0)


def test_a_day_of_demand_is_whole_and_peaks_at_noon() -> None:
    for steps in (8, 24, 96):
        share = demand_share(steps)
        assert share.sum() == pytest.approx(1.0)
        assert share[: steps // 4].sum() == 0.0
        assert share.argmax() in (steps // 2 - 1, steps // 2)


def test_a_season_drinks_what_a_season_drinks(example_plan: Plan, greensboro: Seasons) -> None:
    """Common practice, no source: some hundreds of litres a full-grown pot in a season, peak 0.8 to 2.5 L a day."""
    totals = run_ensemble(example_plan, greensboro, 20, 1).totals
    assert 80 < np.median(totals.uptake_l) < 400
    assert 0.8 < np.median(totals.peak_draw_l_d) < 2.5


def _same(one: Ensemble, other: Ensemble) -> bool:
    totals = zip(vars(one.totals).values(), vars(other.totals).values(), strict=True)
    curves = ("level_m", "ec_free_ms_cm", "elements_mg_l", "tank_elements_mg_l", "tank_l")
    return all(np.array_equal(a, b) for a, b in totals) and all(
        np.array_equal(getattr(one, name).values, getattr(other, name).values, equal_nan=True) for name in curves
    )


def test_any_number_of_threads_gives_the_same_numbers(example_plan: Plan, seattle: Seasons) -> None:
    one, three = (run_ensemble(example_plan, seattle, 24, 9, threads=n) for n in (1, 3))
    assert _same(one, three)


def test_a_run_is_the_same_among_few_and_many(example_plan: Plan, seattle: Seasons) -> None:
    few, many = (run_ensemble(example_plan, seattle, n, 9).totals for n in (8, 20))
    assert np.array_equal(few.uptake_l, many.uptake_l[:8])
    assert np.array_equal(few.taken_up_mmol, many.taken_up_mmol[:8])


def test_batches_change_bands_little_and_totals_not(
    example_plan: Plan, greensboro: Seasons, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = run_ensemble(example_plan, greensboro, 200, 2)
    monkeypatch.setattr(bands, "BATCH", 50)
    parts = run_ensemble(example_plan, greensboro, 200, 2)
    assert np.array_equal(whole.totals.overflow_l, parts.totals.overflow_l)
    for one, other in ((whole.tank_l, parts.tank_l), (whole.level_m, parts.level_m)):
        wide = np.maximum(one.high - one.low, 1e-3 * one.high.max())
        assert (np.abs(other.values - one.values) / wide).mean() < 0.03


def test_bands_of_batches_are_near_numpys_quantiles() -> None:
    """numpy.quantile is the reference; a day without any value stays without, and gaps are left out."""
    random = np.random.default_rng(3)
    values = random.gamma(2.0, 1.0, size=(5, 1000)).astype(np.float32)
    values[1, ::3], values[2] = np.nan, np.nan
    exact = np.nanquantile(values[[0, 1, 3, 4]].astype(float), bands.QUANTILES, axis=1)
    total = BandSum((5,))
    for batch in batches(1000, 7):
        total.add(values[:, batch].T)
    found = total.band().values
    assert np.isnan(found[:, 2]).all()
    # within a standard error of a quantile of 667 values: sqrt(p (1 - p) / n) over the gamma density there
    error = np.sqrt(np.array([0.09, 0.25, 0.09]) / 667) / stats.gamma(2.0).pdf(stats.gamma(2.0).ppf(bands.QUANTILES))
    assert np.all(np.abs(found[:, [0, 1, 3, 4]] - exact) < error[:, None])
    alone = BandSum((5,))
    alone.add(values[:, :200].T)
    assert alone.band().values[:, [0, 1, 3, 4]] == pytest.approx(
        np.nanquantile(values[[0, 1, 3, 4], :200].astype(float), bands.QUANTILES, axis=1), rel=1e-6
    )


def test_batches_hold_every_run_once() -> None:
    for runs in (1, 250, 251, 1000, 1003):
        found = batches(runs, 1)
        assert sorted(np.concatenate(found).tolist()) == list(range(runs))
        assert max(len(batch) for batch in found) <= bands.BATCH
        assert max(len(batch) for batch in found) - min(len(batch) for batch in found) <= 1


def test_an_interrupt_ends_all_threads(example_plan: Plan, seattle: Seasons) -> None:
    def impatient(done: int) -> None:
        if done == 5:
            raise KeyboardInterrupt

    before = threading.active_count()
    with pytest.raises(KeyboardInterrupt):
        run_ensemble(example_plan, seattle, 2000, 1, impatient)
    assert threading.active_count() == before


def test_no_runs_are_refused(example_plan: Plan, seattle: Seasons) -> None:
    with pytest.raises(ValueError, match="at least 1"):
        run_ensemble(example_plan, seattle, 0)
    with pytest.raises(ValueError, match="at least 1"):
        run_ensemble(example_plan, seattle, 5, threads=0)


def test_stocks_and_source_account_for_every_gram(example_plan: Plan, greensboro: Seasons) -> None:
    """By hand: what stocks bring is litres of each times what a litre of A and B hold, for every run and species."""
    found = run_ensemble(example_plan, greensboro, 30, 1)
    totals = found.totals
    expected = totals.stock_l[:, None] * found.feed.pair_mmol
    assert totals.from_stocks_mmol == pytest.approx(expected, rel=1e-9)
    assert totals.from_source_mmol == pytest.approx(totals.water_added_l[:, None] * found.feed.source_mmol_l, rel=1e-9)
    assert found.elements_mg_l.values.shape == (3, *found.expected.banks.shape[:2], 8)
    assert found.element_g(totals.taken_up_mmol).shape == (30, 8)
