"""Run lengths of the charts against the published tables."""

from __future__ import annotations

import numpy as np
import pytest

from wetfoot.season.drawdown import cusum, ewma
from wetfoot.season.run_lengths import cusum_run_length, ewma_run_length

# Montgomery, Introduction to Statistical Quality Control, table of ARL of the tabular CUSUM with k = 1/2 (project
# handbook, hydraulics 4, for 168, 465, 8.38 and 10.4; the others from memory).
CUSUM_TABLE = [
    (4.0, 0.0, 168.0),
    (4.0, 0.25, 74.2),
    (4.0, 0.5, 26.6),
    (4.0, 1.0, 8.38),
    (4.0, 2.0, 3.34),
    (4.0, 3.0, 2.19),
    (5.0, 0.0, 465.0),
    (5.0, 0.5, 38.0),
    (5.0, 1.0, 10.4),
    (5.0, 2.0, 4.01),
    (5.0, 3.0, 2.57),
]
# Lucas & Saccucci 1990, Technometrics 32, table 3 (500 from the project handbook, the others from memory).
EWMA_TABLE = [(0.0, 500.0), (0.25, 150.0), (0.5, 41.8), (0.75, 18.2), (1.0, 10.5), (1.5, 5.5), (2.0, 3.7)]


@pytest.mark.parametrize(("h", "shift", "printed"), CUSUM_TABLE)
def test_run_length_of_the_cusum_is_the_printed_one(h: float, shift: float, printed: float) -> None:
    assert cusum_run_length(0.5, h, shift) == pytest.approx(printed, rel=0.003)


@pytest.mark.parametrize(("shift", "printed"), EWMA_TABLE)
def test_run_length_of_the_ewma_is_the_printed_one(shift: float, printed: float) -> None:
    assert ewma_run_length(0.2, 2.962, shift) == pytest.approx(printed, rel=0.015)


def test_an_ewma_of_weight_one_is_a_shewhart_chart() -> None:
    # two tails of the normal beyond 3: 0.0026998 (Abramowitz & Stegun, table 26.1), one in 370.4
    assert ewma_run_length(1.0, 3.0) == pytest.approx(370.4, rel=1e-4)


def test_run_length_of_the_cusum_by_brook_and_evans_markov_chain() -> None:
    # their own discretisation (Biometrika 59, 1972), with more and more states: error of order 1/states squared
    lengths = [_markov_chain(0.5, 4.0, states) for states in (40, 80)]
    extrapolated = lengths[1] + (lengths[1] - lengths[0]) / 3.0
    assert cusum_run_length(0.5, 4.0) == pytest.approx(extrapolated / 2.0, rel=1e-3)


def _markov_chain(k: float, h: float, states: int) -> float:
    from scipy.stats import norm

    width = 2.0 * h / (2.0 * states - 1.0)
    at = np.arange(states)
    edges = (at[None, :] - at[:, None]) * width + k
    chain = norm.cdf(edges + width / 2.0) - norm.cdf(edges - width / 2.0)
    chain[:, 0] = norm.cdf(edges[:, 0] + width / 2.0)
    return float(np.linalg.solve(np.eye(states) - chain, np.ones(states))[0])


def test_charts_signal_as_often_as_their_run_lengths_say() -> None:
    random = np.random.default_rng(3)
    series = random.normal(size=(500, 1500))
    chart_runs = [_first(np.maximum(*cusum(row[:1000])) > 4.0) for row in series]
    # run lengths scatter like their mean, nearly: three standard errors of 500 runs are 13 %
    assert np.mean(chart_runs) == pytest.approx(cusum_run_length(0.5, 4.0), rel=0.14)
    shifted = [_first(np.abs(ewma(row[:200] + 1.0)) > 2.962) for row in series]
    assert np.mean(shifted) == pytest.approx(ewma_run_length(0.2, 2.962, 1.0), rel=0.1)


def _first(signals: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> int:
    return int(np.argmax(signals)) + 1 if signals.any() else len(signals)


@pytest.mark.parametrize(("k", "h"), [(-0.1, 4.0), (0.5, 0.0), (0.5, float("nan"))])
def test_constants_of_the_cusum_that_cannot_be_are_refused(k: float, h: float) -> None:
    with pytest.raises(ValueError, match="k must be"):
        cusum_run_length(k, h)


@pytest.mark.parametrize(("weight", "width"), [(0.0, 3.0), (1.1, 3.0), (0.2, 0.0)])
def test_constants_of_the_ewma_that_cannot_be_are_refused(weight: float, width: float) -> None:
    with pytest.raises(ValueError, match="weight must be"):
        ewma_run_length(weight, width)
