"""Who shared water, a knife, a batch or a parent with a suspect, since when, and by which way.

Everything that joins pots is a contact: a stay at a place where status is shared (a bank's water, a knife between two
disinfections, a splash neighbourhood), or a passage from one to another on a day (a lot planted into a pot, a pot
lifted into a lot, a lot sent to a customer). Exposure is the earliest day on which an infection could have arrived,
by contacts that follow each other in time. Where something stays infected is never assumed to end by itself: a place
that was cleaned is a new place (give it a new name).
"""

from __future__ import annotations

import heapq
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from typing import Literal

Way = Literal["water", "tool", "splash", "parentage", "dispatch"]
WAYS: tuple[Way, ...] = ("water", "tool", "splash", "parentage", "dispatch")


@dataclass(frozen=True)
class Agent:
    """A kind of disease agent: the ways it can take, and how sure that is.

    Attributes:
        name: what it is.
        ways: contacts that can carry it.
        words: what is known of its spread, for a person to read.
    """

    name: str
    ways: frozenset[Way]
    words: str


_ALL = frozenset(WAYS)
AGENTS: Mapping[str, Agent] = {
    agent.name: agent
    for agent in (
        Agent("not known", _ALL, "every way counts until the agent is known"),
        Agent(
            "bacterial wilt",
            _ALL,
            "moves root to root in shared water within hours, on knives, and in seed pieces; drips and splash carry it",
        ),
        Agent("water mould", _ALL, "swimming spores in shared water and in splash; in seed pieces and on wet tools"),
        Agent("fusarium yellows", _ALL, "mostly in seed pieces; spores also in water, on tools and in splash"),
        Agent(
            "nematode",
            frozenset(("water", "splash", "parentage", "dispatch")),
            "young ones drift with water and splash, eggs travel in seed pieces and root bits; knives carry few",
        ),
        Agent(
            "virus",
            frozenset(("tool", "parentage", "dispatch")),
            "in every piece of an infected plant, and by sap on knives; hardly by water. Insects are not in this graph",
        ),
    )
}
"""Ways by agent: reviews of the pathogens of ginger as the project handbook gives them; doubtful ways are counted."""


@dataclass(frozen=True)
class Stay:
    """Something was at a place where all share one status; still there if ``until`` is None."""

    way: Way
    what: str
    place: str
    since: date
    until: date | None = None


@dataclass(frozen=True)
class Passage:
    """Material went from one to another on a day."""

    way: Way
    source: str
    target: str
    on: date


Contact = Stay | Passage


@dataclass(frozen=True)
class Exposed:
    """Since when something may be infected, and from what by which way; the suspect itself has no way."""

    what: str
    since: date
    came_from: str | None = None
    way: Way | None = None


def check(contacts: Iterable[Contact]) -> list[str]:
    """Return what cannot be among contacts: stays that end before they begin, two places at once, parent circles."""
    problems: list[str] = []
    waters: dict[str, list[Stay]] = defaultdict(list)
    parents: dict[str, set[str]] = defaultdict(set)
    for contact in contacts:
        if isinstance(contact, Passage):
            if contact.way == "parentage":
                parents[contact.target].add(contact.source)
        elif contact.until is not None and contact.until < contact.since:
            problems.append(
                f"{contact.what} leaves {contact.place} on {contact.until}, before it came on {contact.since}"
            )
        elif contact.way == "water":
            waters[contact.what].append(contact)
    for what, stays in waters.items():
        problems += _two_places(what, sorted(stays, key=lambda stay: stay.since))
    return problems + [
        f"{' comes from '.join(circle)}: a lot cannot descend from itself" for circle in _circles(parents)
    ]


def _two_places(what: str, stays: list[Stay]) -> Iterable[str]:
    for first, second in pairwise(stays):
        if first.place != second.place and (first.until is None or first.until > second.since):
            until = first.until or "now"
            yield (
                f"{what} is at {first.place} until {until} and at {second.place} from {second.since}: "
                "two places at once"
            )


