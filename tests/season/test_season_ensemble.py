import numpy as np
import pytest

from wetfoot.plan.model import Plan
from wetfoot.season.drivers import cover_by_day, demand_share, warmth_of_calendar
from wetfoot.season.ensemble import run_ensemble
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
