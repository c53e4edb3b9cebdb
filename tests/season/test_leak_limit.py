"""The limit of the leak chart where weather is not known: by made-up quiet seasons, and never below the published."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import binom, norm
from tank_made_up import READING_SD_L, readings, straight, visits

from wetfoot.plan.model import Plan
from wetfoot.season.drawdown import H, watch
from wetfoot.season.expected_draw import ExpectedDraw, expected_draw, persistence, weather_cv
from wetfoot.season.leak_limit import (
    alarm_limits,
    charts,
    designed_rate,
    few_years,
    limit_now,
    quiet_charts,
    quiet_draw,
)
from wetfoot.season.learn import evidence, prior
from wetfoot.season.own_weather import MEASURED, OTHER_YEARS
from wetfoot.weather.seasons import Seasons

PRIOR = prior(0.2)
EXPECTED = straight()
VISITS = visits()
BLANK = evidence(VISITS, EXPECTED, PRIOR)


def of_years(off_l_d: np.ndarray) -> ExpectedDraw:
    """Return a draw that each of several years is off by some litres on each day, shape (years, days)."""
    drawn = EXPECTED.drawn_l + off_l_d[None]
    source = np.full(off_l_d.shape[1], OTHER_YEARS)
    spread = weather_cv(drawn, EXPECTED.demand_l, source, persistence(drawn[1]))
    return EXPECTED._replace(drawn_l=drawn, source=source, weather_cv=spread, other_years=len(off_l_d))


def test_the_designed_rate_is_that_of_the_printed_run_length() -> None:
    # Montgomery, Introduction to Statistical Quality Control: 465 readings with k = 0.5 and h = 5 (from memory)
    assert designed_rate(31) == pytest.approx(1.0 - (1.0 - 1.0 / 465.0) ** 31, rel=0.01)


def test_many_charts_at_once_are_those_of_one_season_after_the_other() -> None:
    seasons = [readings(EXPECTED, PRIOR, factor, np.random.default_rng(41), blank=BLANK) for factor in (0.8, 1.0, 1.3)]
    drawn = np.array([[found.stretch.drawn_l for found in season] for season in seasons]).T
    at_once = charts(PRIOR, BLANK, drawn)
    for at, season in enumerate(seasons):
        alone = watch(PRIOR, season).chart
        np.testing.assert_allclose(at_once.upper[:, at], alone.upper, atol=1e-9)
        np.testing.assert_allclose(at_once.lower[:, at], alone.lower, atol=1e-9)


def test_a_quiet_season_errs_as_its_readings_do() -> None:
    factor = np.full(4000, 1.2)
    drawn = quiet_draw(EXPECTED, VISITS, 0, factor, np.random.default_rng(43))[20:22]
    # by hand: 7 days of 15 % of 36 L, and a stick of 5 L at either end, shared by neighbours with opposite signs
    variance = 7.0 * (0.15 * 36.0) ** 2 + 2.0 * READING_SD_L**2
    np.testing.assert_allclose(drawn.mean(axis=1), 252.0, atol=4.0 * np.sqrt(variance / 4000))
    covariance = np.cov(drawn)
    assert covariance[0, 0] == pytest.approx(variance, rel=0.1)
    assert covariance[0, 1] == pytest.approx(-(READING_SD_L**2), abs=4.0 * variance / np.sqrt(4000))


def test_quiet_seasons_without_unknown_weather_signal_as_designed() -> None:
    highest = quiet_charts(PRIOR, of_years(np.zeros((4, 240))), VISITS).max(axis=0)
    alarms = int((highest > H).sum())
    low, high = binom(highest.size, designed_rate(len(VISITS))).ppf([0.001, 0.999])
    assert alarms <= high
    assert alarms >= low / 2.0  # the multiplier is being learned, which makes early residuals a little quieter


def test_a_higher_limit_for_few_years_is_passed_as_seldom_as_it_should_be() -> None:
    # what a prediction limit is: mean and spread of n normal values, and the next one (by simulation)
    random, alarm = np.random.default_rng(47), 0.065
    for years in (4, 10):
        values = random.normal(size=(20_000, years + 1))
        seen = values[:, :years]
        limit = seen.mean(axis=1) + few_years(years, alarm) * norm.isf(alarm) * seen.std(axis=1, ddof=1)
        assert float((values[:, years] > limit).mean()) == pytest.approx(alarm, abs=4.0 * np.sqrt(alarm / 20_000))


def test_the_limit_is_the_published_one_where_the_weather_is_known() -> None:
    assert alarm_limits(PRIOR, EXPECTED, VISITS).tolist() == [H] * len(VISITS)
    assert limit_now(PRIOR, EXPECTED, ()) == H
    # what is still to come does not count
    off = np.zeros((4, 240))
    off[:, 140:] = np.array([-8.0, -3.0, 3.0, 8.0])[:, None]
    until_now = of_years(off)._replace(source=np.where(np.arange(240) < 140, MEASURED, OTHER_YEARS))
    assert limit_now(PRIOR, until_now, VISITS[:19]) == H
    assert limit_now(PRIOR, until_now, VISITS) > H


def test_wet_and_dry_times_that_outlast_a_week_raise_it() -> None:
    # each year keeps two wet and two dry months of its own: one sign for 60 days, 8 L/day either way
    signs = np.random.default_rng(53).choice([-8.0, 8.0], size=(10, 4))
    limits = alarm_limits(PRIOR, of_years(np.repeat(signs, 60, axis=1)), VISITS)
    assert limits[-1] > 1.3 * H
    assert (limits >= H).all()


def test_fewer_years_have_a_higher_limit(example_plan: Plan, seattle: Seasons, greensboro: Seasons) -> None:
    assert few_years(4, 0.065) > few_years(10, 0.065) > few_years(40, 0.065) > 1.0
    for laid in (seattle, greensboro):  # four real years; a typical one, moved
        expected = expected_draw(example_plan, laid)
        assert expected.other_years == len(laid.runs)
        assert limit_now(PRIOR, expected, VISITS) > few_years(10, 0.065) * H
