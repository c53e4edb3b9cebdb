"""Bank size and the dip against computed tables of the project handbook and a finite difference of its own."""

from __future__ import annotations

import math

import numpy as np
import pytest

from wetfoot.stock.bank_size import cheapest_bank, pots_lost
from wetfoot.stock.dip import Z_C, bath_after_loading_c, dip, minutes_needed, temperature_c


@pytest.mark.parametrize(
    ("infected", "expected"),
    [
        (0.0005, (0.090, 0.448, 0.894, 1.774, 5.165)),
        (0.001, (0.180, 0.894, 1.774, 3.496, 9.888)),
        (0.005, (0.896, 4.346, 8.377, 15.584, 35.661)),
        (0.01, (1.782, 8.396, 15.618, 27.171, 50.172)),
    ],
)
def test_sixty_pots_in_banks_of_one_to_sixty(infected: float, expected: tuple[float, ...]) -> None:
    # expected losses computed in the project handbook, 60 pots with 3 pieces each
    for size, lost in zip((1, 5, 10, 20, 60), expected, strict=True):
        assert pots_lost([size] * (60 // size), 3, infected).expected == pytest.approx(lost, abs=6e-4)


def test_the_spread_of_losses_grows_with_the_bank() -> None:
    found = [pots_lost([size] * (60 // size), 3, 0.001).sd for size in (1, 5, 10, 20, 60)]
    assert found == pytest.approx([0.42, 2.10, 4.15, 8.11, 22.26], abs=6e-3)


@pytest.mark.parametrize(("infected", "pots"), [(0.001, 9), (0.005, 4), (0.01, 3)])
def test_the_cheapest_bank(infected: float, pots: int) -> None:
    assert cheapest_bank(3, infected, 15.0, 60.0) == pots
    assert pots == pytest.approx(math.sqrt(15.0 / (3 * infected * 60.0)), abs=0.6)  # the closed form near it


@pytest.mark.parametrize(
    ("radius_mm", "core_c", "dose", "core_min", "depth_min"),
    [(10, 49.69, 5.10, 11.29, 10.47), (12.5, 48.21, 0.44, 15.77, 13.81), (15, 45.38, 0.01, 21.00, 17.34),
     (20, 38.15, 0.00, 33.57, 24.64)],
)  # fmt: skip
def test_the_dip_by_size_of_piece(
    radius_mm: float, core_c: float, dose: float, core_min: float, depth_min: float
) -> None:
    # series solution computed in the project handbook: bath 50 C, pieces 25 C, 10 minutes
    found = dip(radius_mm / 1000.0, 10.0)
    assert found.temperature_c == pytest.approx(core_c, abs=6e-3)
    assert found.lethality_min == pytest.approx(dose, abs=6e-3)
    assert minutes_needed(radius_mm / 1000.0) == pytest.approx(core_min, abs=0.02)
    assert minutes_needed(radius_mm / 1000.0, depth_m=0.005) == pytest.approx(depth_min, abs=0.02)


def test_the_series_agrees_with_finite_differences() -> None:
    """A reference of its own: explicit heat conduction on rings, no series in it."""
    radius, diffusivity, cells = 0.0125, 1.4e-7, 200
    dr = radius / cells
    centres, faces = (np.arange(cells) + 0.5) * dr, np.arange(cells + 1) * dr
    dt = 0.2 * dr**2 / diffusivity
    heat = np.full(cells, 25.0)
    for _ in range(round(300.0 / dt)):
        gradient = np.zeros(cells + 1)
        gradient[1:-1] = np.diff(heat) / dr
        gradient[-1] = (50.0 - heat[-1]) / (dr / 2.0)
        heat = heat + dt * diffusivity * np.diff(faces * gradient) / (centres * dr)
    assert heat[0] == pytest.approx(float(temperature_c(radius, 5.0, 50.0, 25.0)), abs=0.02)


def test_a_load_cools_the_bath() -> None:
    for filled, cooled in ((0.05, 48.74), (0.10, 47.49), (0.12, 46.99), (0.20, 44.98)):
        assert bath_after_loading_c(50.0, 25.0, filled) == pytest.approx(cooled, abs=6e-3)


def test_the_death_times_give_z() -> None:
    assert pytest.approx(1.952, abs=6e-4) == Z_C  # 27.0 min at 48 C, 8.3 min at 49 C


def test_a_bath_that_is_too_cool_never_kills() -> None:
    assert minutes_needed(0.02, bath_c=40.0) == math.inf
