"""What the book holds of a season, as points to draw over the simulated bands."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from wetfoot.book.entries import TANK, Reading
from wetfoot.book.looking import last_reading
from wetfoot.book.opening import FILE_NAME, open_book
from wetfoot.book.records import current
from wetfoot.plan.model import Plan
from wetfoot.solution.conductivity import ec_at_25


@dataclass(frozen=True)
class Point:
    """One reading on a day, in the base unit of its kind; doubtful ones are drawn hollow."""

    on: date
    value: float
    doubtful: bool = False


@dataclass(frozen=True)
class Readings:
    """Points of tank volume, and of EC (at 25 C) and level by bank."""

    tank_l: tuple[Point, ...]
    ec_ms_cm: dict[str, tuple[Point, ...]]
    level_m: dict[str, tuple[Point, ...]]

    @property
    def count(self) -> int:
        """How many readings there are."""
        by_bank = [*self.ec_ms_cm.values(), *self.level_m.values()]
        return len(self.tank_l) + sum(len(points) for points in by_bank)


def book_location(plan: Plan, folder: Path) -> str | Path:
    """Return where a season's book is: the plan's address, or the season's folder."""
    return plan.book or folder


def no_book_yet(plan: Plan, folder: Path) -> bool:
    """Tell whether nothing was recorded so far, so that there is no file to open; a server's book is always there."""
    return not plan.book and not (folder / FILE_NAME).is_file()


def season_readings(plan: Plan, folder: Path, since: date | None = None) -> Readings:
    """Return the current readings of the season from its book, from a day on; none if there is no book yet.

    Raises:
        WetfootError: if the book is not one, or is of a newer version.
    """
    if no_book_yet(plan, folder):
        return Readings((), {}, {})
    zone, (begin, end) = ZoneInfo(plan.site.zone), season_span(plan)
    if since is not None:
        begin = max(begin, datetime.combine(since, time(), zone))
    with open_book(book_location(plan, folder)) as book:
        found = current(book, Reading, None, begin, end)

    def points(kind: str, place: str) -> tuple[Point, ...]:
        chosen = [reading for reading in found if reading.kind == kind and reading.place == place]
        return tuple(Point(_day(reading, zone), _value(reading), reading.doubt is not None) for reading in chosen)

    names = [bank.name for bank in plan.banks]
    return Readings(
        points("tank_volume", "tank"),
        {name: points("ec", name) for name in names},
        {name: points("level", name) for name in names},
    )


def last_readings(plan: Plan, folder: Path) -> Readings:
    """Return of `season_readings` the last of each kind and place, and the tank's EC, reading no others.

    Raises:
        WetfootError: if the book is not one, or is of a newer version.
    """
    if no_book_yet(plan, folder):
        return Readings((), {}, {})
    zone, (since, until) = ZoneInfo(plan.site.zone), season_span(plan)
    with open_book(book_location(plan, folder)) as book:

        def last(kind: str, place: str) -> tuple[Point, ...]:
            found = last_reading(book, kind, place, since, until)
            return (Point(_day(found, zone), _value(found), found.doubt is not None),) if found else ()

        names = [bank.name for bank in plan.banks]
        return Readings(
            last("tank_volume", TANK),
            {name: last("ec", name) for name in (TANK, *names)},
            {name: last("level", name) for name in names},
        )


def season_span(plan: Plan) -> tuple[datetime, datetime]:
    """Return the instants at which the plan's season begins, at planting, and ends, after the day of harvest."""
    zone = ZoneInfo(plan.site.zone)
    end = plan.crop.harvest + timedelta(days=1)
    return datetime.combine(plan.crop.planting, time(), zone), datetime.combine(end, time(), zone)


def _day(reading: Reading, zone: ZoneInfo) -> date:
    return reading.at.astimezone(zone).date()


def _value(reading: Reading) -> float:
    """Return the value; an EC read without temperature compensation is brought to 25 C."""
    if reading.kind == "ec" and not reading.compensated and reading.temperature_c is not None:
        return ec_at_25(reading.value, reading.temperature_c)
    return reading.value
