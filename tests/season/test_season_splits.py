"""Pots that split: how many, when, what runs out, and what stops it."""

from __future__ import annotations

import numpy as np
import pytest
from season_made_up import course_of, made_up

from wetfoot.crop.splitting import split_probability
from wetfoot.plan.model import Plan
from wetfoot.season import columns as c
from wetfoot.season.bench import Bench
from wetfoot.season.bench_lines import lines_of, supply_of
from wetfoot.season.ensemble import Ensemble, run_ensemble
from wetfoot.season.feed import EcScale
from wetfoot.season.splits import (
    NEVER,
    Splits,
    bank_of_pot,
    holes_by_day,
    leak_chance_by_day,
    rhizome_growth,
    split_days,
    with_leaks,
)
from wetfoot.water.leaks import Fault, leak_course
from wetfoot.weather.seasons import Seasons


@pytest.fixture(scope="module")
def leaky(example_plan: Plan, bench: Bench) -> Bench:
    return with_leaks(bench, example_plan, Splits())


@pytest.fixture(scope="module")
def split_runs(example_plan: Plan, greensboro: Seasons) -> Ensemble:
    return run_ensemble(example_plan, greensboro, 60, 5, splits=Splits())


def test_the_rhizome_grows_as_the_handbook_says() -> None:
    """Project handbook, agronomy 1.3: W(120) = 0.1192, W(170) = 0.5, W(240) = 0.9427."""
    assert rhizome_growth(np.array([120.0, 170.0, 240.0])) == pytest.approx([0.1192, 0.5, 0.9427], abs=5e-5)


def test_chances_grow_to_that_of_the_full_grown_crop(example_plan: Plan) -> None:
    """At a crowding index of 0.452 (handbook, agronomy 2.5: 4.9 kg in 23 L) one pot in ten splits (its prior)."""
    chance = leak_chance_by_day(example_plan, example_plan.banks[0], Splits(basin_share=1.0))
    assert chance.shape == (example_plan.crop.season_d,)
    assert np.all(np.diff(chance) >= 0)
    assert chance[0] < 1e-6
    assert split_probability(0.452) == pytest.approx(0.10, abs=0.005)
    assert 0.03 < chance[-1] < 0.2


def test_pots_split_as_often_as_their_chance_says(example_plan: Plan) -> None:
    """Law of large numbers: 4,000 pots with a season's luck each, within four standard errors."""
    splits = Splits(basin_share=1.0)
    random = np.random.default_rng(11)
    z = [np.random.default_rng((2, run)).standard_normal() for run in range(100)]
    expected = np.mean([leak_chance_by_day(example_plan, example_plan.banks[0], splits, v)[-1] for v in z])
    found = np.mean([split_days(example_plan, splits, np.random.default_rng((2, run))) != NEVER for run in range(100)])
    assert found == pytest.approx(expected, abs=4.0 * np.sqrt(0.25 / 4000))
    days = split_days(example_plan, splits, random)
    assert holes_by_day(example_plan, days).sum() == (days != NEVER).sum()
    assert bank_of_pot(example_plan).tolist() == sorted(bank_of_pot(example_plan).tolist())


def test_the_tank_falls_by_the_leak_until_a_visit(example_plan: Plan, leaky: Bench, scale: EcScale) -> None:
    """Against the network of tubes and valves (`water.leaks`), which is checked by Torricelli and Hagen-Poiseuille."""
    holes, visit = np.zeros((6, 4)), np.zeros(6, dtype=bool)
    holes[0, 1], visit[2] = 1.0, True
    course = course_of(leaky, scale, made_up(6, 4, new_holes=holes, visit=visit))
    network = leak_course(lines_of(example_plan), supply_of(example_plan), 0.0, Fault("pot split", 1, 5, 0.01), 48.0)
    lost = course.banks[:2, 1, c.LEAKED_L].sum() * leaky.pots[1]
    assert lost == pytest.approx(float(network.lost_l[-1]), rel=0.25)  # the mean pot's level sags a little under it
    assert np.all(course.banks[2:, :, c.LEAKED_L] == 0.0)
    assert np.all(course.banks[:, [0, 2, 3], c.LEAKED_L] == 0.0)


def test_a_bank_that_is_shut_off_takes_nothing_more(leaky: Bench, scale: EcScale) -> None:
    holes = np.zeros((4, 4))
    holes[0, 0] = 1.0
    driven = made_up(4, 4, new_holes=holes, shut_off_h=10.0)
    course = course_of(leaky, scale, driven)
    assert course.banks[0, 0, c.INFLOW_L] > 0
    assert np.all(course.banks[1:, 0, c.INFLOW_L] == 0.0)
    assert course.banks[-1, 0, c.FREE_L] < 0.5 * course.banks[-1, 1, c.FREE_L]  # what was in the bank runs out
    longer = course_of(leaky, scale, driven._replace(shut_off_h=np.inf))
    assert longer.banks[:, 0, c.LEAKED_L].sum() > 2.0 * course.banks[:, 0, c.LEAKED_L].sum()


def test_what_leaks_is_counted_and_its_odds_by_date(split_runs: Ensemble, example_plan: Plan) -> None:
    totals, split = split_runs.totals, split_runs.split_day
    assert split is not None
    assert split.shape == (60, example_plan.pots)
    per_bank = (split != NEVER).reshape(60, 4, 10).sum(axis=2)
    supplied = np.where((split != NEVER) & (split < example_plan.crop.tops_cut_d), 1, 0).reshape(60, 4, 10).sum(axis=2)
    assert np.all((totals.leaked_l > 0) <= (per_bank > 0))
    assert np.all((totals.leaked_l > 0) >= (supplied > 0))
    by = split_runs.empty_by_share()
    assert np.all(np.diff(by) >= 0)
    assert by[-1] == pytest.approx((totals.tank_empty_days > 0).mean())
    assert split_runs.tank_empty_share.sum() * 60 == pytest.approx(totals.tank_empty_days.sum())


def test_safeguards_are_held_against_the_same_splits(
    split_runs: Ensemble, example_plan: Plan, greensboro: Seasons
) -> None:
    """Common random numbers: the same pots split, and a bench with a safeguard loses no more in any run."""
    often = example_plan.model_copy(update={"visits": example_plan.visits.model_copy(update={"every_d": 2})})
    shut, saucers = Splits(shut_off_h=12.0), Splits(saucer_l=15.0)
    guarded = [
        run_ensemble(example_plan, greensboro, 60, 5, splits=shut),
        run_ensemble(example_plan, greensboro, 60, 5, splits=saucers),
    ]
    before = split_runs.lost_by_leaks_l()
    for found in guarded:
        assert np.array_equal(found.split_day, split_runs.split_day)
        assert np.all(found.lost_by_leaks_l().sum(axis=1) <= before.sum(axis=1) + 1e-9)
        assert found.lost_by_leaks_l().sum() < before.sum()
    visited = run_ensemble(often, greensboro, 60, 5, splits=Splits())
    assert visited.empty_by_share()[-1] < split_runs.empty_by_share()[-1]


def test_without_splits_nothing_leaks(example_plan: Plan, greensboro: Seasons, split_runs: Ensemble) -> None:
    found = run_ensemble(example_plan, greensboro, 60, 5)
    assert found.split_day is None
    assert found.totals.leaked_l.sum() == 0.0 == found.lost_by_leaks_l().sum()
    dry = (split_runs.totals.leaked_l == 0).all(axis=1)  # runs in which no pot leaked are the same runs
    assert np.array_equal(found.totals.tank_used_l[dry], split_runs.totals.tank_used_l[dry])
