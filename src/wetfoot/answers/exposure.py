"""From one suspect pot or lot: who was exposed and how, what to hold, what may still be sold, where it came from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from wetfoot import __version__
from wetfoot.answers.stock_records import StockState, stock_state
from wetfoot.answers.trace import Answer, Number, State
from wetfoot.errors import refuse
from wetfoot.plan.model import Plan
from wetfoot.stock.exposure import AGENTS, Exposed, Stay, exposed, possible_sources, way_to
from wetfoot.stock.lots import day_of

SOURCE = "contacts in time from the book and the plan's banks; ways by agent (docs/stock.md)"
LISTED = 12
WAY_WORDS = {
    "water": "shared water",
    "tool": "a knife",
    "splash": "splash",
    "parentage": "parentage",
    "dispatch": "sent off",
}


@dataclass(frozen=True)
class Exposure:
    """What one suspect means for the whole stock.

    Attributes:
        plan: of the bench.
        suspect: what is suspected; ``since`` when it may have been infected.
        agent: the disease agent, or 'not known'.
        pots: exposed pots by code, with since when and by which way; the suspect among them.
        lots: exposed lots and batches; ``people`` those whom exposed stock went to.
        clear_pots: pots that are not exposed; ``clear_lots`` likewise: what may still be sold if nothing else holds it.
        sources: what the infection may have come from.
        ways: the way to each exposed thing, in words.
    """

    plan: Plan
    suspect: str
    since: date
    agent: str
    pots: Mapping[str, Exposed]
    lots: Mapping[str, Exposed]
    people: Mapping[str, Exposed]
    clear_pots: tuple[str, ...]
    clear_lots: tuple[str, ...]
    sources: tuple[str, ...]
    ways: Mapping[str, str]
    answer: Answer

    def rows(self) -> list[list[str]]:
        """Return every exposed pot, lot and customer as a row: what, since when, by which way."""
        found = [*self.pots.values(), *self.lots.values(), *self.people.values()]
        return [[each.what, each.since.isoformat(), self.ways[each.what]] for each in found]

    def record(self) -> dict[str, Any]:
        """Return the exposure for machines: answer, units, trace, warnings."""
        answer = {
            **self.answer.record(self.plan.units),
            "suspect": self.suspect,
            "since": self.since.isoformat(),
            "agent": self.agent,
            "exposed": [dict(zip(("what", "since", "way"), row, strict=True)) for row in self.rows()],
            "clear_pots": list(self.clear_pots),
            "clear_lots": list(self.clear_lots),
            "possible_sources": list(self.sources),
        }
        trace = {"plan": self.plan.title, "wetfoot": __version__}
        return {"answer": answer, "units": self.plan.units, "trace": trace, "warnings": list(self.answer.warnings)}


def exposure(
    plan: Plan,
    folder: Path,
    suspect: str,
    agent: str = "not known",
    since: date | None = None,
    on: date | None = None,
    state: StockState | None = None,
) -> Exposure:
    """Return who was exposed by a suspect.

    Args:
        plan: the plan.
        folder: the season's folder; its book tells of lots, batches, moves and tests.
        suspect: a pot's code, a lot or a batch.
        agent: one of `stock.exposure.AGENTS`.
        since: when it may have been infected; its last negative test, or its first contact, if not given.
        on: the day up to which contacts count; the last in the book if not given.
        state: what the book tells, if it was read already.

    Raises:
        WetfootError: for a suspect or an agent that is not known.
    """
    state = state or stock_state(plan, folder)
    if agent not in AGENTS:
        raise refuse("agent", f"{agent!r} is not an agent known here", ", ".join(AGENTS), "choose one")
    first = _first_contacts(state)
    if suspect not in first:
        near = get_close_matches(suspect, first, n=3)
        fix = f"did you mean {', '.join(near)}?" if near else "look the name up under Stock"
        raise refuse("suspect", f"{suspect!r} is no pot, lot or batch of this season", "a name of the book", fix)
    start = since or _last_negative(state, suspect) or first[suspect]
    found = exposed({suspect: start}, state.contacts, agent, on)
    pots = _pots_of(plan, state)
    lots, people = _lots_of(state), {shipment.to for shipment in state.records.shipments}
    ways = {each: _way(found, each) for each in found}
    back = possible_sources(suspect, on or date.max - timedelta(days=1), state.contacts, agent)
    held = [each for each in found.values() if each.what in pots]
    result = Exposure(
        plan=plan,
        suspect=suspect,
        since=start,
        agent=agent,
        pots={each.what: each for each in held},
        lots={each.what: each for each in found.values() if each.what in lots},
        people={each.what: each for each in found.values() if each.what in people},
        clear_pots=tuple(pot for pot in pots if pot not in found),
        clear_lots=tuple(lot for lot in lots if lot not in found),
        sources=tuple(name for name in back if name in lots or (name in pots and name != suspect)),
        ways=ways,
        answer=_answer(plan, state, suspect, start, agent, found, pots, lots, people),
    )
    return result


def _pots_of(plan: Plan, state: StockState) -> list[str]:
    planned = [f"{bank.name} {number}" for bank in plan.banks for number in range(1, bank.pots + 1)]
    return list(dict.fromkeys([*planned, *state.pots]))


def _lots_of(state: StockState) -> list[str]:
    batches = [cutting.batch for cutting in state.records.cuttings]
    return list(dict.fromkeys([*state.lots, *batches]))


def _first_contacts(state: StockState) -> dict[str, date]:
    """Return the first day on which each thing that can be suspected was in contact with something."""
    found: dict[str, date] = {}
    for contact in state.contacts:
        pairs = (
            ((contact.what, contact.since),)
            if isinstance(contact, Stay)
            else ((contact.source, contact.on), (contact.target, contact.on))
        )
        for what, day in pairs:
            found[what] = min(day, found.get(what, day))
    for name, lot in state.lots.items():
        found.setdefault(name, day_of(lot))
    return found


def _last_negative(state: StockState, suspect: str) -> date | None:
    days = [
        day_of(test)
        for test in state.records.tests
        if test.result == "negative" and suspect in (test.pot, test.lot, test.batch)
    ]
    return max(days, default=None)


def _way(found: Mapping[str, Exposed], what: str) -> str:
    """Return the chain from the suspect in words."""
    chain = way_to(found, what)
    if len(chain) == 1:
        return "the suspect itself"
    ways = ", ".join(dict.fromkeys(WAY_WORDS[str(step.way)] for step in chain[1:]))
    return f"{' → '.join(step.what for step in chain)} ({ways})"


def _answer(
    plan: Plan,
    state: StockState,
    suspect: str,
    start: date,
    agent: str,
    found: Mapping[str, Exposed],
    pots: list[str],
    lots: list[str],
    people: set[str],
) -> Answer:
    held = [pot for pot in pots if pot in found]
    out = sorted(name for name in people if name in found)
    clear = len(pots) - len(held)
    words = (
        f"If {suspect} has been infected since {start} ({agent}): hold {len(held)} of {len(pots)} pots and "
        f"{sum(lot in found for lot in lots)} lots or batches. {clear} pots are not exposed and may still be sold, if "
        "no other hold is on them."
    )
    if out:
        words += f" Exposed stock went to {', '.join(out)}: tell them."
    state_: State = "no" if out else "watch"
    numbers = (
        Number("pots to hold", len(held), f"{suspect} since {start}, {AGENTS[agent].words}", SOURCE, unit="pots"),
        Number("pots not exposed", clear, "all pots less those", SOURCE, unit="pots"),
        Number("contacts looked at", len(state.contacts), "stays and passages in the book", SOURCE, unit="contacts"),
    )
    warnings = [
        "Pots that shared water share one health status. Confirm the test before anything is thrown away; whether it "
        "must be reported, and whether stock may move, is for your plant health authority.",
        *(f"In the records: {problem.words}" for problem in state.problems[:LISTED]),
    ]
    return Answer(f"Who was exposed by {suspect}?", state_, words, numbers, tuple(warnings))
