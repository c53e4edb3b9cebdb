"""What the tank gave between two readings: the season cut into stretches, and which of them can be believed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

SHORTEST_D = 0.4  # readings closer than this belong to one visit
READING_SD_FRACTION = 0.005  # of the full tank: 5 mm on a metre of water read with a stick; common practice, no source
TOP_UP_ERROR_FRACTION = 0.02  # of what was poured in, by a hose meter or marked bucket; common practice, no source
BEYOND_SD = 4.0  # a gap larger than so many spreads is not the reading's error

DOUBTFUL = "the reading is doubtful"
ABOVE_FULL = "the reading is above what the tank holds"
NOT_KNOWN = "a top-up in it has no known amount"
NOT_WRITTEN = "the tank holds more at its end than before, and no top-up was written down"
TOO_MUCH = "more was poured in than the tank had room for"


class TankReading(NamedTuple):
    """Litres in the tank at a time, in days after planting with their fraction; ``doubtful`` by the book's word."""

    at_d: float
    litres: float
    doubtful: bool = False


class Added(NamedTuple):
    """Litres poured into the tank at a time; not a number if nobody knows how many."""

    at_d: float
    litres: float


@dataclass(frozen=True)
class Stretch:
    """The time between two readings of the tank.

    Attributes:
        start_d, end_d: days after planting.
        drawn_l: what the tank lost in it, top-ups counted in.
        reading_sd_l: error of either reading, as a standard deviation.
        pour_sd_l: error of the top-ups in it.
        emptied: the tank was empty at its end, so that more would have been drawn.
        left_out: why it is not used; empty if it is.
    """

    start_d: float
    end_d: float
    drawn_l: float
    reading_sd_l: float
    pour_sd_l: float = 0.0
    emptied: bool = False
    left_out: str = ""

    @property
    def days(self) -> float:
        """Its length in days."""
        return self.end_d - self.start_d

    @property
    def error_sd_l(self) -> float:
        """Spread of what was drawn by the errors of both readings and the top-ups."""
        return math.hypot(self.reading_sd_l, self.reading_sd_l, self.pour_sd_l)


def tank_stretches(
    readings: Sequence[TankReading],
    top_ups: Sequence[Added],
    full_l: float,
    empty_l: float = 0.0,
    reading_sd_l: float | None = None,
) -> tuple[Stretch, ...]:
    """Return the stretches between readings, in order of time; doubtful readings bound none.

    Of several readings at the same instant the lowest is taken as before the top-up and the highest as after; one
    reading alone is before it. Readings and top-ups may come late and in any order: their own time counts.

    Args:
        readings: of the tank.
        top_ups: all that was poured into it.
        full_l: litres in the full tank.
        empty_l: litres that stay below its outlet.
        reading_sd_l: error of one reading (standard deviation); `READING_SD_FRACTION` of the full tank if not given.

    Raises:
        ValueError: if the tank or the error is not positive.
    """
    sd_l = READING_SD_FRACTION * full_l if reading_sd_l is None else reading_sd_l
    if not (full_l > 0.0 and sd_l > 0.0):
        raise ValueError(f"full_l and reading_sd_l must be above 0, not {full_l!r} and {sd_l!r}")
    good = sorted(reading for reading in readings if not doubt(reading, full_l))
    stretches = []
    for position, (before, after) in enumerate(pairwise(good)):
        if after.at_d - before.at_d < SHORTEST_D:
            continue
        # a reading that follows another of the same visit stands after the top-up
        stands_after = position > 0 and before.at_d - good[position - 1].at_d < SHORTEST_D
        stretches.append(_stretch(before, after, _between(before, after, top_ups, stands_after), full_l, empty_l, sd_l))
    return tuple(stretches)


def doubt(reading: TankReading, full_l: float) -> str:
    """Return why a reading is not used; an empty text if it is."""
    if reading.doubtful:
        return DOUBTFUL
    if not 0.0 <= reading.litres <= full_l:
        return ABOVE_FULL
    return ""


def _between(before: TankReading, after: TankReading, top_ups: Sequence[Added], stands_after: bool) -> list[Added]:
    """Return what was poured in from the first reading on, and before the second."""
    return [
        added
        for added in top_ups
        if (before.at_d < added.at_d or (before.at_d == added.at_d and not stands_after)) and added.at_d < after.at_d
    ]


def _stretch(
    before: TankReading, after: TankReading, added: list[Added], full_l: float, empty_l: float, sd_l: float
) -> Stretch:
    total = sum(litres for _, litres in added)
    pour_sd = TOP_UP_ERROR_FRACTION * math.hypot(*(litres for _, litres in added))
    slack = BEYOND_SD * math.hypot(sd_l, sd_l, pour_sd)
    drawn = before.litres + total - after.litres
    at_once = sum(litres for at_d, litres in added if at_d - before.at_d < SHORTEST_D)
    why = ""
    if math.isnan(total):
        why = NOT_KNOWN
    elif drawn < -slack:
        why = NOT_WRITTEN
    elif before.litres + at_once > full_l + slack:
        why = TOO_MUCH
    emptied = after.litres <= empty_l + sd_l
    return Stretch(before.at_d, after.at_d, drawn, sd_l, pour_sd, emptied, why)
