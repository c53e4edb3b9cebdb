"""Split pots are counted and weighed; leaving them out moves the means (trap 8 of the handbook, trial.md 11)."""

import math

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from wetfoot.trial.split_pots import split_pots


def test_case_a_shows_both_means(request):
    # Means of all 16 pots: R 4.2.2, EMM of pieces; splits 0, 0, 1, 7 (handbook trial.md 4.1, 4.3; invented data).
    pots = pd.read_csv(request.path.parent / "data" / "trial_case_A.csv")
    found = split_pots(pots["pieces"], pots["split"], pots["w_complete"])
    assert [part.split for part in found.levels] == [0, 0, 1, 7]
    means = [part.mean_all_g for part in found.levels]
    assert means == pytest.approx([1348.6875, 1919.4375, 2020.2500, 2165.3750])
    assert found.levels[0].shift_g == 0.0
    assert found.levels[3].shift_g < -50  # four pieces look poorer without the pots that they split
    assert "8 of 64 pots split; 8 of them were weighed" in found.words
    assert f"mean at 4 would move by {found.levels[3].shift_g:+.0f} g" in found.words


def test_the_bias_is_that_of_a_truncated_normal():
    # Pots above c split: mean of the rest is mu - sd phi(z) / Phi(z), z = (c - mu) / sd (Johnson & Kotz, from memory).
    mu, sd, limit = 2200.0, 300.0, 2400.0
    weight = np.random.default_rng(8).normal(mu, sd, 40000)
    part = split_pots(np.full(40000, 4), weight > limit, weight).levels[0]
    z = (limit - mu) / sd
    assert part.shift_g == pytest.approx(-sd * stats.norm.pdf(z) / stats.norm.cdf(z), abs=6.0)
    assert part.mean_all_g == pytest.approx(mu, abs=6.0)


def test_lost_split_pots_are_counted_and_said():
    found = split_pots([4, 4, 4, 1], [1, 1, 0, 0], [math.nan, 2500, 2000, 1300])
    one, four = found.levels
    assert (four.pots, four.split, four.split_weighed, four.split_lost) == (3, 2, 1, 1)
    assert (four.mean_all_g, four.mean_without_split_g) == (2250, 2000)
    assert one.split == 0
    assert "1 split without a weight (at 4)" in found.words
    assert "no analysis mends that" in found.words


def test_a_level_that_split_altogether_has_no_mean_without():
    part = split_pots([4, 4], [1, 1], [2500, 2400]).levels[0]
    assert part.mean_all_g == 2450
    assert math.isnan(part.mean_without_split_g)


def test_no_split_and_refusal():
    assert split_pots([1, 2], [0, 0], [1000, 1500]).words == "No pot split."
    with pytest.raises(ValueError, match="0 or 1"):
        split_pots([1, 2], [0, 2], [1000, 1500])
