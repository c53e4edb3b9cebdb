"""The dates of a crop, counted in days after planting."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta


@dataclass(frozen=True)
class Stage:
    """A thing to see or do on a day: days after planting, a short title, and what it means."""

    day: int
    title: str
    words: str


def stages(
    *,
    emergence_d: int,
    half_cover_d: int,
    hilling_from_d: int,
    hilling_every_d: int,
    hilling_until_d: int,
    tops_cut_d: int,
    harvest_d: int,
) -> tuple[Stage, ...]:
    """Return the stages of the crop in order of their days.

    The order of work (cure cut faces before planting, top up the medium as pink bases show, cut the tops, dry
    for three weeks, lift) is common practice; typical days are in the comments of a new plan.
    """
    hilling = [
        Stage(day, "Top up medium", "Cover pink shoot bases with 3 to 5 cm (1 to 2 in) of fresh medium; count shoots.")
        for day in range(hilling_from_d, hilling_until_d + 1, hilling_every_d)
    ]
    fixed = [
        Stage(-7, "Cut and cure seed", "Clean knife for every hand; cure cut faces in moving air, out of sun."),
        Stage(0, "Plant", "Wet the medium thoroughly from above once, plant, fill to the set level."),
        Stage(emergence_d, "Shoots expected", "Count pots with shoots; note late and empty pots."),
        Stage(half_cover_d, "Half of full canopy", "Water use now climbs fast: look at the tank more often."),
        Stage(tops_cut_d, "Cut tops, shut the supply", "Cut tops, close the valves, let the pots dry down."),
        Stage(harvest_d, "Lift, wash, weigh", "Empty pots one lot at a time; weigh, grade, cure, store."),
    ]
    return tuple(sorted([*fixed, *hilling], key=lambda stage: stage.day))


def visit_days(every_d: int, harvest_d: int) -> tuple[int, ...]:
    """Return the days after planting on which a visit falls: planting day, then every so many days, and harvest.

    A regular visit that would fall within half an interval of the harvest is left out.

    Raises:
        ValueError: if the interval or the season is shorter than a day.
    """
    if every_d < 1 or harvest_d < 1:
        raise ValueError(f"every_d and harvest_d must be at least 1, not {every_d} and {harvest_d}")
    return tuple(sorted({*range(0, harvest_d - every_d // 2, every_d), harvest_d}))


def on_date(planting: date, day: int) -> date:
    """Return the date of a day after planting."""
    return planting + timedelta(days=day)
