"""Squares: each treatment once a row and column; neighbours balanced (definitions of Latin and Williams squares)."""

from collections import Counter
from itertools import pairwise, permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetfoot.trial.random_stream import RandomStream
from wetfoot.trial.squares import cyclic_square, neighbour_rows, random_latin_rows, random_neighbour_rows

orders = st.integers(2, 14)


def is_latin(rows):
    n = len(rows[0])
    lines = [*rows, *(list(column) for column in zip(*rows, strict=True))]
    return all(sorted(line) == list(range(n)) for line in lines)


def neighbours(rows):
    return Counter(pair for row in rows for pair in pairwise(row))


def test_the_first_row_for_eight_is_that_of_the_handbook():
    # trial handbook 7.2 c: first row 0 1 7 2 6 3 5 4, row i adds i mod 8, 56 pairs once each
    rows = neighbour_rows(8)
    assert rows[0] == [0, 1, 7, 2, 6, 3, 5, 4]
    assert rows[3] == [(each + 3) % 8 for each in rows[0]]
    assert neighbours(rows) == dict.fromkeys(permutations(range(8), 2), 1)


@given(orders)
def test_neighbours_are_balanced_and_columns_latin(n):
    # Williams 1949: one square for even n (each ordered pair once), two for odd n (each twice)
    rows = neighbour_rows(n)
    assert neighbours(rows) == dict.fromkeys(permutations(range(n), 2), 1 + n % 2)
    assert all(is_latin(rows[start : start + n]) for start in range(0, len(rows), n))


@given(orders, st.text())
def test_randomising_keeps_what_the_squares_are_for(n, seed):
    latin = random_latin_rows(n, RandomStream(seed))
    assert is_latin(latin)
    rows = random_neighbour_rows(n, RandomStream(seed))
    assert neighbours(rows) == dict.fromkeys(permutations(range(n), 2), 1 + n % 2)
    for column in zip(*rows, strict=True):
        assert set(Counter(column).values()) == {1 + n % 2}


def test_every_latin_square_of_order_three_can_come_out():
    # there are 12 Latin squares of order 3 (a known count), all of them shuffles of the cyclic one
    seen = {str(random_latin_rows(3, RandomStream(f"{seed}"))) for seed in range(300)}
    assert len(seen) == 12


def test_a_square_of_one_is_refused():
    for made in (cyclic_square, neighbour_rows):
        with pytest.raises(ValueError, match="n = 1"):
            made(1)
