"""Sun on a round wall, against pvlib, plane geometry and a published view factor."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pvlib
import pytest

from wetfoot.climate.day_course import Course, course_of_days, course_of_hours
from wetfoot.climate.evapotranspiration import extraterrestrial_radiation_mj_m2
from wetfoot.climate.sun_on_wall import (
    Stand,
    WallPlace,
    in_view,
    neighbours_m,
    sector_azimuths_deg,
    sky_share,
    wall_irradiance_w_m2,
)

ALONE = Stand()
WALL = WallPlace(radius_m=0.2, rim_m=0.33, at_m=0.2)


def clear_day(latitude: float, day: str, longitude: float = 0.0) -> Course:
    days = pd.date_range(day, periods=1)
    solar = 0.72 * extraterrestrial_radiation_mj_m2(latitude, days.day_of_year.to_numpy())
    return course_of_days(days, [20.0], [32.0], solar, latitude, longitude)


@pytest.mark.parametrize("latitude", [36.0, 0.0, -35.0])
@pytest.mark.parametrize("day", ["2027-07-15", "2027-12-15"])
def test_free_wall_gets_what_pvlib_gives_a_vertical_plane(latitude: float, day: str) -> None:
    course = clear_day(latitude, day)
    facing = sector_azimuths_deg(8)
    found = wall_irradiance_w_m2(course, facing, WALL, ALONE, albedo=0.25)
    for j, azimuth in enumerate(facing):
        reference = pvlib.irradiance.get_total_irradiance(
            90.0,
            azimuth,
            90.0 - course.sun_height_deg,
            course.sun_azimuth_deg,
            course.beam_w_m2,
            course.global_w_m2,
            course.diffuse_w_m2,
            dni_extra=course.beam_above_air_w_m2,
            albedo=0.25,
            model="haydavies",
        )["poa_global"]
        assert found[:, j] == pytest.approx(np.asarray(reference), abs=1e-6)


def test_east_and_west_mirror_at_solar_noon_on_the_equator_at_the_equinox() -> None:
    # zenith passage: 20 March 2027, 20:25 UTC is the equinox (almanac); at that longitude it is near solar noon
    equinox = pd.Timestamp("2027-03-20 20:25", tz="UTC")
    noon_hour = equinox.hour + equinox.minute / 60
    longitude = 15.0 * (12.0 + 7.4 / 60 - noon_hour)  # the sun is 7.4 minutes late in March
    ends = pd.date_range(equinox.floor("h") - pd.Timedelta(hours=4), periods=9, freq="h") + pd.Timedelta(minutes=55)
    course = course_of_hours(
        ends, [30.0] * 9, [700.0] * 9, 0.0, longitude, beam_w_m2=[600.0] * 9, diffuse_w_m2=[150.0] * 9
    )
    facing = sector_azimuths_deg(36)
    found = wall_irradiance_w_m2(course, facing, WALL, ALONE)
    mirrored = found[::-1, (-np.arange(36)) % 36]
    assert found == pytest.approx(mirrored, abs=3.0)
    at_noon = wall_irradiance_w_m2(_step(course, int(np.argmax(course.sun_height_deg))), facing, WALL, ALONE)[0]
    assert np.ptp(at_noon) < 30.0  # overhead: hardly any direct sun on any side
    assert found.max() > 450.0


def _step(course: Course, i: int) -> Course:
    return Course(course.middle[[i]], course.step_h, *(np.asarray(a)[[i]] for a in course[2:]))


@pytest.mark.parametrize(("latitude", "side"), [(36.0, 180.0), (-35.0, 0.0)])
def test_noon_sun_stands_towards_the_equator(latitude: float, side: float) -> None:
    course = clear_day(latitude, "2027-03-20")
    noon = int(np.argmax(course.sun_height_deg))
    facing = sector_azimuths_deg(36)
    brightest = facing[np.argmax(wall_irradiance_w_m2(course, facing, WALL, ALONE)[noon])]
    assert abs((brightest - side + 180.0) % 360.0 - 180.0) <= 10.0


@pytest.mark.parametrize("spacing", [0.45, 0.6, 1.0])
def test_neighbour_due_west_shades_up_to_the_slope_over_its_rim(spacing: float) -> None:
    """Similar triangles: the westernmost line of the wall is dark while tan(height) < (rim - z) / clear distance."""
    stand = Stand("inside", spacing_m=50.0, row_spacing_m=spacing)
    west = np.array([270.0])
    grazing = np.degrees(np.arctan((WALL.rim_m - WALL.at_m) / (spacing - 2 * WALL.radius_m)))
    seen = in_view([grazing - 0.1, grazing + 0.1], [270.0, 270.0], west, WALL, stand)
    assert seen[:, 0].tolist() == [False, True]
    open_west = Stand("edge", spacing_m=50.0, row_spacing_m=spacing, open_side_deg=270.0)
    assert in_view([grazing - 0.1], [270.0], west, WALL, open_west).all()


def test_view_between_endless_walls_is_hottels() -> None:
    """Two parallel endless cylinders, Hottel's crossed strings: F = (sqrt(X^2 - 1) + arcsin(1/X) - X) / pi.

    X is spacing over diameter (catalogue of radiation configuration factors, C-63, from memory). In a straight row
    the next but one hides behind the next, so the row takes 2 F of all that a tall wall sees.
    """
    tall = WallPlace(0.2, 1e9, 0.0)
    facing = sector_azimuths_deg(60)
    for spacing in (0.4, 0.6, 1.2):
        row = Stand("edge", spacing_m=spacing, row_spacing_m=1e5)
        x = spacing / 0.4
        factor = (np.sqrt(x * x - 1.0) + np.arcsin(1.0 / x) - x) / np.pi
        assert sky_share(facing, tall, row, steps=48).mean() == pytest.approx(1.0 - 2.0 * factor, abs=3e-3)


def test_neighbours_take_sky_and_more_do_so_inside() -> None:
    facing = sector_azimuths_deg(36)
    alone, edge, inside = (sky_share(facing, WALL, Stand(p, 0.5, 0.5)).mean() for p in ("alone", "edge", "inside"))
    assert 1.0 == alone > edge > inside > 0.3
    assert sky_share(facing, WALL, Stand("inside", 0.5, 0.5)) == pytest.approx(
        sky_share(facing, WALL, Stand("inside", 0.5, 0.5, 90.0)), abs=1e-9
    )


def test_rows_stand_where_they_are_said_to() -> None:
    assert neighbours_m(ALONE) == []
    edge = np.array(neighbours_m(Stand("edge", 0.5, 0.8, open_side_deg=270.0)))
    assert edge[:, 0].min() == pytest.approx(0.0, abs=1e-9)  # nothing to the west of an edge that is open to the west
    assert len(neighbours_m(Stand("inside"))) == 24
    assert np.hypot(*np.array(neighbours_m(Stand("inside", 0.5, 0.8))).T).min() == pytest.approx(0.5)


def test_neighbours_only_take_sun() -> None:
    course = clear_day(36.0, "2027-07-15")
    facing = sector_azimuths_deg(36)
    free = wall_irradiance_w_m2(course, facing, WALL, ALONE)
    for position in ("edge", "inside"):
        assert np.all(wall_irradiance_w_m2(course, facing, WALL, Stand(position, 0.45, 0.5)) <= free + 1e-9)


@pytest.mark.parametrize(
    ("wall", "stand", "named"),
    [
        (WallPlace(0.0, 0.3, 0.1), ALONE, "radius_m"),
        (WallPlace(0.2, 0.3, 0.4), ALONE, "at_m"),
        (WALL, Stand("edge", spacing_m=0.3), "spacing_m"),
        (WALL, Stand("inside", row_spacing_m=0.39), "row_spacing_m"),
    ],
)
def test_impossible_places_are_named(wall: WallPlace, stand: Stand, named: str) -> None:
    with pytest.raises(ValueError, match=named):
        in_view([10.0], [180.0], sector_azimuths_deg(4), wall, stand)
