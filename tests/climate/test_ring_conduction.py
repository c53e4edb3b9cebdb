"""Conduction by radius and angle, against exact solutions and the balance of heat."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.linalg import expm
from scipy.special import iv, ivp

from wetfoot.climate.ring_conduction import Substance, march

RADIUS, MEDIUM = 0.16, Substance(0.5, 3.0e6)
Array = NDArray[np.float64]


def facing(sectors: int) -> Array:
    return np.arange(sectors) * 2.0 * np.pi / sectors


@pytest.mark.parametrize("harmonic", [1, 2, 3])
def test_steady_warmth_on_one_side_falls_with_a_power_of_the_radius(harmonic: int) -> None:
    """Separation of variables: (r/R)^m U R / (U R + k m) at rest (Carslaw & Jaeger 1959, 6.3)."""
    outside = np.tile(np.cos(harmonic * facing(72)), (400, 1))
    depth = 0.03
    found = march(0.0, outside, np.full(400, 12.0), 7200.0, RADIUS, MEDIUM, depth, 64)
    k = MEDIUM.conductivity_w_mk
    exact = (1 - depth / RADIUS) ** harmonic * 12.0 * RADIUS / (12.0 * RADIUS + k * harmonic)
    assert found.near_wall_c[-1] == pytest.approx(exact * outside[0], abs=1e-3)
    assert found.centre_c[-1] == pytest.approx(0.0, abs=1e-12)


def daily_wave_error(harmonic: int, rings: int) -> float:
    """Return the error of a daily wave that runs round or through the pot, after it has settled."""
    per_day, days, omega, conductance, depth = rings * 3, 12, 2 * np.pi / 86400.0, 12.0, 0.02
    step = 86400.0 / per_day
    middle = (np.arange(days * per_day) + 0.5) * step
    round_pot = np.cos(harmonic * facing(144))
    outside = np.outer(np.cos(omega * middle), round_pot)
    found = march(0.0, outside, np.full(len(middle), conductance), step, RADIUS, MEDIUM, depth, rings)
    k, c = MEDIUM
    root = np.sqrt(1j * omega * c / k)
    at_wall = k * root * ivp(harmonic, root * RADIUS) / iv(harmonic, root * RADIUS)
    amplitude = iv(harmonic, root * (RADIUS - depth)) / iv(harmonic, root * RADIUS) / (1.0 + at_wall / conductance)
    ends = middle[-per_day:] + step / 2.0
    exact = np.outer((amplitude * np.exp(1j * omega * ends)).real, round_pot)
    return float(np.abs(found.near_wall_c[-per_day:] - exact).max())


@pytest.mark.parametrize("harmonic", [0, 1, 2])
def test_daily_wave_is_the_bessel_solution_to_second_order(harmonic: int) -> None:
    """Periodic heating of a cylinder: modified Bessel functions of a complex argument (Carslaw & Jaeger 1959, 7.3)."""
    coarse, fine = daily_wave_error(harmonic, 32), daily_wave_error(harmonic, 64)
    assert fine < 3e-4
    assert np.log2(coarse / fine) == pytest.approx(2.0, abs=0.25)


def exact_in_time(start: Array, outside: Array, conductance: float, duration_s: float, medium: Substance) -> Array:
    """Return the temperatures of rings and sectors by the matrix exponential of the plain two-dimensional balance."""
    rings, sectors = start.shape
    dr, angle, n = RADIUS / rings, 2 * np.pi / sectors, start.size
    k, c = medium
    index = np.arange(n).reshape(rings, sectors)
    rate, gain = np.zeros((n, n)), np.zeros(n)

    def join(a: int, b: int, conductor: float) -> None:
        for here, there in ((a, b), (b, a)):
            rate[here, here] -= conductor
            rate[here, there] += conductor

    film = RADIUS * angle / (1.0 / conductance + dr / 2 / k)
    for i in range(rings):
        for j in range(sectors):
            join(index[i, j], index[i, (j + 1) % sectors], k * dr / ((i + 0.5) * dr * angle))
            if i < rings - 1:
                join(index[i, j], index[i + 1, j], k * (i + 1) * dr * angle / dr)
            else:
                rate[index[i, j], index[i, j]] -= film
                gain[index[i, j]] = film * outside[j]
    storage = c * ((np.arange(rings) + 0.5) * dr * dr * angle).repeat(sectors)
    rest = np.linalg.solve(rate, -gain)
    return (rest + expm(rate / storage[:, None] * duration_s) @ (start.ravel() - rest)).reshape(rings, sectors)


def test_steps_converge_to_the_plain_two_dimensional_balance() -> None:
    random = np.random.default_rng(7)
    start, outside = random.uniform(10, 40, (6, 8)), random.uniform(20, 80, 8)
    exact = exact_in_time(start, outside, 9.0, 20_000.0, MEDIUM)

    def error(steps: int) -> float:
        held = np.tile(outside, (steps, 1))
        found = march(start, held, np.full(steps, 9.0), 20_000.0 / steps, RADIUS, MEDIUM, rings=6)
        return float(np.abs(found.last_c - exact).max())

    assert error(400) < 1e-3
    assert np.log2(error(100) / error(200)) == pytest.approx(2.0, abs=0.2)


@settings(max_examples=60, deadline=None)
@given(
    seed=st.integers(0, 2**31),
    step_s=st.floats(1.0, 1e6),
    radius_m=st.floats(0.02, 1.0),
    k=st.floats(0.05, 3.0),
    c=st.floats(1e5, 5e6),
    sectors=st.integers(1, 12),
)
def test_heat_that_came_in_is_heat_that_is_there(
    seed: int, step_s: float, radius_m: float, k: float, c: float, sectors: int
) -> None:
    random = np.random.default_rng(seed)
    outside, conductance = random.uniform(-20, 90, (30, sectors)), random.uniform(0, 60, 30)
    start = random.uniform(0, 40, (8, sectors))
    found = march(start, outside, conductance, step_s, radius_m, Substance(k, c), radius_m / 4, 8)
    scale = np.abs(found.stored_j_m).max()
    assert np.abs(np.diff(found.stored_j_m) - found.gained_j_m).max() <= 1e-9 * scale


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 2**31), step_s=st.floats(1.0, 1e7))
def test_any_step_is_stable_and_ends_at_the_air(seed: int, step_s: float) -> None:
    start = np.random.default_rng(seed).uniform(0, 60, (16, 8))
    steps = 60 if step_s > 1e5 else 1
    found = march(start, np.full((steps, 8), 20.0), np.full(steps, 12.0), step_s, RADIUS, MEDIUM, rings=16)
    assert np.abs(found.last_c - 20.0).max() <= 40.0 + 1e-9
    if steps > 1:
        assert found.last_c == pytest.approx(20.0, abs=1e-3)


def test_insulated_pot_keeps_its_heat() -> None:
    found = march(25.0, np.full((50, 6), 90.0), np.zeros(50), 3600.0, RADIUS, MEDIUM)
    assert found.last_c == pytest.approx(25.0, abs=1e-9)
    assert np.all(found.gained_j_m == 0.0)


@pytest.mark.parametrize(
    ("change", "named"),
    [
        ({"radius_m": 0.0}, "radius_m"),
        ({"step_s": float("nan")}, "step_s"),
        ({"medium": Substance(0.0, 3e6)}, "conductivity_w_mk"),
        ({"medium": Substance(0.5, -1.0)}, "heat_capacity_j_m3k"),
        ({"depth_m": 0.2}, "depth_m"),
        ({"rings": 1}, "rings"),
        ({"outside_c": np.full((3, 4), np.nan)}, "outside_c"),
        ({"conductance_w_m2k": np.full(2, 5.0)}, "conductance_w_m2k"),
        ({"conductance_w_m2k": np.full(3, -5.0)}, "conductance_w_m2k"),
    ],
)
def test_impossible_arguments_are_named(change: dict[str, object], named: str) -> None:
    arguments: dict[str, object] = {
        "start_c": 20.0,
        "outside_c": np.full((3, 4), 20.0),
        "conductance_w_m2k": np.full(3, 5.0),
        "step_s": 900.0,
        "radius_m": RADIUS,
        "medium": MEDIUM,
    }
    with pytest.raises(ValueError, match=named):
        march(**(arguments | change))  # type: ignore[arg-type]
