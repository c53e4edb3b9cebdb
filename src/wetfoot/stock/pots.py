"""Where every pot stood, from when until when, and what was planted in it and harvested."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime

from wetfoot.book.entries import Event, Record
from wetfoot.book.stock_entries import Harvest, Move, Planting


@dataclass(frozen=True)
class Standing:
    """A pot stood in a bank; it still does if ``until`` is None."""

    bank: str
    since: date
    until: date | None = None


@dataclass(frozen=True)
class Crop:
    """What grew in a pot once, from planting to the last harvest.

    Attributes:
        pot: the pot's code.
        since: the day it began; None if it is only known by what was done with it later.
        planted: records of its planting; none if the plan alone tells of it, or nothing does.
        harvested: records of its harvest, culls included.
        standings: where the pot stood meanwhile.
        moved: records of its moves.
        astray: those of them out of a bank where it did not stand.
    """

    pot: str
    since: date | None
    planted: tuple[Planting, ...]
    harvested: tuple[Harvest, ...]
    standings: tuple[Standing, ...]
    moved: tuple[Move, ...]
    astray: tuple[Move, ...] = ()


@dataclass
class _Growing:
    """A crop while its records are gone through, in the order of time."""

    pot: str
    since: date | None = None
    planted: list[Planting] = field(default_factory=list)
    harvested: list[Harvest] = field(default_factory=list)
    moved: list[Move] = field(default_factory=list)
    astray: list[Move] = field(default_factory=list)
    ended: list[Standing] = field(default_factory=list)
    open: dict[str, date] = field(default_factory=dict)

    def enter(self, bank: str, day: date) -> None:
        self.open.setdefault(bank, day)

    def leave(self, bank: str, day: date) -> None:
        since = self.open.pop(bank, None)
        # of one that was not known to stand there, that much is said: it was there on that day
        self.ended.append(Standing(bank, since or day, day))

    def leave_all(self, day: date) -> None:
        for bank in list(self.open):
            self.leave(bank, day)

    def crop(self) -> Crop:
        still = [Standing(bank, since) for bank, since in self.open.items()]
        standings = tuple(sorted([*self.ended, *still], key=lambda each: each.since))
        parts = (tuple(self.planted), tuple(self.harvested), standings, tuple(self.moved), tuple(self.astray))
        return Crop(self.pot, self.since, *parts)


def pots_of_plan(banks: Mapping[str, int]) -> dict[str, str]:
    """Return the bank of every pot of the plan by the pot's code.

    >>> pots_of_plan({"East": 2})
    {'East 1': 'East', 'East 2': 'East'}
    """
    return {f"{bank} {number}": bank for bank, pots in banks.items() for number in range(1, pots + 1)}


def pot_of(record: Record) -> str | None:
    """Return the code of the pot that a record is about; of an event, its bank and number."""
    if isinstance(record, Event):
        return f"{record.place} {record.pot}" if record.place and record.pot else None
    pot: str | None = getattr(record, "pot", None)
    return pot


def crops_of_pots(
    records: Iterable[Record], days: Mapping[str, date], banks: Mapping[str, int], standing_since: date | None
) -> list[Crop]:
    """Return every crop that stood in a pot, by the pots' codes and in the order of time.

    Args:
        records: plantings, moves, harvests and events.
        days: the local date of each record by its id.
        banks: how many pots the plan has in each bank.
        standing_since: the day on which pots that the plan has, but no planting, came to their banks, or None.
    """
    of_pot: dict[str, list[Record]] = defaultdict(list)
    for record in records:
        if code := pot_of(record):
            of_pot[code].append(record)
    planned = pots_of_plan(banks) if standing_since else {}
    found: list[Crop] = []
    for pot in dict.fromkeys([*planned, *of_pot]):
        own = sorted(of_pot[pot], key=lambda record: (days[record.id], *_rank(record)))
        unplanted = pot in planned and not any(isinstance(record, Planting) for record in own)
        found += _crops(pot, own, days, (planned[pot], standing_since) if unplanted and standing_since else None)
    return found


def _rank(record: Record) -> tuple[datetime, int]:
    """Return the order of records on one day; at one instant (dates without a time) planting comes first."""
    order = 0 if isinstance(record, Planting) else 1 if isinstance(record, Move) else 2
    return record.at.astimezone(UTC), order


def _crops(pot: str, records: list[Record], days: Mapping[str, date], stands: tuple[str, date] | None) -> list[Crop]:
    growing = [_Growing(pot)]
    waiting = stands
    for record in records:
        if waiting and days[record.id] >= waiting[1]:
            _stand(growing, *waiting)
            waiting = None
        if isinstance(record, Planting):
            _begin(growing)
        _take_in(growing[-1], record, days[record.id])
    if waiting:
        _stand(growing, *waiting)
    return [each.crop() for each in growing if each.since or each.harvested or each.moved]


def _begin(growing: list[_Growing]) -> None:
    """Begin a new crop if the last one is over."""
    if (growing[-1].harvested or growing[-1].ended) and not growing[-1].open:
        growing.append(_Growing(growing[-1].pot))


def _stand(growing: list[_Growing], bank: str, day: date) -> None:
    """Let a pot stand in its bank because the plan says so, unless the records say where it stands."""
    _begin(growing)
    growing[-1].since = growing[-1].since or day
    if not growing[-1].open:
        growing[-1].enter(bank, day)


def _take_in(crop: _Growing, record: Record, day: date) -> None:
    if isinstance(record, Planting):
        crop.since = crop.since or day
        crop.planted.append(record)
        crop.enter(record.place, day)
    elif isinstance(record, Move):
        crop.moved.append(record)
        crop.astray += [] if record.place in crop.open else [record]
        crop.leave(record.place, day)
        crop.enter(record.to, day)
    elif isinstance(record, Harvest):
        crop.harvested.append(record)
        crop.leave_all(day)
    elif isinstance(record, Event) and record.kind == "pot_removed":
        crop.leave_all(day)
