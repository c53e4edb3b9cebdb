"""Heat conduction in a round section of medium, by radius and angle, heated unevenly from its wall.

Rings of equal thickness are cut into equal sectors (finite volumes). The film and the wall conduct alike all
round, only the temperature outside differs by direction, so a Fourier transform over the sectors turns the
two-dimensional problem into one tridiagonal system per harmonic: an exact implicit solution of every step.

The steps are TR-BDF2 (Bank et al. 1985, IEEE Trans. Electron Devices 32:1992; Hosea & Shampine 1996, Appl.
Numer. Math. 20:21): second order, stable and damping for any step, and conservative.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numba import njit
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

# TR-BDF2: where the first stage ends, and the weights of the three rates in a step
STAGE = 2.0 - np.sqrt(2.0)
EARLY = np.sqrt(2.0) / 4.0
LATE = STAGE / 2.0


class Substance(NamedTuple):
    """What conducts and stores heat: conductivity and heat capacity by volume."""

    conductivity_w_mk: float
    heat_capacity_j_m3k: float


class RingHistory(NamedTuple):
    """What came of a march through time, per metre of height of the section.

    Attributes:
        near_wall_c: at the wanted depth at the end of each step; (steps, sectors).
        centre_c: at the centre at the end of each step; (steps,).
        stored_j_m: heat held above 0 deg C, at the start and at the end of each step; (steps + 1,).
        gained_j_m: heat that came in through the wall during each step; (steps,).
        last_c: all rings from the centre outwards, at the end; (rings, sectors).
    """

    near_wall_c: Array
    centre_c: Array
    stored_j_m: Array
    gained_j_m: Array
    last_c: Array


class _Grid(NamedTuple):
    """Per radian: storage of each ring, conductance to the next, and to its neighbours by part of the harmonics."""

    storage: Array
    radial: Array
    around: Array
    half_ring_m2k_w: float
    radius_m: float


def march(
    start_c: ArrayLike,
    outside_c: ArrayLike,
    conductance_w_m2k: ArrayLike,
    step_s: float,
    radius_m: float,
    medium: Substance,
    depth_m: float = 0.01,
    rings: int = 32,
) -> RingHistory:
    """Return the temperatures of a round section through time.

    Args:
        start_c: temperature at the start, deg C; one for all or (rings, sectors).
        outside_c: temperature outside (the sol-air temperature), held during each step; (steps, sectors).
            Sectors have equal angles.
        conductance_w_m2k: from the outside to the surface of the medium, held during each step, per area of
            that surface; (steps,).
        step_s: length of a step, s.
        radius_m: of the medium, m.
        medium: conductivity and heat capacity.
        depth_m: inside the surface of the medium, at which temperatures are wanted, m.
        rings: number of rings.

    Raises:
        ValueError: if an argument is not finite or not positive where it must be, or shapes do not fit.
    """
    outside, conductance = np.asarray(outside_c, dtype=float), np.asarray(conductance_w_m2k, dtype=float)
    _check(outside, conductance, step_s, radius_m, medium, depth_m, rings)
    sectors = outside.shape[1]
    start = np.broadcast_to(np.asarray(start_c, dtype=float), (rings, sectors))
    grid = _grid(radius_m, medium, rings, sectors)
    field, waves = _to_harmonics(start), _to_harmonics(outside)
    near, sums = np.zeros(waves.shape), np.zeros((len(outside), 3))
    before = float(np.sum(grid.storage * field[:, 0]))
    _march(field, waves, conductance, step_s, grid, _probe(depth_m, radius_m, rings), near, sums)
    per_sector = 2.0 * np.pi / sectors
    return RingHistory(
        _to_sectors(near, sectors),
        sums[:, 0] / sectors,
        np.concatenate([[before], sums[:, 1]]) * per_sector,
        sums[:, 2] * per_sector,
        _to_sectors(field, sectors),
    )


def _to_harmonics(by_sector: Array) -> Array:
    """Return the cosine parts, then the sine parts, of all harmonics round each row."""
    waves = np.fft.rfft(by_sector, axis=1)
    return np.concatenate([waves.real, waves.imag], axis=1)


def _to_sectors(harmonics: Array, sectors: int) -> Array:
    cosines, sines = np.split(harmonics, 2, axis=1)
    return np.fft.irfft(cosines + 1j * sines, n=sectors, axis=1)


def _check(
    outside: Array, conductance: Array, step_s: float, radius_m: float, medium: Substance, depth_m: float, rings: int
) -> None:
    if outside.ndim != 2 or not np.all(np.isfinite(outside)):
        raise ValueError(f"outside_c must be finite, of shape (steps, sectors), not of shape {outside.shape}")
    if conductance.shape != outside.shape[:1] or not np.all(np.isfinite(conductance) & (conductance >= 0.0)):
        raise ValueError(f"conductance_w_m2k must be 0 or more for each of {len(outside)} steps")
    positive = {"step_s": step_s, "radius_m": radius_m} | medium._asdict()
    for name, value in positive.items():
        if not (np.isfinite(value) and value > 0.0):
            raise ValueError(f"{name} must be above 0, not {value!r}")
    if rings < 2:
        raise ValueError(f"rings must be 2 or more, not {rings!r}")
    deepest = radius_m * (1.0 - 0.5 / rings)
    if not 0.0 <= depth_m <= deepest:
        raise ValueError(f"depth_m must be between 0 and {deepest:g}, not {depth_m!r}")


def _grid(radius_m: float, medium: Substance, rings: int, sectors: int) -> _Grid:
    thickness = radius_m / rings
    middle = np.asarray((np.arange(rings) + 0.5) * thickness)
    between = np.asarray(np.arange(1, rings) * thickness)
    angle = 2.0 * np.pi / sectors
    harmonics = np.arange(sectors // 2 + 1)
    # a difference between sectors, taken twice, of the m-th harmonic (the eigenvalue of the circulant matrix)
    twice = (2.0 - 2.0 * np.cos(harmonics * angle)) / angle**2
    k = medium.conductivity_w_mk
    return _Grid(
        medium.heat_capacity_j_m3k * middle * thickness,
        k * between / thickness,
        k * thickness * np.tile(twice, 2) / middle[:, None],
        thickness / (2.0 * k),
        radius_m,
    )


def _probe(depth_m: float, radius_m: float, rings: int) -> Array:
    """Return weights of the rings and the surface that interpolate at a depth; (rings + 1,)."""
    at = np.append((np.arange(rings) + 0.5) * radius_m / rings, radius_m)
    return np.array([np.interp(radius_m - depth_m, at, unit) for unit in np.eye(rings + 1)])


def _compiled(function: Any) -> Any:
    return njit(cache=True, error_model="numpy")(function)


@_compiled
def _eliminate(grid, weight):  # type: ignore[no-untyped-def]
    """Eliminate (storage - weight x conduction) from the centre outwards; the last pivot lacks the film.

    Returns the pivots and what each ring hands to the next, both (rings, parts).
    """
    rings, parts = grid.around.shape
    pivots, handed = np.zeros((rings, parts)), np.zeros((rings, parts))
    for i in range(rings):
        pivots[i] = grid.storage[i] + weight * grid.around[i]
        if i > 0:
            pivots[i] += weight * grid.radial[i - 1] * (1.0 - handed[i - 1])
        if i < rings - 1:
            pivots[i] += weight * grid.radial[i]
            handed[i] = weight * grid.radial[i] / pivots[i]
    return pivots, handed


@_compiled
def _solve(right, by_pivot, handed):  # type: ignore[no-untyped-def]
    """Solve all harmonics in place of their right sides; the matrix is symmetric, so one factor serves both ways."""
    rings, parts = right.shape
    for i in range(1, rings):
        for m in range(parts):
            right[i, m] += handed[i - 1, m] * right[i - 1, m]
    for m in range(parts):
        right[rings - 1, m] *= by_pivot[rings - 1, m]
    for i in range(rings - 2, -1, -1):
        for m in range(parts):
            right[i, m] = right[i, m] * by_pivot[i, m] + handed[i, m] * right[i + 1, m]


@_compiled
def _half_implicit(field, weight, grid, right):  # type: ignore[no-untyped-def]
    """Fill the right side of the first stage: (storage + weight x conduction) field, without the film."""
    rings, parts = field.shape
    for i in range(rings):
        inner = weight * grid.radial[i - 1] if i > 0 else 0.0
        outer = weight * grid.radial[i] if i < rings - 1 else 0.0
        below, above = max(i - 1, 0), min(i + 1, rings - 1)
        for m in range(parts):
            own = grid.storage[i] - inner - outer - weight * grid.around[i, m]
            right[i, m] = own * field[i, m] + inner * field[below, m] + outer * field[above, m]


@_compiled
def _march(field, waves, conductance, step_s, grid, probe, near, sums):  # type: ignore[no-untyped-def]
    """March all harmonics through all steps; `near` and `sums` (centre, stored, gained) are filled."""
    rings, parts = field.shape
    last = rings - 1
    weight = LATE * step_s
    again = 1.0 / (STAGE * (2.0 - STAGE))
    pivots, handed = _eliminate(grid, weight)
    by_pivot = 1.0 / pivots
    middle = np.zeros((rings, parts))
    for s in range(len(conductance)):
        film = grid.radius_m * conductance[s] / (1.0 + conductance[s] * grid.half_ring_m2k_w)
        by_pivot[last] = 1.0 / (pivots[last] + weight * film)
        outside = waves[s]
        _half_implicit(field, weight, grid, middle)
        middle[last] += weight * film * (2.0 * outside - field[last])
        _solve(middle, by_pivot, handed)
        gained = EARLY * film * (2.0 * outside[0] - field[last, 0] - middle[last, 0])
        for i in range(rings):
            for m in range(parts):
                field[i, m] = grid.storage[i] * (again * middle[i, m] + (1.0 - again) * field[i, m])
        field[last] += weight * film * outside
        _solve(field, by_pivot, handed)
        surface = field[last] + film * (outside - field[last]) * grid.half_ring_m2k_w / grid.radius_m
        near[s] = probe[rings] * surface
        for i in range(rings):
            if probe[i] != 0.0:
                near[s] += probe[i] * field[i]
        # the mean round each ring is even in the radius: a parabola through two rings gives the centre
        sums[s, 0] = (9.0 * field[0, 0] - field[1, 0]) / 8.0
        sums[s, 1] = np.sum(grid.storage * field[:, 0])
        sums[s, 2] = step_s * (gained + LATE * film * (outside[0] - field[last, 0]))
