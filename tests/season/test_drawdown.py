"""The leak test: charts against a printed example, planted leaks found in time, few false alarms, no mix-up."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import binom
from tank_made_up import readings, straight, visits

from wetfoot.season.drawdown import H, K, cusum, ewma, found_leak, hours_until, last_change, leak, watch
from wetfoot.season.learn import evidence, multiplier, prior
from wetfoot.season.run_lengths import cusum_run_length

PRIOR = prior(0.2)
EXPECTED = straight()
BLANK = evidence(visits(), EXPECTED, PRIOR)
LEAK_L_D = 5.0
LEAK_FROM_D = 112.0  # a visit; the crop has then drunk its fill for a month
FIRST = next(at for at, found in enumerate(BLANK) if found.stretch.start_d == LEAK_FROM_D)

# Montgomery, Introduction to Statistical Quality Control, data of the CUSUM and EWMA examples (mean 10, spread 1;
# the mean is 11 from the 21st on). From memory, with the printed columns of C+ and C-.
DATA = np.array(
    [9.45, 7.99, 9.29, 11.66, 12.16, 10.18, 8.04, 11.46, 9.20, 10.34, 9.03, 11.47, 10.51, 9.40, 10.08, 9.37, 10.62,
     10.31, 8.52, 10.84, 10.90, 9.33, 12.29, 11.50, 10.60, 11.08, 10.38, 11.62, 11.31, 10.52]
)  # fmt: skip
UPPER = [0, 0, 0, 1.16, 2.82, 2.50, 0.04, 1.00, 0, 0, 0, 0.97, 0.98, 0, 0, 0, 0.12, 0, 0, 0.34, 0.74, 0, 1.79, 2.79,
         2.89, 3.47, 3.35, 4.47, 5.28, 5.30]  # fmt: skip
LOWER = [0.05, 1.56, 1.77, 0, 0, 0, 1.46, 0, 0.30]


def test_the_cusum_is_that_of_the_printed_example() -> None:
    chart = cusum(DATA - 10.0)
    np.testing.assert_allclose(chart.upper, UPPER, atol=0.006)
    np.testing.assert_allclose(chart.lower[:9], LOWER, atol=0.006)
    # signals at the 29th; counter N+ = 7 there: the shift came between the 22nd and the 23rd
    assert int(np.argmax(chart.upper > H)) == 28
    assert last_change(chart.upper[:29]) == 22


def test_the_ewma_is_that_of_the_printed_example() -> None:
    printed = np.array([9.945, 9.7495, 9.70355, 9.8992, 10.1253])  # weight 0.1, from memory
    np.testing.assert_allclose(ewma(DATA - 10.0, 0.1)[:5] * np.sqrt(0.1 / 1.9), printed - 10.0, atol=1e-4)


def test_what_is_not_known_sets_the_charts_back() -> None:
    values = np.array([3.0, np.nan, 0.0])
    assert cusum(values).upper.tolist() == [2.5, 0.0, 0.0]
    assert ewma(values)[1:].tolist() == [0.0, 0.0]


def test_false_alarms_are_no_more_than_designed() -> None:
    random, runs, alarms = np.random.default_rng(7), 200, 0
    for _ in range(runs):
        factor = float(np.exp(random.normal(0.0, 0.2)))
        chart = watch(PRIOR, readings(EXPECTED, PRIOR, factor, random, blank=BLANK)).chart
        alarms += bool((np.maximum(*chart) > H).any())
    # runs to a signal are nearly geometric, with the published mean of 465 readings
    designed = 1.0 - np.exp(-len(BLANK) / cusum_run_length(K, H))
    assert alarms <= binom(runs, designed).ppf(0.998)


def test_a_leak_of_5_litres_a_day_is_found_within_seven_weekly_readings_in_nine_of_ten_seasons() -> None:
    random, runs, delays = np.random.default_rng(13), 60, []
    for _ in range(runs):
        factor = float(np.exp(random.normal(0.0, 0.2)))
        found = readings(EXPECTED, PRIOR, factor, random, LEAK_L_D, LEAK_FROM_D, BLANK)
        signals = np.flatnonzero(watch(PRIOR, found).chart.upper[FIRST:] > H)
        delays.append(int(signals[0]) + 1 if signals.size else len(found))
    assert np.mean(np.array(delays) <= 7) >= 0.9
    assert np.median(delays) <= 4


def test_litres_a_day_and_since_when_are_told() -> None:
    random, inside, runs, starts = np.random.default_rng(17), 0, 20, []
    for _ in range(runs):
        factor = float(np.exp(random.normal(0.0, 0.2)))
        found = readings(EXPECTED, PRIOR, factor, random, LEAK_L_D, LEAK_FROM_D, BLANK)[: FIRST + 9]
        told = found_leak(PRIOR, found, watch(PRIOR, found))
        if told is None:
            continue
        inside += told.l_d.low <= LEAK_L_D <= told.l_d.high
        starts.append(told.since_d - LEAK_FROM_D)
        assert multiplier(told.known).middle == pytest.approx(factor, rel=0.12)
    assert len(starts) >= 0.85 * runs
    assert inside >= binom(len(starts), 0.8).ppf(0.002)
    assert abs(np.median(starts)) <= 7.0


def test_a_thirsty_crop_is_no_leak() -> None:
    # a multiplier of 1.35 from the start, as sure as two spreads of the prior: learned, and no more alarms than usual
    random, runs, alarms = np.random.default_rng(19), 100, 0
    for _ in range(runs):
        seen = watch(PRIOR, readings(EXPECTED, PRIOR, 1.35, random, blank=BLANK))
        alarms += bool(seen.chart.upper[-1] > H)
        assert multiplier(seen.known).middle == pytest.approx(1.35, rel=0.08)
    assert alarms <= binom(runs, 1.0 - np.exp(-len(BLANK) / cusum_run_length(K, H))).ppf(0.998)


def test_leak_and_multiplier_are_told_apart_by_what_came_before() -> None:
    random, told = np.random.default_rng(23), []
    for _ in range(8):
        found = readings(EXPECTED, PRIOR, 1.1, random, 10.0, LEAK_FROM_D, BLANK)
        told.append(leak(PRIOR, found, FIRST, 60.0))
        assert told[-1].odds > 100.0
    # neither takes from the other: both right on average, within three standard errors of a tenth
    assert np.mean([one.l_d.middle for one in told]) == pytest.approx(10.0, rel=0.1)
    assert np.mean([multiplier(one.known).middle for one in told]) == pytest.approx(1.1, rel=0.03)


def test_without_a_signal_there_is_no_leak() -> None:
    found = readings(EXPECTED, PRIOR, 1.0, np.random.default_rng(29), blank=BLANK)
    assert found_leak(PRIOR, found, watch(PRIOR, found)) is None
    assert found_leak(PRIOR, (), watch(PRIOR, ())) is None


def test_a_mended_leak_clears_the_chart_and_teaches_nothing() -> None:
    random = np.random.default_rng(31)
    found = list(readings(EXPECTED, PRIOR, 1.0, random, 25.0, LEAK_FROM_D, BLANK))
    tight = readings(EXPECTED, PRIOR, 1.0, random, blank=BLANK)
    mended_d = LEAK_FROM_D + 21.0
    found[FIRST + 3 :] = tight[FIRST + 3 :]
    forgotten, seen = watch(PRIOR, found), watch(PRIOR, found, (mended_d,))
    assert forgotten.chart.upper[FIRST + 2] > H
    assert seen.leaking[FIRST : FIRST + 3].all()
    assert seen.leaking.sum() <= 4
    assert found_leak(PRIOR, found, seen) is None
    assert multiplier(seen.known).middle == pytest.approx(1.0, rel=0.05)


def test_a_tank_run_empty_by_a_leak_still_signals() -> None:
    found = list(readings(EXPECTED, PRIOR, 1.0, np.random.default_rng(37), 60.0, LEAK_FROM_D, BLANK))[: FIRST + 1]
    found[-1] = found[-1]._replace(stretch=replace(found[-1].stretch, emptied=True))
    told = found_leak(PRIOR, found, watch(PRIOR, found))
    assert told is not None
    assert told.l_d.high > 40.0


@pytest.mark.parametrize(("first", "most"), [(-1, 10.0), (len(BLANK), 10.0), (0, 0.0)])
def test_a_leak_that_cannot_be_is_refused(first: int, most: float) -> None:
    with pytest.raises(ValueError, match="first must be"):
        leak(PRIOR, BLANK, first, most)


def test_hours_until_so_much_is_drawn() -> None:
    hours = np.arange(0.0, 101.0)
    assert hours_until(25.0, 2.0 * hours, hours) == pytest.approx(12.5)  # 25 L at 2 L/h
    assert hours_until(0.0, 2.0 * hours, hours) == 0.0
    assert hours_until(201.0, 2.0 * hours, hours) == np.inf
