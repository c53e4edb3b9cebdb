"""What the book says of the tank and of the visits, in days after planting."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from statistics import fmean
from zoneinfo import ZoneInfo

from wetfoot.answers.readings import book_location, no_book_yet
from wetfoot.book.entries import TANK, TOP_UP_PARTS, Event, Reading, TopUp
from wetfoot.book.opening import open_book
from wetfoot.book.records import current
from wetfoot.plan.model import Plan
from wetfoot.season.own_weather import Gauge
from wetfoot.season.stretches import SHORTEST_D, Added, Stretch, TankReading, doubt, tank_stretches

LEAKS_FOUND = ("leak", "split_pot", "float_stuck")  # events after which the bench is taken to be mended


@dataclass(frozen=True)
class TankRecord:
    """Everything in the book up to a day that an answer about this visit needs.

    Attributes:
        readings: of the tank, in order of time.
        top_ups: of the tank.
        ec: EC readings of the tank.
        by_bank: levels and EC of the banks, as they stand in the book.
        events: what happened.
        gauge: rain between visits.
    """

    readings: tuple[TankReading, ...]
    top_ups: tuple[Added, ...]
    ec: tuple[Reading, ...]
    by_bank: tuple[Reading, ...]
    events: tuple[Event, ...]
    gauge: tuple[Gauge, ...] = ()

    def stretches(self, plan: Plan) -> tuple[Stretch, ...]:
        """Return the stretches between the tank's readings."""
        return tank_stretches(self.readings, self.top_ups, plan.tank.volume_l, plan.tank.unusable_l)

    def doubtful(self, plan: Plan) -> tuple[tuple[float, str], ...]:
        """Return when a reading was not used, and why."""
        why = ((reading.at_d, doubt(reading, plan.tank.volume_l)) for reading in self.readings)
        return tuple((at_d, words) for at_d, words in why if words)

    def last_known(self, plan: Plan) -> tuple[float, float] | None:
        """Return the time of the last good reading, and the litres since its top-ups; None without one.

        What was poured in at an unknown amount is taken to have filled the tank.
        """
        full = plan.tank.volume_l
        good = sorted(reading for reading in self.readings if not doubt(reading, full))
        if not good:
            return None
        last = good[-1]
        # of several readings at one instant the highest stands after the top-up
        after = len(good) > 1 and good[-2].at_d == last.at_d
        since = [added for added in self.top_ups if added.at_d > last.at_d or (added.at_d == last.at_d and not after)]
        litres = last.litres + sum(full if added.litres != added.litres else added.litres for added in since)
        return max([last.at_d, *(added.at_d for added in since)]), min(litres, full)

    def mended_d(self, plan: Plan) -> tuple[float, ...]:
        """Return the days on which somebody found a leak."""
        return tuple(day_of(plan, event.at) for event in self.events if event.kind in LEAKS_FOUND)


def tank_record(plan: Plan, folder: Path, until: date | None = None) -> TankRecord:
    """Return what the season's book holds of the season, up to the end of a day; nothing if there is no book yet.

    Raises:
        WetfootError: if the book is not one, or is of a newer version.
    """
    if no_book_yet(plan, folder):
        return TankRecord((), (), (), (), ())
    zone = ZoneInfo(plan.site.zone)
    since = datetime.combine(plan.crop.planting, datetime.min.time(), zone)
    last = min(until, plan.crop.harvest) if until else plan.crop.harvest
    before = datetime.combine(last + timedelta(days=1), datetime.min.time(), zone)
    with open_book(book_location(plan, folder)) as book:
        readings = current(book, Reading, since=since, until=before)
        top_ups = current(book, TopUp, since=since, until=before)
        events = current(book, Event, since=since, until=before)
    return TankRecord(
        readings=tuple(
            TankReading(day_of(plan, found.at), found.value, found.doubt is not None)
            for found in readings
            if found.kind == "tank_volume"
        ),
        top_ups=tuple(Added(day_of(plan, found.at), _litres(found)) for found in top_ups if found.place == TANK),
        ec=tuple(found for found in readings if found.kind == "ec" and found.place == TANK),
        by_bank=tuple(found for found in readings if found.kind in ("ec", "level") and found.place != TANK),
        events=tuple(events),
        gauge=_gauge(plan, readings),
    )


def _gauge(plan: Plan, readings: Sequence[Reading]) -> tuple[Gauge, ...]:
    """Return the rain of each gauge reading, since the visit before it or planting; of several at once the mean.

    A reading at a bank is left aside, as it may be taken under a gutter.
    """
    visits, read = {0.0}, defaultdict(list)
    for reading in readings:
        at_d = day_of(plan, reading.at)
        if reading.kind in ("tank_volume", "rain"):
            visits.add(at_d)
        if reading.kind == "rain" and reading.place in (None, TANK) and not reading.doubt:
            read[at_d].append(reading.value)
    since = {end_d: max((at for at in visits if at < end_d - SHORTEST_D), default=0.0) for end_d in read}
    return tuple(Gauge(since[end_d], end_d, fmean(found)) for end_d, found in sorted(read.items()))


def day_of(plan: Plan, at: datetime) -> float:
    """Return an instant as days after planting by the site's own clock, with the fraction of the day."""
    local = at.astimezone(ZoneInfo(plan.site.zone))
    return (local.date() - plan.crop.planting).days + (local.hour + local.minute / 60.0) / 24.0


def date_of(plan: Plan, at_d: float) -> date:
    """Return the date of a time in days after planting."""
    return plan.crop.planting + timedelta(days=int(at_d // 1))


def _litres(top_up: TopUp) -> float:
    """Return all that was poured in; not a number if the amount is doubted."""
    parts = (getattr(top_up, name) for name in TOP_UP_PARTS)
    return float("nan") if top_up.doubt else sum(part for part in parts if part is not None)