def _circles(parents: Mapping[str, set[str]]) -> list[list[str]]:
    """Return one circle of each knot of parentage, each node once (depth first, without recursion)."""
    done: set[str] = set()
    found: list[list[str]] = []
    for start in parents:
        path: list[str] = []
        stack: list[tuple[str, bool]] = [(start, False)]
        while stack:
            node, leaving = stack.pop()
            if leaving:
                path.pop()
                done.add(node)
            elif node in path:
                found.append([*path[path.index(node) :], node])
            elif node not in done:
                path.append(node)
                stack.append((node, True))
                stack.extend((parent, False) for parent in parents.get(node, ()))
        if found:
            break
    return found


def exposed(
    suspects: Mapping[str, date], contacts: Collection[Contact], agent: str = "not known", today: date | None = None
) -> dict[str, Exposed]:
    """Return everything that an infection of the suspects could have reached, places included.

    Args:
        suspects: what may be infected, and since when (planting, or the last sample that found nothing).
        contacts: all stays and passages.
        agent: one of `AGENTS`; the ways it does not take are left out.
        today: contacts after this day are left out; all count if not given.

    Raises:
        ValueError: if the agent is not known.
    """
    ways = _ways(agent)
    near: dict[str, list[tuple[Way, str, date, date]]] = defaultdict(list)
    for contact in contacts:
        if contact.way not in ways:
            continue
        if isinstance(contact, Stay):
            end = min(contact.until or date.max, today or date.max)
            near[contact.what].append((contact.way, contact.place, contact.since, end))
            near[contact.place].append((contact.way, contact.what, contact.since, end))
        elif today is None or contact.on <= today:
            near[contact.source].append((contact.way, contact.target, contact.on, contact.on))
    return _earliest(suspects, near)


def possible_sources(
    suspect: str, seen_on: date, contacts: Collection[Contact], agent: str = "not known"
) -> dict[str, Exposed]:
    """Return everything the infection of a suspect could have come from, with the last day it could have left there.

    ``came_from`` of a source is the next link towards the suspect.

    Raises:
        ValueError: if the agent is not known.
    """
    ways = _ways(agent)
    near: dict[str, list[tuple[Way, str, date, date]]] = defaultdict(list)
    for contact in contacts:
        if contact.way not in ways:
            continue
        if isinstance(contact, Stay):
            since, until = _mirrored(contact.until or date.max), _mirrored(contact.since)
            near[contact.what].append((contact.way, contact.place, since, until))
            near[contact.place].append((contact.way, contact.what, since, until))
        else:
            near[contact.target].append((contact.way, contact.source, _mirrored(contact.on), _mirrored(contact.on)))
    found = _earliest({suspect: _mirrored(seen_on)}, near)
    return {name: Exposed(name, _mirrored(each.since), each.came_from, each.way) for name, each in found.items()}


def way_to(found: Mapping[str, Exposed], what: str) -> list[Exposed]:
    """Return the chain from the suspect to something exposed, the suspect first.

    Raises:
        KeyError: if it is not exposed.
    """
    chain = [found[what]]
    while (before := chain[-1].came_from) is not None:
        chain.append(found[before])
    return chain[::-1]


def _ways(agent: str) -> frozenset[Way]:
    if agent not in AGENTS:
        raise ValueError(f"agent: {agent!r} is none of {', '.join(AGENTS)}")
    return AGENTS[agent].ways


def _mirrored(day: date) -> date:
    """Return a day counted from the end of the calendar, so that going back in time is going forward."""
    return date.fromordinal(date.max.toordinal() + 1 - day.toordinal())


def _earliest(start: Mapping[str, date], near: Mapping[str, list[tuple[Way, str, date, date]]]) -> dict[str, Exposed]:
    """Return the earliest day each node is reached: Dijkstra with days, a contact being open from its first to last."""
    found: dict[str, Exposed] = {}
    queue: list[tuple[date, int, Exposed]] = []
    count = 0
    for what, since in start.items():
        heapq.heappush(queue, (since, count := count + 1, Exposed(what, since)))
    while queue:
        since, _, reached = heapq.heappop(queue)
        if reached.what in found:
            continue
        found[reached.what] = reached
        for way, other, first, last in near.get(reached.what, ()):
            arrives = max(since, first)
            if arrives <= last and other not in found:
                heapq.heappush(queue, (arrives, count := count + 1, Exposed(other, arrives, reached.what, way)))
    return found
