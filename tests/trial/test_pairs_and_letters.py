"""The studentized range and letters.

Sources: the reference table that scipy ships for its own studentized range (computed with mpmath); quantiles of R
4.2.2; letters: the example in Gramm et al. 2007 (Computational Statistics & Data Analysis) and R's multcompView 0.1-8.
"""

import json
from pathlib import Path

import numpy as np
import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st

from wetfoot.trial.comparisons import letters, tukey_critical, tukey_p

REFERENCE = Path(scipy.stats.__file__).parent / "tests" / "data" / "studentized_range_mpmath_ref.json"


def test_studentized_range_against_high_precision():
    if not REFERENCE.exists():
        pytest.skip("this scipy comes without its test data")
    rows = json.loads(REFERENCE.read_text())["cdf_data"]
    assert len(rows) == 72
    for row in rows:
        case = row["src_case"]
        found = tukey_p(np.array([case["q"]]), case["k"], np.array([case["v"]]))[0]
        assert 1 - found == pytest.approx(row["mp_result"], abs=1e-9), case


@pytest.mark.parametrize(
    ("means", "df", "alpha", "q"),
    [
        (3, 10, 0.05, 3.876777),
        (4, 10, 0.05, 4.326582),
        (4, 42, 0.05, 3.782961),
        (5, 20, 0.05, 4.231857),
        (8, 42, 0.05, 4.509098),
        (16, 42, 0.05, 5.147455),
        (4, 10, 0.01, 5.768591),
    ],
)
def test_critical_values(means, df, alpha, q):
    assert tukey_critical(means, df, alpha) == pytest.approx(q, abs=2e-6)


@given(st.floats(0, 60), st.floats(1, 500))
def test_two_means_are_a_t_test(q, df):
    expected = 2 * scipy.stats.t.sf(q / np.sqrt(2), df)
    assert tukey_p(np.array([q]), 2, np.array([df]))[0] == pytest.approx(expected, abs=1e-12)


@given(st.floats(0.1, 25), st.integers(3, 8), st.floats(3, 100))
def test_adjusted_p_lies_between_one_pair_and_all_pairs_added(q, means, df):
    # Bonferroni from above, a single t test from below: so small tails keep their digits.
    one = 2 * scipy.stats.t.sf(q / np.sqrt(2), df)
    found = tukey_p(np.array([q]), means, np.array([df]))[0]
    assert one * (1 - 1e-6) <= found <= min(1, one * means * (means - 1) / 2) * (1 + 1e-6)


def test_few_degrees_of_freedom_go_to_the_adaptive_integral():
    found = tukey_p(np.array([4.0]), 3, np.array([2.0]))[0]
    assert found == pytest.approx(float(scipy.stats.studentized_range.sf(4.0, 3, 2.0)), abs=1e-9)


def test_a_fraction_of_a_degree_of_freedom_separates_nothing():
    assert tukey_critical(2, 0.05) == np.inf


def table(size, pairs):
    found = np.zeros((size, size), bool)
    for i, j in pairs:
        found[i, j] = found[j, i] = True
    return found


def test_five_means_in_order():
    assert letters([5, 4, 3, 2, 1], table(5, [(0, 3), (0, 4), (1, 4)])) == ("a", "ab", "abc", "bc", "c")


def test_example_of_gramm_and_others():
    # 1 ab, 2 a, 3 b, 4 abc, 5 c; which letter stands for which group is free, so groups are compared
    found = letters([5, 4, 3, 2, 1], table(5, [(0, 4), (1, 2), (1, 4), (2, 4)]))
    groups = {frozenset(i + 1 for i, text in enumerate(found) if letter in text) for letter in "abc"}
    assert groups == {frozenset({1, 2, 4}), frozenset({1, 3, 4}), frozenset({4, 5})}


@given(st.integers(2, 9).flatmap(lambda k: st.tuples(st.just(k), st.sets(st.tuples(*[st.integers(0, k - 1)] * 2)))))
def test_two_means_share_a_letter_exactly_if_not_different(case):
    size, pairs = case
    differ = table(size, [(i, j) for i, j in pairs if i != j])
    found = letters(list(range(size)), differ)
    for i in range(size):
        for j in range(i):
            assert bool(set(found[i]) & set(found[j])) == (not differ[i, j])


def test_largest_mean_has_the_letter_a():
    assert letters([1.0, 9.0], table(2, [(0, 1)])) == ("b", "a")


def test_bad_tables_are_refused():
    with pytest.raises(ValueError, match="symmetric"):
        letters([1.0, 2.0], np.array([[False, True], [False, False]]))
    with pytest.raises(ValueError, match="at least two means"):
        tukey_p(np.array([1.0]), 1, np.array([5.0]))
