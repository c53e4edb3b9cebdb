"""A cylinder that cools by convection, against its series solution.

The numbers are the project's handbook table (series solution of the unsteady cylinder with convection, as in
Carslaw & Jaeger 1959, Conduction of Heat in Solids, 7.7, and in textbooks of heat transfer); the first test
computes the same series again, so that a wrong digit of the table would show.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.special import j0, j1

from wetfoot.climate.ring_conduction import Substance, march

# Biot number, Fourier number, and (T - Toutside) / (Tstart - Toutside) at the centre, half radius and surface
TABLE = [
    (1.0, 0.2, 0.8701742, 0.7938029, 0.5702277),
    (1.0, 0.5, 0.5485862, 0.4958839, 0.3527858),
    (5.0, 0.1, 0.9264859, 0.7734884, 0.2557484),
    (5.0, 0.3, 0.4571904, 0.3516186, 0.1055518),
    (10.0, 0.2, 0.6002323, 0.4395405, 0.0748439),
]
RADIUS, MEDIUM = 0.16, Substance(0.5, 3.0e6)


def series(biot: float, fourier: float, share: float) -> float:
    """Return the dimensionless temperature at a share of the radius."""

    def condition(x: float) -> float:
        return float(x * j1(x) - biot * j0(x))

    grid = np.linspace(1e-6, 60.0, 6001)
    signs = np.sign([condition(x) for x in grid])
    roots = [brentq(condition, grid[i], grid[i + 1], xtol=1e-14) for i in np.flatnonzero(np.diff(signs))]
    terms = [2 / x * j1(x) / (j0(x) ** 2 + j1(x) ** 2) * np.exp(-(x**2) * fourier) * j0(x * share) for x in roots]
    return float(np.sum(terms))


def computed(biot: float, fourier: float, rings: int) -> np.ndarray:
    """Return centre, half radius and surface from the solver, with steps in proportion to the rings."""
    steps = rings
    k, c = MEDIUM
    step_s = fourier * RADIUS**2 * c / k / steps
    outside, conductance = np.zeros((steps, 4)), np.full(steps, biot * k / RADIUS)
    at = {depth: march(1.0, outside, conductance, step_s, RADIUS, MEDIUM, depth, rings) for depth in (0.0, RADIUS / 2)}
    return np.array([at[0.0].centre_c[-1], at[RADIUS / 2].near_wall_c[-1, 0], at[0.0].near_wall_c[-1, 0]], dtype=float)


@pytest.mark.parametrize(("biot", "fourier", "centre", "half", "surface"), TABLE)
def test_table_is_the_series(biot: float, fourier: float, centre: float, half: float, surface: float) -> None:
    again = [series(biot, fourier, share) for share in (0.0, 0.5, 1.0)]
    assert again == pytest.approx([centre, half, surface], abs=6e-8)


@pytest.mark.parametrize(("biot", "fourier", "centre", "half", "surface"), TABLE)
def test_solver_meets_the_table(biot: float, fourier: float, centre: float, half: float, surface: float) -> None:
    assert computed(biot, fourier, 128) == pytest.approx([centre, half, surface], abs=3e-5)


@pytest.mark.parametrize(("biot", "fourier", "centre", "half", "surface"), TABLE)
def test_error_falls_with_the_square_of_the_ring(
    biot: float, fourier: float, centre: float, half: float, surface: float
) -> None:
    exact = np.array([series(biot, fourier, share) for share in (0.0, 0.5, 1.0)])
    coarse, fine, finest = (np.abs(computed(biot, fourier, n) - exact) for n in (64, 128, 256))
    assert np.log2(coarse / fine) == pytest.approx(2.0, abs=0.15)
    assert np.log2(fine / finest) == pytest.approx(2.0, abs=0.1)


@pytest.mark.parametrize(("biot", "fourier", "centre", "half", "surface"), TABLE)
def test_extrapolated_solver_gives_the_digits_of_the_table(
    biot: float, fourier: float, centre: float, half: float, surface: float
) -> None:
    """Richardson's extrapolation of two grids reaches what a second-order method promises."""
    fine, finest = computed(biot, fourier, 128), computed(biot, fourier, 256)
    assert finest + (finest - fine) / 3.0 == pytest.approx([centre, half, surface], abs=3e-7)
