"""Pots drawn by lot: the same seed draws the same ones, every pot equally often."""

import csv
from importlib.resources import files
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.random import PCG64
from scipy.stats import chi2, chisquare

from wetfoot.stock.random_pots import drawn

POTS = [f"East {number}" for number in range(1, 31)]
DRAWS = 1200


def test_the_stream_is_the_one_numpy_publishes() -> None:
    # numpy's own published vectors of PCG64 (numpy/random/tests/data/pcg64-testset-1.csv): seed, then 1000 words
    text = (files("numpy.random") / "tests" / "data" / "pcg64-testset-1.csv").read_text("utf-8")
    rows = [[cell.strip() for cell in row] for row in csv.reader(text.splitlines())]
    stream = PCG64(int(rows[0][1], 16))
    assert [int(row[1], 16) for row in rows[1:]] == [int(stream.random_raw()) for _ in rows[1:]]


@given(st.integers(0, 30), st.text(max_size=20))
def test_as_many_different_ones_as_asked_for_and_the_same_again(count: int, seed: str) -> None:
    found = drawn(POTS, count, seed)
    assert len(set(found)) == len(found) == count
    assert set(found) <= set(POTS)
    assert drawn(POTS, count, seed) == found
    assert drawn(POTS, min(30, count + 1), seed)[:count] == found  # one more pot leaves the others as they are


def test_every_pot_is_drawn_equally_often() -> None:
    # units drawn without putting back: sum (O - E)^2 / (R f (1 - f)) (N - 1) / N is chi-square with N - 1 degrees
    units, size = len(POTS), 21
    counts = dict.fromkeys(POTS, 0)
    for number in range(DRAWS):
        for pot in drawn(POTS, size, f"invented {number}"):
            counts[pot] += 1
    share = size / units
    spread = sum((count - DRAWS * share) ** 2 for count in counts.values()) / (DRAWS * share * (1 - share))
    assert 0.001 < chi2.sf(spread * (units - 1) / units, units - 1) < 0.999


def test_every_choice_and_every_order_is_equally_likely() -> None:
    pots = POTS[:5]
    found = [tuple(drawn(pots, 3, f"invented {number}")) for number in range(DRAWS)]
    choices = {choice: 0 for choice in combinations(pots, 3)}
    for each in found:
        choices[tuple(sorted(each))] += 1
    assert chisquare(list(choices.values())).pvalue > 0.001
    _, firsts = np.unique([each[0] for each in found], return_counts=True)
    assert chisquare(firsts).pvalue > 0.001


@pytest.mark.parametrize("count", [-1, 31])
def test_no_more_than_there_are(count: int) -> None:
    with pytest.raises(ValueError, match="count"):
        drawn(POTS, count, "x")
