"""Intervals of proportions."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from wetfoot.trial.proportions import clopper_pearson_interval, wilson_interval


def test_seven_of_sixteen():  # handbook trial.md 4.3 (R 4.2.2)
    assert np.ravel(clopper_pearson_interval(7, 16)) == pytest.approx([0.197534, 0.701223], abs=5e-7)
    assert np.ravel(wilson_interval(7, 16)) == pytest.approx([0.230987, 0.668214], abs=5e-7)


def test_none_seen_has_an_upper_bound():
    # 1 - 0.05^(1/n) one-sided, 0.025 two-sided: handbook agronomy.md 2.5 and 4.
    assert clopper_pearson_interval(0, 12, one_sided=True)[1] == pytest.approx(0.2209, abs=5e-5)
    assert clopper_pearson_interval(0, 60, one_sided=True)[1] == pytest.approx(0.04870, abs=5e-6)
    assert clopper_pearson_interval(0, 60)[1] == pytest.approx(0.05963, abs=5e-6)
    assert np.ravel(clopper_pearson_interval(1, 100)) == pytest.approx([0.000253, 0.054459], abs=5e-7)
    assert np.ravel(clopper_pearson_interval(3, 60)) == pytest.approx([0.010432, 0.139243], abs=5e-7)


@given(st.integers(1, 60), st.data())
@settings(deadline=None)
def test_both_equal_scipy(pots, data):
    happened = data.draw(st.integers(0, pots))
    reference = stats.binomtest(happened, pots)
    for method, ours in (("exact", clopper_pearson_interval), ("wilson", wilson_interval)):
        expected = reference.proportion_ci(method=method)
        assert np.ravel(ours(happened, pots)) == pytest.approx([expected.low, expected.high], abs=1e-9)


def test_all_levels_at_once_and_impossible_counts():
    low, high = wilson_interval([0, 0, 1, 7], 16)
    assert low.shape == high.shape == (4,)
    assert (low[0], high[0] > 0) == (0.0, True)
    with pytest.raises(ValueError, match="between 0 and pots"):
        clopper_pearson_interval(5, 4)
