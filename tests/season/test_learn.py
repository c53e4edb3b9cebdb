"""The multiplier of water use: Bayes' rule against integration, calibration, missed and misread readings."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import binom, lognorm, t
from tank_made_up import readings, straight, visits

from wetfoot.plan.model import Plan
from wetfoot.season import columns as c
from wetfoot.season.bench import bench_arrays
from wetfoot.season.drivers import drivers, warmth_of_calendar
from wetfoot.season.expected_draw import drawn_between, expected_draw, model_sd_l, persistence
from wetfoot.season.feed import ec_scale
from wetfoot.season.learn import blurred, evidence, learn, learn_all, multiplier, prior
from wetfoot.season.own_weather import MOVED_D, OTHER_YEARS, Gauge
from wetfoot.season.run import simulate_season
from wetfoot.season.stretches import Stretch
from wetfoot.weather.seasons import Seasons

LN_SD = 0.2
PRIOR = prior(LN_SD)


def test_before_any_reading_it_is_the_lognormal_prior() -> None:
    known = multiplier(PRIOR)
    exact = lognorm(LN_SD).ppf([0.1, 0.5, 0.9])  # scipy's own lognormal
    assert (known.low, known.middle, known.high) == pytest.approx(tuple(exact), rel=2e-3)


def test_one_stretch_gives_the_posterior_of_direct_integration() -> None:
    expected = straight()
    stretch = Stretch(140.0, 147.0, 270.0, 5.0, 4.0)
    (found,) = evidence([stretch], expected, PRIOR)
    after = multiplier(learn(PRIOR, found))
    # the same by quadrature, from the formulas of the module's docstring: D(m) = 210 m, day error 15 % of 30 L
    day_sd = 0.15 * 30.0 * math.sqrt(7.0)

    def density(m: float) -> float:
        scale = math.sqrt((5.0**2 + 5.0**2 + 4.0**2 + (day_sd * m) ** 2) * 5.0 / 7.0)
        return float(lognorm(LN_SD).pdf(m) * t.pdf((270.0 - 210.0 * m) / scale, 4.0) / scale)

    whole = quad(density, 0.45, 2.2, points=[1.29])[0]
    assert after.mean == pytest.approx(quad(lambda m: m * density(m), 0.45, 2.2, points=[1.29])[0] / whole, rel=1e-3)
    for quantile, share in ((after.low, 0.1), (after.middle, 0.5), (after.high, 0.9)):
        assert quad(density, 0.45, quantile)[0] / whole == pytest.approx(share, abs=0.005)


def test_its_interval_holds_the_truth_as_often_as_it_says() -> None:
    # truth drawn from the prior, readings from the model: 8 intervals in 10 must hold it (as in simulation-based
    # calibration, Talts et al. 2018, arXiv 1804.06788)
    expected, random, inside, runs = straight(), np.random.default_rng(11), 0, 150
    blank = evidence(visits(), expected, PRIOR)
    for _ in range(runs):
        factor = float(np.exp(random.normal(0.0, LN_SD)))
        found = readings(expected, PRIOR, factor, random, blank=blank)
        known = multiplier(learn_all(PRIOR, found[:20]))
        inside += known.low <= factor <= known.high
    low, high = binom(runs, 0.8).ppf([0.002, 0.998])
    assert low <= inside <= high


def test_readings_narrow_it() -> None:
    expected = straight()
    found = readings(expected, PRIOR, 1.3, np.random.default_rng(2))
    spans = [multiplier(learn_all(PRIOR, found[:many])) for many in (0, 8, 16, 30)]
    widths = [known.high - known.low for known in spans]
    assert widths == sorted(widths, reverse=True)
    assert spans[-1].middle == pytest.approx(1.3, abs=0.05)


def test_one_misread_scale_does_not_carry_it_away() -> None:
    expected = straight()
    found = list(readings(expected, PRIOR, 1.0, np.random.default_rng(5)))
    honest = multiplier(learn_all(PRIOR, found))
    # 800 read as 80: the stretch before seems to have drawn 720 L more, the one after 720 L less
    for at, error in ((15, 720.0), (16, -720.0)):
        found[at] = found[at]._replace(stretch=replace(found[at].stretch, drawn_l=found[at].stretch.drawn_l + error))
    assert multiplier(learn_all(PRIOR, found)).middle == pytest.approx(honest.middle, rel=0.03)


def test_missed_visits_cost_little() -> None:
    expected = straight()
    weekly = readings(expected, PRIOR, 1.2, np.random.default_rng(8))
    # every second reading missed: two stretches become one
    pairs = zip(weekly[::2], weekly[1::2], strict=False)
    long = [
        Stretch(one.stretch.start_d, two.stretch.end_d, one.stretch.drawn_l + two.stretch.drawn_l, 5.0)
        for one, two in pairs
    ]
    known, fewer = (multiplier(learn_all(PRIOR, found)) for found in (weekly, evidence(long, expected, PRIOR)))
    assert fewer.middle == pytest.approx(known.middle, rel=0.02)
    assert fewer.high - fewer.low < 1.5 * (known.high - known.low)


def test_an_emptied_tank_says_at_least_so_much() -> None:
    expected = straight()
    stretch = Stretch(140.0, 147.0, 260.0, 5.0, emptied=True)
    (found,) = evidence([stretch], expected, PRIOR)
    (read,) = evidence([replace(stretch, emptied=False)], expected, PRIOR)
    assert multiplier(learn(PRIOR, found)).high > multiplier(learn(PRIOR, read)).high
    assert multiplier(learn(PRIOR, found)).low > multiplier(PRIOR).low


def test_stretches_left_out_or_outside_the_season_teach_nothing() -> None:
    bad = [Stretch(7.0, 14.0, 1.0, 5.0, left_out="why"), Stretch(-3.0, 4.0, 1.0, 5.0), Stretch(238.0, 260.0, 1.0, 5.0)]
    assert evidence(bad, straight(), PRIOR) == ()


def test_a_prior_without_spread_is_refused() -> None:
    with pytest.raises(ValueError, match="ln_sd"):
        prior(0.0)


def test_the_expected_draw_is_that_of_the_season_itself(example_plan: Plan, greensboro: Seasons) -> None:
    run, factor = greensboro.runs[0], 1.4  # not one of the grid's multipliers
    driven = drivers(example_plan, run, warmth_of_calendar(example_plan.crop, greensboro.runs), factor)
    course = simulate_season(bench_arrays(example_plan), ec_scale(example_plan), driven, run.dates)
    expected = expected_draw(example_plan, greensboro)
    by_day = [
        np.interp(factor, expected.factors, drawn_between(expected, float(day), day + 14.0)[:, 0])
        for day in range(0, 220, 14)
    ]
    simulated = [course.tank[day : day + 14, c.DRAWN_L].sum() for day in range(0, 220, 14)]
    # between the grid's multipliers the draw bends where rain meets it: off by little of the season's use
    np.testing.assert_allclose(by_day, simulated, atol=0.01 * sum(simulated))
    assert (expected.source == OTHER_YEARS).all()  # a typical year is nobody's own
    assert expected.drawn_l.shape[1] == len(MOVED_D)


def test_a_day_is_drawn_as_it_is_drunk() -> None:
    expected = straight(days=90, demand_l=30.0)
    # a half sine from 6 to 18 hours: nothing before, half by noon (closed form)
    for hour, share in ((6.0, 0.0), (12.0, 0.5), (18.0, 1.0), (8.0, 0.5 * (1.0 - math.cos(math.pi / 6.0)))):
        assert drawn_between(expected, 60.0, 60.0 + hour / 24.0)[1, 0] == pytest.approx(30.0 * share)
    assert drawn_between(expected, 89.0, 400.0)[1, 0] == pytest.approx(30.0)


def test_independent_days_add_their_errors_in_squares() -> None:
    expected = straight()
    assert model_sd_l(expected, 140.0, 149.0) == pytest.approx(3.0 * model_sd_l(expected, 140.0, 141.0))
    assert model_sd_l(expected, 140.0, 141.0) == pytest.approx(0.15 * 30.0 * expected.factors)


def test_years_of_other_weather_add_the_spread_between_them(example_plan: Plan, seattle: Seasons) -> None:
    # four real years of Seattle, none of them the plan's own; over all weeks the variances add up to those of the
    # weeks' sums between the years, by numpy, a next year's 1/n larger
    expected = expected_draw(example_plan, seattle)
    assert (expected.source == OTHER_YEARS).all()
    n, weeks = expected.drawn_l.shape[1], len(expected.demand_l) // 7
    sums = np.array([expected.drawn_l[3, :, 7 * w : 7 * w + 7].sum(axis=1) for w in range(weeks)])
    between = (1.0 + 1.0 / n) * persistence(expected.drawn_l[3]) * np.var(sums, axis=1, ddof=1).sum()
    own = 0.15**2 * float((expected.demand_l[: 7 * weeks] ** 2).sum())
    assert model_sd_l(expected, 0.0, 7.0 * weeks)[3] == pytest.approx(math.sqrt(own + between))


def test_what_is_known_of_a_days_weather_sets_its_error(example_plan: Plan, seattle: Seasons) -> None:
    weeks = [Gauge(float(day), day + 7.0, 10.0) for day in range(0, 238, 7)]
    expected = expected_draw(example_plan, seattle, weeks)
    plain = expected_draw(example_plan, seattle)
    assert expected.weather_cv[3, 100] < plain.weather_cv[3, 100]


def test_a_belief_is_blurred_by_wet_and_dry_seasons(example_plan: Plan, seattle: Seasons) -> None:
    # a lognormal prior and a normal error of the logarithm: variances add (closed form)
    expected = expected_draw(example_plan, seattle)
    found = evidence(visits(last_d=210), expected, prior(0.2))
    season = np.log(drawn_between(expected, 7.0, 210.0)[3])
    factor, drawn = np.array(expected.factors), drawn_between(expected, 7.0, 210.0).mean(axis=1)
    steep = np.gradient(np.log(drawn), np.log(factor))[3]
    known = multiplier(blurred(prior(0.2), expected, found))
    spread = (math.log(known.high) - math.log(known.low)) / (2.0 * 1.2816)  # normal quantile of 0.9
    assert spread == pytest.approx(math.hypot(0.2, float(np.std(season, ddof=1)) / steep), rel=0.1)
    assert blurred(PRIOR, straight(), evidence(visits(), straight(), PRIOR)) is PRIOR


def test_persistence_is_that_of_an_autoregression() -> None:
    # weeks that keep 0.5 of the last one's departure: autocorrelation 0.5^lag (closed form), on 29 and 28 pairs of 30
    random, weeks = np.random.default_rng(3), np.zeros((400, 30))
    for week in range(30):
        weeks[:, week] = 0.5 * weeks[:, week - 1] + random.normal(0.0, 1.0 if week else 2.0 / math.sqrt(3.0), 400)
    assert persistence(np.repeat(weeks, 7, axis=1)) == pytest.approx(
        1.0 + 2.0 * (0.5 * 29 / 30 + 0.25 * 28 / 30), abs=0.12
    )
    assert persistence(np.repeat(random.normal(size=(400, 30)), 7, axis=1)) == pytest.approx(1.0, abs=0.05)


def test_a_grid_without_one_is_refused(example_plan: Plan, greensboro: Seasons) -> None:
    with pytest.raises(ValueError, match="1 must be among"):
        expected_draw(example_plan, greensboro, factors=(0.5, 2.0))
