"""Exact tests on tables of counts."""

from itertools import product
from math import comb, factorial

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from wetfoot.trial.exact import exact_independence_p, exact_trend_p, trend_chi2

SPLIT = [0, 0, 1, 7]  # of 16 pots at 1 to 4 pieces: case A, invented data (handbook trial.md 4.3, R 4.2.2)


def test_case_a():
    assert exact_independence_p([[k, 16 - k] for k in SPLIT]) == pytest.approx(5.07879804e-04, rel=1e-8)
    assert exact_independence_p([[2, 30], [6, 26]]) == pytest.approx(0.25651862, abs=1e-8)
    chi2, p = trend_chi2(SPLIT, [16] * 4, [1, 2, 3, 4])
    assert chi2 == pytest.approx(13.82857143, abs=1e-8)
    assert p == pytest.approx(2.002676e-04, rel=1e-6)
    rise, fall, both = exact_trend_p(SPLIT, [16] * 4, [1, 2, 3, 4])
    assert rise == pytest.approx(4.426179e-05, rel=1e-6)
    assert both == pytest.approx(2 * 4.426179e-05, rel=1e-6)
    assert fall > 0.999


def test_the_tea_tasting_table():
    # Fisher 1935, The Design of Experiments, ch. 2 (from memory): 3 of 4 right, one-sided 17/70, two-sided 34/70.
    assert exact_independence_p([[3, 1], [1, 3]]) == pytest.approx(34 / 70, abs=1e-15)
    assert exact_trend_p([1, 3], [4, 4], [0, 1])[0] == pytest.approx(17 / 70, abs=1e-15)


def test_three_by_three_equals_listing_every_table():
    table = np.array([[3, 1, 0], [1, 2, 1], [0, 1, 4]])
    rows, columns = table.sum(axis=1), table.sum(axis=0)

    def chance(a):  # the law of a table with both margins fixed, up to a constant
        return 1 / np.prod([float(factorial(count)) for count in np.ravel(a)])

    found = []
    for a, b, c, d in product(range(6), repeat=4):
        whole = np.array([[a, b, rows[0] - a - b], [c, d, rows[1] - c - d], [0, 0, 0]])
        whole[2] = columns - whole[:2].sum(axis=0)
        if whole.min() >= 0 and (whole.sum(axis=1) == rows).all():
            found.append(chance(whole))
    expected = sum(p for p in found if p <= chance(table) * (1 + 1e-9)) / sum(found)
    assert exact_independence_p(table) == pytest.approx(expected, rel=1e-12)


def test_a_table_too_large_is_refused_within_seconds():
    with pytest.raises(ValueError, match="too large"):
        exact_independence_p([[21, 12, 31, 4], [23, 33, 16, 11], [10, 10, 14, 39], [16, 17, 12, 11]])


@given(st.lists(st.integers(0, 12), min_size=4, max_size=4))
@settings(deadline=None)
def test_two_by_two_equals_scipy(cells):
    a, b, c, d = cells
    if a + b and c + d and a + c and b + d:
        expected = stats.fisher_exact([[a, b], [c, d]]).pvalue
        assert exact_independence_p([[a, b], [c, d]]) == pytest.approx(expected, rel=1e-9)


@given(st.lists(st.tuples(st.integers(0, 3), st.integers(0, 3), st.integers(0, 2)), min_size=3, max_size=3))
@settings(deadline=None, max_examples=30)
def test_rows_and_columns_may_change_places(rows):
    table = np.array(rows)
    if table.sum():
        assert exact_independence_p(table) == pytest.approx(exact_independence_p(table.T), rel=1e-12)


@given(st.lists(st.integers(1, 4), min_size=3, max_size=4), st.data())
@settings(deadline=None, max_examples=40)
def test_trend_equals_listing_every_outcome(pots, data):
    # The multivariate hypergeometric law by brute force, unequal spacing as with 1, 2, 4 and 8 pieces.
    happened = [data.draw(st.integers(0, n)) for n in pots]
    scores = [1, 2, 4, 8][: len(pots)]
    seen, total = np.dot(scores, happened), sum(happened)
    ways = {True: 0, False: 0}
    for outcome in product(*[range(n + 1) for n in pots]):
        if sum(outcome) == total:
            ways[bool(np.dot(scores, outcome) >= seen)] += np.prod(
                [comb(n, k) for n, k in zip(pots, outcome, strict=True)]
            )
    assert exact_trend_p(happened, pots, scores)[0] == pytest.approx(ways[True] / sum(ways.values()), rel=1e-12)


def test_true_spacing_of_the_levels_counts():
    even, uneven = (exact_trend_p([0, 1, 1, 4], [8] * 4, scores)[0] for scores in ([1, 2, 3, 4], [1, 2, 4, 8]))
    assert even != uneven


def test_many_treatments_stay_quick():
    table = [[k, 4 - k] for k in (0, 1, 0, 2, 0, 0, 1, 3, 0, 0, 1, 2, 0, 1, 4, 3)]
    # Against the sampling of the same law (scipy, 9999 tables, standard error below 0.005).
    sampled = stats.fisher_exact(table, method=stats.MonteCarloMethod(rng=np.random.default_rng(1))).pvalue
    assert exact_independence_p(table) == pytest.approx(sampled, abs=0.02)


def test_nothing_happened():
    assert exact_independence_p([[0, 5], [0, 5]]) == 1.0
    assert trend_chi2([0, 0], [5, 5], [1, 2]) == (0.0, 1.0)
    assert exact_trend_p([0, 0], [5, 5], [1, 2]) == (1.0, 1.0, 1.0)


def test_refusals():
    with pytest.raises(ValueError, match="counts"):
        exact_independence_p([[0.5, 1], [1, 1]])
    with pytest.raises(ValueError, match="scores differ"):
        exact_trend_p([1, 2], [4, 4], [1, 1])
    with pytest.raises(ValueError, match="as long"):
        trend_chi2([1, 2], [4, 4], [1, 2, 3])
