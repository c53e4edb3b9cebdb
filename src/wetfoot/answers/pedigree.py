"""What a lot descends from: lots, batches and pots back to the source, each with its day and its tests."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from difflib import get_close_matches
from itertools import groupby
from pathlib import Path
from typing import Literal

from wetfoot.answers.doubtful_stock import doubts
from wetfoot.answers.stock_records import StockState, stock_state
from wetfoot.book.stock_entries import HealthTest, Lot
from wetfoot.errors import refuse
from wetfoot.plan.model import Plan
from wetfoot.stock.balance import Balance
from wetfoot.stock.lots import day_of, grown_from
from wetfoot.stock.pots import Crop

Kind = Literal["lot", "batch", "pots"]
Key = tuple[Kind, str]


@dataclass(frozen=True)
class Member:
    """A lot, a batch or pots planted alike in the family of a lot.

    Attributes:
        key: what it is, and its name; of pots all their codes, those in a row as one.
        day: when the lot was made or came in, the batch was cut, the pots were planted.
        parents: keys of what it came out of.
        steps: how many members lie between it and the lot, the longest way.
        tests: of it, and of the water its pots stood in.
        lot: the lot's record.
        told: what else is known, in words.
        ids: of its records.
    """

    key: Key
    day: date | None
    parents: tuple[Key, ...]
    tests: tuple[HealthTest, ...]
    lot: Lot | None = None
    told: str = ""
    ids: tuple[str, ...] = ()
    steps: int = 0

    @property
    def name(self) -> str:
        """Its name, or the codes of its pots."""
        return self.key[1]


@dataclass(frozen=True)
class Pedigree:
    """The family of a lot.

    Attributes:
        plan: of the season.
        lot: its name.
        members: the lot first, then what it came out of, the nearest first.
        balances: of the lots among them.
        gaps: what the records of the family leave open or contradict, in words.
        against: why the lot may not be sent.
    """

    plan: Plan
    lot: str
    members: tuple[Member, ...]
    balances: Mapping[str, Balance]
    gaps: tuple[str, ...]
    against: tuple[str, ...]


def known_lot(state: StockState, name: str, where: str = "lot") -> Lot:
    """Return the record of a lot.

    Raises:
        WetfootError: if the book has no such lot, with names that are near.
    """
    if name not in state.lots:
        near = get_close_matches(name, state.lots, n=3)
        fix = f"did you mean {', '.join(near)}?" if near else "write the lot into the book first"
        raise refuse(where, f"{name!r} is no lot of this season", ", ".join(state.lots) or "none is written yet", fix)
    return state.lots[name]


def pedigree(plan: Plan, folder: Path, lot: str) -> Pedigree:
    """Return what a lot descends from, with all tests and the balance of every lot.

    Raises:
        WetfootError: if there is no such lot.
    """
    state = stock_state(plan, folder)
    known_lot(state, lot)
    family = _Family(state)
    members = family.of(lot)
    ids = {id for member in members for id in member.ids}
    names = [member.name for member in members if member.lot]
    held = {name: state.balances[name] for name in names if name in state.balances}
    ids |= {id for balance in held.values() for id in balance.ids}
    gaps = tuple(finding.words for finding in state.problems if ids & set(finding.ids))
    return Pedigree(plan, lot, members, held, gaps, doubts(state).why_not_sent(lot))


class _Family:
    """The records by what came out of what, gone through from one lot backwards."""

    def __init__(self, state: StockState) -> None:
        self.state = state
        self.crops = [crop for crops in state.pots.values() for crop in crops]
        self.grown = grown_from(state.records, self.crops)

    def of(self, lot: str) -> tuple[Member, ...]:
        members: dict[Key, Member] = {}
        waiting: list[Member] = [self._lot(lot)]
        while waiting:
            member = waiting.pop(0)
            if member.key in members:
                continue
            members[member.key] = member
            waiting += self._came_from(member)
        steps = _steps(members, ("lot", lot))
        found = [replace(member, steps=steps[member.key]) for member in members.values()]
        return tuple(sorted(found, key=lambda member: member.steps))

    def _came_from(self, member: Member) -> list[Member]:
        if member.key[0] == "lot":
            pots = [self._pots(list(group)) for group in self._groups(member.name)]
            return [*pots, *(self._lot(name) for kind, name in member.parents if kind == "lot")]
        return [self._batch(name) if kind == "batch" else self._lot(name) for kind, name in member.parents]

    def _groups(self, lot: str) -> list[list[Crop]]:
        """Return the crops that were harvested into a lot, those planted with the same together."""
        own = [crop for crop in self.crops if any(h.lot == lot and h.cause is None for h in crop.harvested)]
        ordered = sorted(own, key=lambda crop: _planted_with(crop))  # stable: pots stay in the order of the bench
        return [list(group) for _, group in groupby(ordered, key=_planted_with)]

    def _lot(self, name: str) -> Member:
        record = self.state.lots.get(name)
        groups = self._groups(name)
        through_pots = self.grown.get(name, frozenset())
        written = [] if record is None else [parent for parent in record.parents if parent not in through_pots]
        parents: list[Key] = [("pots", pots_in_words([crop.pot for crop in group])) for group in groups]
        parents += [("lot", parent) for parent in written if parent != name]
        tests = tuple(test for test in self.state.records.tests if test.lot == name)
        harvests = [h.id for group in groups for crop in group for h in crop.harvested if h.lot == name]
        ids = (*([record.id] if record else []), *harvests)
        day = day_of(record) if record else None
        return Member(("lot", name), day, tuple(parents), tests, record, _lot_words(record), ids)

    def _pots(self, group: list[Crop]) -> Member:
        key: Key = ("pots", pots_in_words([crop.pot for crop in group]))
        tests = tuple(test for test in self.state.records.tests if any(_concerns(test, crop) for crop in group))
        planted = [planting for crop in group for planting in crop.planted]
        days = [crop.since for crop in group if crop.since]
        told = f"{len(group)} pot{'' if len(group) == 1 else 's'}, {sum(p.pieces for p in planted)} pieces planted"
        return Member(key, min(days, default=None), _planted_with(group[0]), tests, None, told,
                      tuple(planting.id for planting in planted))  # fmt: skip

    def _batch(self, name: str) -> Member:
        cut = [cutting for cutting in self.state.records.cuttings if cutting.batch == name]
        parents: tuple[Key, ...] = tuple(("lot", lot) for lot in dict.fromkeys(cutting.lot for cutting in cut))
        tests = tuple(test for test in self.state.records.tests if test.batch == name)
        told = "; ".join(
            f"{c.pieces} pieces, knife {c.knife or 'not written'}, {c.disinfectant or 'not disinfected'}"
            + (f", dip {c.dip_c:g} °C {c.dip_minutes:g} min" if c.dip_c and c.dip_minutes else "")
            for c in cut
        )
        day = min((day_of(cutting) for cutting in cut), default=None)
        return Member(("batch", name), day, parents, tests, None, told, tuple(cutting.id for cutting in cut))


def _planted_with(crop: Crop) -> tuple[Key, ...]:
    found: set[Key] = {("batch", p.batch) if p.batch else ("lot", str(p.lot)) for p in crop.planted}
    return tuple(sorted(found))


def _concerns(test: HealthTest, crop: Crop) -> bool:
    """Tell whether a test is of a crop's pot, or of the water that it stood in that day."""
    day, last = day_of(test), max((day_of(h) for h in crop.harvested), default=date.max)
    if test.pot:
        return test.pot == crop.pot and (crop.since or date.min) <= day <= last
    if test.lot or test.batch:
        return False
    return any(s.bank == test.place and s.since <= day <= (s.until or date.max) for s in crop.standings)


