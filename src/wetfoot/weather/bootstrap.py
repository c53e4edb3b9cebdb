"""Seasons resampled from a record: blocks of days from the same time of the year in different years.

The moving-block idea is Kuensch 1989 (Ann. Stat. 17: 1217-1241); blocks here keep their place in the season, so that
the course of the year stays, and wet spells shorter than a block stay whole.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from itertools import groupby

import numpy as np
from numpy.typing import NDArray

from wetfoot.errors import refuse
from wetfoot.weather.daily import COLUMNS
from wetfoot.weather.made_up import stream
from wetfoot.weather.seasons import Piece

Array = NDArray[np.float64]
LONGEST_BLOCK_D = 366
_STREAM = 1


def block_starts(dates: Sequence[date], block_days: int | None) -> NDArray[np.int_]:
    """Return the positions at which blocks of a season begin.

    Args:
        dates: the season's days.
        block_days: length of a block; whole calendar months if it is None. A short rest joins the block before.

    Raises:
        WetfootError: if a block is shorter than a week or longer than a year.
    """
    if block_days is None:
        lengths = [len(list(month)) for _, month in groupby(dates, key=lambda day: (day.year, day.month))]
        return np.cumsum([0, *lengths[:-1]])
    if not 7 <= block_days <= LONGEST_BLOCK_D:
        raise refuse("block length", f"{block_days} days", f"7 to {LONGEST_BLOCK_D} days", "28 is usual; or months")
    return np.arange(0, max(1, len(dates) - block_days // 2), block_days)


def resampled(
    pieces: Sequence[Piece], dates: Sequence[date], numbers: range, seed: int, block_days: int | None = None
) -> tuple[dict[str, Array], list[str]]:
    """Return seasons put together from blocks of a record's seasons, and from which years each comes.

    A block is the same days after planting in another year, so that a 29 February moves it by a day at most and
    takes no day away.

    Args:
        pieces: the season in every year of the record, whole or not; a block without gaps may be drawn.
        dates: the days to lay the made-up seasons on.
        numbers: which of the made-up seasons to give, from 0.
        seed: of the random numbers.
        block_days: length of the blocks; whole calendar months if it is None.

    Returns:
        The columns of the daily table, each of shape (seasons, days), and an origin in words for each season.

    Raises:
        WetfootError: if no part of the season is known in more than one year.
    """
    starts = block_starts(dates, block_days)
    stops = np.r_[starts[1:], len(dates)]
    tables = np.stack([piece.table[list(COLUMNS)].to_numpy(float) for piece in pieces])
    known = ~np.isnan(tables[:, :, :3]).any(axis=2)
    years = np.array([piece.dates[0].year for piece in pieces])
    donors = [np.flatnonzero(known[:, a:b].all(axis=1)) for a, b in zip(starts, stops, strict=True)]
    if max(len(few) for few in donors) < 2:
        raise refuse(
            "weather years",
            "the record holds the season in one year only, so there is nothing to mix",
            "two or more years; ten or more to read odds from",
            "use the record alone, the fitted generator, or a longer record",
        )
    drawn = np.array([_draw(donors, seed, number) for number in numbers]).reshape(len(numbers), len(starts))
    donor_by_day = np.repeat(drawn, stops - starts, axis=1)
    made = tables[donor_by_day, np.arange(len(dates))]
    columns = {name: np.ascontiguousarray(made[:, :, at]) for at, name in enumerate(COLUMNS)}
    return columns, [_origin(dates, starts, years[row].tolist()) for row in drawn]


def _draw(donors: list[NDArray[np.int_]], seed: int, number: int) -> list[int]:
    random = stream(seed, _STREAM, number)
    return [int(few[int(random.integers(len(few)))]) for few in donors]


def _origin(dates: Sequence[date], starts: NDArray[np.int_], years: list[int]) -> str:
    parts = [f"{dates[a].day} {dates[a]:%b} as from {year}" for a, year in zip(starts.tolist(), years, strict=True)]
    return "resampled: " + ", ".join(parts)
