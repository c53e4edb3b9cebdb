"""How hot the root zone gets in a pot that stands in the sun, hour by hour, with how uncertain that is."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from wetfoot.climate.day_course import Course
from wetfoot.climate.ring_conduction import Substance, march
from wetfoot.climate.sun_on_wall import GROUND_ALBEDO, Stand, WallPlace, sector_azimuths_deg, wall_irradiance_w_m2
from wetfoot.climate.wall_layers import (
    FILM_FACTOR,
    GAP_FACTOR,
    MEDIUM,
    Cover,
    PotSection,
    Span,
    film_w_m2k,
    inner_resistance_m2k_w,
    layers,
    outer_radius_m,
    wind_at_wall_m_s,
)

Array = NDArray[np.float64]

ROOTS_SUFFER_ABOVE_C = 38.0  # handbook: above about 38 to 40
SECTORS = 36
WARM_UP_DAYS = 5

ASSUMPTIONS = (
    "heat moves sideways only: what the open top loses and what the solution below takes up is left out, so the"
    " result is on the hot side",
    "the plant shades neither its own pot nor others: true early in the season, too hot under a full canopy",
    "longwave exchange is with surroundings at air temperature; hot bare ground or paving adds some degrees",
    "wind is slowed to the height of the wall, not by the neighbours",
    "the medium keeps one wetness; low and high span dry to wet",
)


class Yard(NamedTuple):
    """Where the wall is: the pot's stand, heights above the ground, and the ground's albedo.

    Attributes:
        stand: alone, at the edge or inside, with spacings.
        board_m: height of the basin's bottom above the ground.
        rim_m: height of the rim above the basin's bottom.
        at_m: height of the ring that is looked at, above the basin's bottom.
        albedo: of the ground.
    """

    stand: Stand
    rim_m: float
    at_m: float
    board_m: float = 0.5
    albedo: float = GROUND_ALBEDO


@dataclass(frozen=True)
class RootHeat:
    """How hot the root zone gets, by hour, as a low, a middle and a high.

    Low and high are the extremes over all corners of the ranges (`members`), not a probability.

    Attributes:
        hour: start of each hour, in UTC; (hours,).
        air_c: mean air temperature of each hour.
        hottest_side_deg: direction of the hottest part of the wall in the middle case, north through east.
        near_wall_c: mean of each hour at the wanted depth inside the medium, on that side; each (hours,).
        centre_c: mean of each hour at the centre; each (hours,).
        highest_c: highest at that depth on that side.
        highest_centre_c: highest at the centre.
        hours_above: hours above the limit at that depth on that side.
        hours_above_centre: hours above the limit at the centre.
        limit_c: the limit.
        cover: what the sun met.
        member_highest_c: highest near the wall of each corner; (2, 2, 2, 1 or 2) for absorptivity, film, medium, gap.
        member_hours_above: likewise.
    """

    hour: pd.DatetimeIndex
    air_c: Array
    hottest_side_deg: float
    near_wall_c: Span
    centre_c: Span
    highest_c: Span
    highest_centre_c: Span
    hours_above: Span
    hours_above_centre: Span
    limit_c: float
    cover: Cover
    member_highest_c: Array
    member_hours_above: Array


class HeatSaved(NamedTuple):
    """What one wall is cooler than another: degrees off the highest, and hours fewer above the limit."""

    cooler_c: Span
    hours_fewer: Span


class _Case(NamedTuple):
    absorptivity: float
    film_factor: float
    medium: Substance
    gap_factor: float


def root_heat(
    course: Course,
    section: PotSection,
    cover: Cover,
    yard: Yard,
    depth_m: float = 0.01,
    limit_c: float = ROOTS_SUFFER_ABOVE_C,
) -> RootHeat:
    """Return how hot the medium gets near the sunny wall and at the centre, through a course of weather.

    Conduction by radius and angle (`ring_conduction.march`) from the sol-air temperature, air plus absorbed sun over
    film (ASHRAE, Handbook of Fundamentals), through film, walls and gaps. The first day is repeated before the start
    until its beginning no longer matters. What is left out stands in `ASSUMPTIONS`.

    Args:
        course: weather and sun, whole hours.
        section: of the nest at the height that is looked at.
        cover: what the sun meets.
        yard: stand, heights and ground.
        depth_m: inside the wall of the pot, at which the temperature is wanted.
        limit_c: above which hours are counted.

    Raises:
        ValueError: if a dimension is impossible (see `wall_layers.layers`, `sun_on_wall.in_view`).
    """
    facing = sector_azimuths_deg(SECTORS)
    wall = WallPlace(outer_radius_m(section, cover), yard.rim_m, yard.at_m)
    sun = wall_irradiance_w_m2(course, facing, wall, yard.stand, yard.albedo) * cover.sun_through
    wind = wind_at_wall_m_s(course.wind_2m_m_s, yard.board_m + yard.at_m)
    shape, cases = _corners(section, cover)
    middle = _Case(cover.absorptivity.middle, FILM_FACTOR.middle, MEDIUM.middle, GAP_FACTOR.middle)
    near, centre = _temperatures(course, sun, wind, section, cover, middle, depth_m)
    side = int(np.argmax(near.max(axis=0)))
    runs = [_temperatures(course, sun, wind, section, cover, case, depth_m) for case in cases]
    near_all, centre_all = np.array([n[:, side] for n, _ in runs]), np.array([c for _, c in runs])
    per_hour = round(1.0 / course.step_h)
    above = course.step_h * (near_all > limit_c).sum(axis=1)
    mid_near = near[:, side]
    return RootHeat(
        hour=course.middle[::per_hour] - pd.Timedelta(hours=course.step_h / 2.0),
        air_c=_hourly(course.air_c, per_hour),
        hottest_side_deg=float(facing[side]),
        near_wall_c=_span(_hourly(mid_near, per_hour), _hourly(near_all, per_hour)),
        centre_c=_span(_hourly(centre, per_hour), _hourly(centre_all, per_hour)),
        highest_c=_span(mid_near.max(), near_all.max(axis=1)),
        highest_centre_c=_span(centre.max(), centre_all.max(axis=1)),
        hours_above=_span(course.step_h * (mid_near > limit_c).sum(), above),
        hours_above_centre=_span(
            course.step_h * (centre > limit_c).sum(), course.step_h * (centre_all > limit_c).sum(axis=1)
        ),
        limit_c=limit_c,
        cover=cover,
        member_highest_c=near_all.max(axis=1).reshape(shape),
        member_hours_above=above.reshape(shape),
    )


def _corners(section: PotSection, cover: Cover) -> tuple[tuple[int, ...], list[_Case]]:
    """Return all combinations of the ends of the ranges, and how they are arranged."""
    has_gap = any(air for _, _, air in layers(section, cover))
    ends = [
        (cover.absorptivity.low, cover.absorptivity.high),
        (FILM_FACTOR.low, FILM_FACTOR.high),
        (MEDIUM.low, MEDIUM.high),
        (GAP_FACTOR.low, GAP_FACTOR.high) if has_gap else (GAP_FACTOR.middle,),
    ]
    return tuple(len(end) for end in ends), [_Case(*case) for case in itertools.product(*ends)]


def _temperatures(
    course: Course, sun: Array, wind: Array, section: PotSection, cover: Cover, case: _Case, depth_m: float
) -> tuple[Array, Array]:
    """Return the mean temperatures of each step at a depth, (steps, sectors), and at the centre, (steps,)."""
    outer = outer_radius_m(section, cover)
    film = film_w_m2k(wind, course.air_c, case.film_factor)
    sol_air = course.air_c[:, None] + case.absorptivity * sun / film[:, None]
    inner = inner_resistance_m2k_w(section, cover, case.gap_factor)
    conductance = 1.0 / (section.pot_radius_m / (outer * film) + inner)
    day = min(round(24.0 / course.step_h), len(film))
    again = np.concatenate([np.tile(np.arange(day), WARM_UP_DAYS), np.arange(len(film))])
    start, step_s = float(course.air_c[:day].mean()), course.step_h * 3600.0
    history = march(start, sol_air[again], conductance[again], step_s, section.pot_radius_m, case.medium, depth_m)
    # the march gives the ends of steps; the mean of a step is that of its two ends
    near, centre = history.near_wall_c[-len(film) - 1 :], history.centre_c[-len(film) - 1 :]
    return (near[1:] + near[:-1]) / 2.0, (centre[1:] + centre[:-1]) / 2.0


def _hourly(steps: Array, per_hour: int) -> Array:
    return np.asarray(steps.reshape(*steps.shape[:-1], -1, per_hour).mean(axis=-1))


def _span(middle: float | Array, members: Array) -> Span:
    """Return the extremes over the members with the middle, which belongs between them."""
    return Span(np.minimum(members.min(axis=0), middle), middle, np.maximum(members.max(axis=0), middle))


def heat_saved(bare: RootHeat, covered: RootHeat) -> HeatSaved:
    """Return what a cover, a shadow or another spacing buys.

    Corners are compared with equal film, medium and gap. The absorptivities of the two walls vary apart unless they
    have the same range: then it is the same wall, standing otherwise.

    Raises:
        ValueError: if the two are not of the same hours and limit.
    """
    if not bare.hour.equals(covered.hour) or bare.limit_c != covered.limit_c:
        raise ValueError("bare and covered must be of the same hours and limit")

    same_wall = bare.cover.absorptivity == covered.cover.absorptivity

    def less(middle: float, one: Array, other: Array) -> Span:
        return _span(middle, np.ravel(one - other if same_wall else one[:, None] - other[None, :]))

    return HeatSaved(
        less(bare.highest_c.middle - covered.highest_c.middle, bare.member_highest_c, covered.member_highest_c),
        less(bare.hours_above.middle - covered.hours_above.middle, bare.member_hours_above, covered.member_hours_above),
    )