def _lot_words(lot: Lot | None) -> str:
    if lot is None:
        return "not written in the book"
    said = (lot.species, lot.cultivar, f"from {lot.source}" if lot.source else None,
            f"permit {lot.permit}" if lot.permit else None)  # fmt: skip
    return ", ".join(each for each in said if each)


def _steps(members: Mapping[Key, Member], first: Key) -> dict[Key, int]:
    """Return the longest way from the lot to each member; in a circle, flagged elsewhere, no longer than all."""
    steps = {first: 0}
    for _ in members:
        longer = {
            parent: steps[key] + 1
            for key, member in members.items()
            if key in steps and steps[key] < len(members)
            for parent in member.parents
            if steps.get(parent, -1) < steps[key] + 1
        }
        if not longer:
            break
        steps |= longer
    return steps


def pots_in_words(pots: Iterable[str]) -> str:
    """Return the codes of pots, those of a bank together and those in a row as one.

    >>> pots_in_words(["East 1", "East 2", "East 3", "East 5", "West 7", "a pot"])
    'East 1 to 3, 5; West 7; a pot'
    """
    of_bank: dict[str, list[int]] = {}
    for pot in pots:
        bank, _, number = pot.rpartition(" ")
        if bank and number.isascii() and number.isdecimal():
            of_bank.setdefault(bank, []).append(int(number))
        else:
            of_bank.setdefault(pot, [])
    return "; ".join(f"{bank} {_runs(numbers)}".rstrip() for bank, numbers in of_bank.items())


def _runs(numbers: list[int]) -> str:
    """Return whole numbers in order, three or more in a row as 'first to last'."""
    ordered, parts = sorted(set(numbers)), []
    for _, pairs in groupby(enumerate(ordered), key=lambda pair: pair[1] - pair[0]):
        run = [number for _, number in pairs]
        parts.append(f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(map(str, run)))
    return ", ".join(parts)
