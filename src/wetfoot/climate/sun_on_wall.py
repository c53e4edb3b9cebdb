"""How much sun falls on the wall of a round pot, by direction, and what its neighbours shade."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wetfoot.climate.day_course import Course

Array = NDArray[np.float64]

GROUND_ALBEDO = 0.2  # grass or bare ground: the value that pvlib and textbooks take where none is known
ROWS_AWAY = 2  # farther neighbours stand behind nearer ones, or shade only from a sun near the horizon


class Stand(NamedTuple):
    """Where a pot stands among equal pots in straight rows.

    Attributes:
        position: alone; at the edge, with rows on one side only; or inside, with rows on both sides.
        spacing_m: from centre to centre in a row.
        row_spacing_m: from row to row.
        open_side_deg: the direction across the rows, from north through east; at the edge, the open side.
    """

    position: Literal["alone", "edge", "inside"] = "alone"
    spacing_m: float = 0.6
    row_spacing_m: float = 0.6
    open_side_deg: float = 270.0


class WallPlace(NamedTuple):
    """The round wall that is looked at: its outer radius, the height of its rim, and of the ring looked at."""

    radius_m: float
    rim_m: float
    at_m: float


def sector_azimuths_deg(sectors: int) -> Array:
    """Return the directions that equal sectors of the wall face, from north through east; (sectors,)."""
    return np.arange(sectors) * 360.0 / sectors


def neighbours_m(stand: Stand) -> list[tuple[float, float]]:
    """Return how far east and north of the pot its neighbours stand, metres."""
    if stand.position == "alone":
        return []
    across, along = np.radians(stand.open_side_deg), np.radians(stand.open_side_deg + 90.0)
    rows = range(-ROWS_AWAY, ROWS_AWAY + 1 if stand.position == "inside" else 1)
    places = [(r * stand.row_spacing_m, p * stand.spacing_m) for r in rows for p in range(-ROWS_AWAY, ROWS_AWAY + 1)]
    return [
        (r * np.sin(across) + p * np.sin(along), r * np.cos(across) + p * np.cos(along))
        for r, p in places
        if (r, p) != (0.0, 0.0)
    ]


def in_view(
    height_deg: ArrayLike, azimuth_deg: ArrayLike, facing_deg: Array, wall: WallPlace, stand: Stand
) -> NDArray[np.bool_]:
    """Return whether the wall sees each point of the sky past its neighbours' rims.

    A straight line from the wall is stopped if it enters a neighbour's circle below the neighbour's rim. Whether
    the wall faces that way at all is not asked here.

    Args:
        height_deg: of the points above the horizon; (points,).
        azimuth_deg: of the points; (points,).
        facing_deg: directions that the parts of the wall face; (sectors,).
        wall: the wall, of which the neighbours' are copies.
        stand: where the pot stands.

    Returns:
        (points, sectors).

    Raises:
        ValueError: if the pots stand into each other, or the ring looked at is not below the rim.
    """
    _check(wall, stand)
    height, azimuth = np.asarray(height_deg, dtype=float), np.asarray(azimuth_deg, dtype=float)
    seen = np.ones((height.size, facing_deg.size), dtype=bool)
    reach = _reach_m(height, wall)
    for distance in _distances_m(np.radians(azimuth), np.radians(facing_deg), wall.radius_m, stand):
        seen &= ~(distance < reach[:, None])
    return seen


def _check(wall: WallPlace, stand: Stand) -> None:
    if wall.radius_m <= 0.0:
        raise ValueError(f"radius_m must be above 0, not {wall.radius_m!r}")
    if not 0.0 <= wall.at_m <= wall.rim_m:
        raise ValueError(f"at_m must be between 0 and rim_m ({wall.rim_m:g}), not {wall.at_m!r}")
    if stand.position == "alone":
        return
    for name, value in {"spacing_m": stand.spacing_m, "row_spacing_m": stand.row_spacing_m}.items():
        if value < 2.0 * wall.radius_m:
            raise ValueError(f"{name} must be at least the diameter, {2.0 * wall.radius_m:g}, not {value!r}")


def _reach_m(height_deg: Array, wall: WallPlace) -> Array:
    """Return how far a line climbs over ground before it is above the rims."""
    slope = np.tan(np.radians(np.clip(height_deg, 0.0, 90.0)))
    return np.asarray(np.divide(wall.rim_m - wall.at_m, slope, out=np.full(slope.shape, np.inf), where=slope > 1e-9))


def _distances_m(azimuth: Array, facing: Array, radius_m: float, stand: Stand) -> Iterator[Array]:
    """Yield for each neighbour the distance to where a line meets its circle, infinite if it passes by."""
    east, north = np.sin(azimuth)[:, None], np.cos(azimuth)[:, None]
    for x, y in neighbours_m(stand):
        dx, dy = x - radius_m * np.sin(facing)[None, :], y - radius_m * np.cos(facing)[None, :]
        along, aside = dx * east + dy * north, dx * north - dy * east
        half_chord = np.sqrt(np.maximum(radius_m**2 - aside**2, 0.0))
        meets = (np.abs(aside) < radius_m) & (along > 0.0)
        yield np.where(meets, along - half_chord, np.inf)


def sky_share(facing_deg: Array, wall: WallPlace, stand: Stand, steps: int = 36) -> Array:
    """Return which share of a free wall's view of the sky is left, weighted by the cosine of incidence; (sectors,).

    1 for a pot that stands alone; a free vertical wall sees half of the sky's hemisphere (view factor 0.5).
    """
    if stand.position == "alone":
        return np.ones(facing_deg.size)
    heights = (np.arange(steps) + 0.5) * 90.0 / steps
    azimuths = (np.arange(2 * steps) + 0.5) * 180.0 / steps
    height, azimuth = (grid.ravel() for grid in np.meshgrid(heights, azimuths, indexing="ij"))
    weight = _cosine(height, azimuth, facing_deg) * np.cos(np.radians(height))[:, None]
    seen = in_view(height, azimuth, facing_deg, wall, stand)
    return np.asarray((weight * seen).sum(axis=0) / weight.sum(axis=0))


def _cosine(height_deg: Array, azimuth_deg: Array, facing_deg: Array) -> Array:
    """Return the cosine of incidence on a vertical wall, 0 behind it; (points, sectors)."""
    turned = np.cos(np.radians(azimuth_deg[:, None] - facing_deg[None, :]))
    return np.asarray(np.maximum(np.cos(np.radians(height_deg))[:, None] * turned, 0.0))


def wall_irradiance_w_m2(
    course: Course, facing_deg: Array, wall: WallPlace, stand: Stand, albedo: float = GROUND_ALBEDO
) -> Array:
    """Return the solar radiation on a vertical round wall; (steps, sectors).

    Direct radiation where the wall faces the sun and no neighbour stands before it. Diffuse radiation by Hay &
    Davies 1980 (as in pvlib.irradiance.haydavies): the share direct / direct above the air comes from round the sun
    and is shaded with it, the rest evenly from the sky that is left in view. The ground reflects to the lower half
    of the wall's view; neighbours take from that as much as they take from the sky (an estimate). What neighbours
    themselves reflect is left out.

    Args:
        course: weather and sun.
        facing_deg: directions that the sectors face; (sectors,).
        wall: the wall.
        stand: where the pot stands.
        albedo: of the ground.
    """
    up = course.sun_height_deg > 0.0
    clear = np.where(up, course.beam_w_m2 / course.beam_above_air_w_m2, 0.0)
    # pvlib's least cosine of the zenith, so that a sun on the horizon does not divide by nothing
    steepness = np.maximum(np.sin(np.radians(course.sun_height_deg)), 0.01745)
    from_sun = np.where(up, course.beam_w_m2 + clear * course.diffuse_w_m2 / steepness, 0.0)
    faced = _cosine(course.sun_height_deg, course.sun_azimuth_deg, facing_deg)
    lit = in_view(course.sun_height_deg, course.sun_azimuth_deg, facing_deg, wall, stand)
    around = (1.0 - clear) * course.diffuse_w_m2 + albedo * course.global_w_m2
    return np.asarray(from_sun[:, None] * faced * lit + 0.5 * np.outer(around, sky_share(facing_deg, wall, stand)))
