"""Chain and amounts of rain against closed forms and SciPy."""

from __future__ import annotations

from itertools import groupby

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy import stats

from wetfoot.climate import rain_chain as rc

# Gabriel & Neumann 1962, Tel Aviv, December to February (values from memory)
START, STAY = 0.250, 0.662


def a_chain(years: int, days: int, seed: int = 1) -> np.ndarray:
    uniform = np.random.default_rng(seed).random((years, days))
    return rc.wet_days(uniform, np.full(days, START), np.full(days, STAY))


def test_long_run_share_of_tel_aviv() -> None:
    assert rc.stationary_wet_share(START, STAY) == pytest.approx(0.425, abs=0.0005)  # printed, from memory
    assert rc.stationary_wet_share(0.0, 1.0) == 0.0  # a chain that never moves begins dry


@pytest.mark.parametrize(("wet", "leave"), [(True, 1.0 - STAY), (False, START)])
def test_spells_have_the_geometric_law(wet: bool, leave: float) -> None:
    """P(length = n) = leave (1 - leave)^(n-1): Gabriel & Neumann 1962."""
    day_by_day = a_chain(1, 60_000)[0].tolist()
    spells = [len(list(days)) for state, days in groupby(day_by_day) if state is wet][1:-1]
    counted = np.bincount(np.minimum(spells, 12), minlength=13)[1:]
    law = leave * (1.0 - leave) ** np.arange(12)
    law[-1] = (1.0 - leave) ** 11
    assert stats.chisquare(counted, law * len(spells)).pvalue > 0.001
    assert np.mean(spells) == pytest.approx(1.0 / leave, rel=0.03)


def test_every_day_has_the_long_run_share_from_the_first() -> None:
    share = a_chain(20_000, 20).mean(axis=0)
    assert np.abs(share - START / (START + 1.0 - STAY)).max() < 4.0 * np.sqrt(0.25 / 20_000)


@given(st.floats(0.4, 3.0), st.integers(0, 1000))
def test_gamma_shape_is_that_of_maximum_likelihood(shape: float, seed: int) -> None:
    amounts = np.random.default_rng(seed).gamma(shape, 7.0, size=300)
    exact = stats.gamma.fit(amounts, floc=0.0)[0]
    assert rc.gamma_shape(amounts) == pytest.approx(exact, rel=1e-4)  # SciPy's own search ends there


@pytest.mark.parametrize("amounts", [[], [1.0], [1.0, 0.0], [1.0, -1.0]])
def test_amounts_without_a_shape_are_refused(amounts: list[float]) -> None:
    with pytest.raises(ValueError, match="amounts"):
        rc.gamma_shape(amounts)


def test_amounts_that_are_all_alike_have_a_very_large_shape() -> None:
    assert rc.gamma_shape([2.0, 2.0, 2.0]) == pytest.approx(5000.0, rel=0.01)


def test_a_long_record_gives_back_what_made_it() -> None:
    """40 years of one law, drawn day by day with Python's own loop."""
    random = np.random.default_rng(4)
    days = 40 * 360
    rain, wet = np.zeros(days), False
    for day in range(days):
        wet = bool(random.random() < (0.7 if wet else 0.2))
        rain[day] = rc.WET_MM + random.gamma(0.8, 10.0) if wet else 0.0
    month = np.arange(days) // 30 % 12 + 1
    found = rc.fit_rain_months(month, rain, np.arange(days) > 0)
    # standard errors: sqrt(p q / n) with 720 dry and 480 wet days a month; mean 8 mm, sd 8.9 mm
    assert np.abs(found.wet_after_dry - 0.2).max() < 3.5 * np.sqrt(0.2 * 0.8 / 720)
    assert np.abs(found.wet_after_wet - 0.7).max() < 3.5 * np.sqrt(0.7 * 0.3 / 480)
    assert np.abs(found.mean_mm - 8.0).max() < 3.5 * 8.9 / np.sqrt(480)
    assert np.abs(found.shape - 0.8).max() < 0.2
    assert found.days.sum() == days


@given(st.integers(0, 10_000), st.floats(0.0, 1.0))
def test_share_and_mean_of_every_month_are_kept(seed: int, chance: float) -> None:
    random = np.random.default_rng(seed)
    month = np.arange(720) // 30 % 12 + 1
    rain = np.where(random.random(720) < chance, random.integers(1, 400, 720) / 10.0, 0.0)
    rain[random.random(720) < 0.05] = np.nan
    found = rc.fit_rain_months(month, rain, np.arange(720) > 0)
    wet = np.array([np.mean(rain[(month == m) & ~np.isnan(rain)] >= rc.WET_MM) for m in range(1, 13)])
    assert rc.stationary_wet_share(found.wet_after_dry, found.wet_after_wet) == pytest.approx(wet)
    for chances in (found.wet_after_dry, found.wet_after_wet):
        assert np.all((chances >= 0.0) & (chances <= 1.0))
    total = np.array([np.nansum(rain[month == m]) for m in range(1, 13)])
    assert (found.mean_mm + rc.WET_MM) * found.wet_days == pytest.approx(total)


def test_a_gap_is_no_step_of_the_chain() -> None:
    rain = np.array([5.0, 7.0, 5.0, 0.0, 0.0] * 12)
    month = np.repeat(np.arange(1, 13), 5)
    follows = np.tile([False, True, False, False, True], 12)  # so wet is followed by wet only
    # all 36 days after a wet one are wet (three months hold the 30 wet days wanted: 5 to 7 pairs a side)
    assert rc.fit_rain_months(month, rain, follows).wet_after_wet.min() > 0.85
    assert rc.fit_rain_months(month, rain, np.arange(60) > 0).wet_after_wet.max() < 0.75


@given(arrays(bool, st.tuples(st.integers(1, 4), st.integers(1, 30))))
def test_longest_run_is_that_of_itertools(flags: np.ndarray) -> None:
    runs = [max((len(list(g)) for state, g in groupby(row.tolist()) if state), default=0) for row in flags]
    assert rc.longest_run(flags).tolist() == runs
