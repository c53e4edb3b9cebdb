"""The documented stream: the handbook's vectors, and uniformity."""

import hashlib

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from wetfoot.trial.random_stream import RandomStream


def test_words_are_those_of_the_handbook():
    # trial handbook 7.1, seed "ginger-2024"
    stream = RandomStream("ginger-2024")
    assert [stream.word() for _ in range(3)] == [1575747502, 2944904324, 3449089086]


def test_words_are_the_digests_of_seed_and_counter():
    # hashlib's SHA-256 itself (FIPS 180-4)
    stream = RandomStream("a seed")
    words = b"".join(stream.word().to_bytes(4, "big") for _ in range(20))
    digests = b"".join(hashlib.sha256(f"a seed|{counter}".encode()).digest() for counter in range(3))
    assert words == digests[:80]


def test_first_shuffles_are_those_of_the_handbook():
    # trial handbook 7.1: "first two shuffles of 0..7 (fresh stream)"
    stream = RandomStream("ginger-2024")
    assert stream.shuffled(range(8)) == [3, 4, 1, 2, 7, 0, 5, 6]
    assert stream.shuffled(range(8)) == [0, 7, 5, 6, 4, 1, 3, 2]


def test_every_place_is_equally_likely_for_the_first():
    # chi-square of scipy; limits are its 0.1 and 99.9 % points, the seeds are fixed
    counts = [[0] * 5 for _ in range(5)]
    for seed in range(3000):
        for place, each in enumerate(RandomStream(f"{seed}").shuffled(range(5))):
            counts[each][place] += 1
    x2 = sum((count - 600) ** 2 / 600 for row in counts for count in row)
    assert stats.chi2.ppf(0.001, 16) < x2 < stats.chi2.ppf(0.999, 16)


@given(st.text(), st.lists(st.integers(), max_size=20))
def test_a_shuffle_keeps_the_items_and_comes_again(seed, items):
    mixed = RandomStream(seed).shuffled(items)
    assert sorted(mixed) == sorted(items)
    assert RandomStream(seed).shuffled(items) == mixed


@given(st.text(), st.integers(1, 2**32))
def test_a_number_stays_below(seed, n):
    assert 0 <= RandomStream(seed).below(n) < n


@pytest.mark.parametrize("n", [0, -1, 2**32 + 1])
def test_a_number_below_nothing_is_refused(n):
    with pytest.raises(ValueError, match=f"n = {n}"):
        RandomStream("s").below(n)
