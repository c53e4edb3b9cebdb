"""What may not leave: everything on hold, tested positive or unclear, or reached from there; with the reason."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from wetfoot.answers.exposure import WAY_WORDS
from wetfoot.answers.health_words import standing_alarms
from wetfoot.answers.stock_records import StockState
from wetfoot.book.entries import TANK
from wetfoot.book.stock_entries import About, HealthTest, Hold
from wetfoot.stock.exposure import AGENTS, exposed, possible_sources, way_to
from wetfoot.stock.lots import day_of


@dataclass(frozen=True)
class Doubt:
    """A hold in force or an alarm of a test, and what it is about.

    Attributes:
        words: what it is, when and why.
        things: pots, lots or batches it is about, and since when each may be infected.
        agent: a key of `stock.exposure.AGENTS`.
        on: the day of the record.
        alarm: whether a test says so.
        tested_for: the agent as the test names it.
    """

    words: str
    things: Mapping[str, date]
    agent: str
    on: date
    alarm: bool
    tested_for: str = ""


@dataclass(frozen=True)
class Doubts:
    """Why things may not leave.

    Attributes:
        direct: reasons by thing: on hold, or tested positive or unclear itself.
        reached: reasons by thing that was only exposed.
        sources: reasons by thing that an alarm may have come from, until it was tested for the same since.
        tested_since: what became of these then.
        held: things on hold.
    """

    direct: Mapping[str, tuple[str, ...]]
    reached: Mapping[str, tuple[str, ...]]
    sources: Mapping[str, tuple[str, ...]]
    tested_since: Mapping[str, tuple[str, ...]]
    held: frozenset[str]

    def why(self, thing: str) -> tuple[str, ...]:
        """Return all reasons to hold a thing, those about itself first."""
        return (*self.direct.get(thing, ()), *self.reached.get(thing, ()))

    def why_not_sent(self, thing: str) -> tuple[str, ...]:
        """Return all reasons not to send a thing: those to hold it, and that it may be where an alarm came from."""
        return (*self.why(thing), *self.sources.get(thing, ()))


def doubts(state: StockState) -> Doubts:
    """Return why things may not leave, from all holds in force and all alarms that stand.

    A hold counts as a suspicion of any disease until it is released. What may be infected counts as infected since its
    last negative test for the same agent, or since ever.
    """
    direct: dict[str, list[str]] = {}
    reached: dict[str, list[str]] = {}
    sources: dict[str, list[str]] = {}
    tested_since: dict[str, list[str]] = {}
    held: set[str] = set()
    for doubt in (*_holds(state), *_alarms(state)):
        held |= set() if doubt.alarm else set(doubt.things)
        for thing in doubt.things:
            direct.setdefault(thing, []).append(doubt.words)
        found = exposed(doubt.things, state.contacts, doubt.agent)
        for thing in found.keys() - doubt.things.keys():
            chain = way_to(found, thing)
            ways = ", ".join(dict.fromkeys(WAY_WORDS[str(step.way)] for step in chain[1:]))
            reached.setdefault(thing, []).append(f"exposed by {chain[0].what} ({ways}): {doubt.words}")
        for thing in _sources(state, doubt) if doubt.alarm else ():
            again = _negative_since(state, thing, doubt)
            words = f"{doubt.words}; that may have come from here" + (f", {again}" if again else "")
            (tested_since if again else sources).setdefault(thing, []).append(words)
    return Doubts(_once(direct), _once(reached), _once(sources), _once(tested_since), frozenset(held))


def _once(reasons: Mapping[str, list[str]]) -> dict[str, tuple[str, ...]]:
    return {thing: tuple(dict.fromkeys(why)) for thing, why in reasons.items()}


def pots_in_bank(state: StockState, bank: str, on: date) -> list[str]:
    """Return the codes of the pots that stood in a bank on a day, of all banks if it is the tank's."""
    return [
        pot
        for pot, crops in state.pots.items()
        if any(
            standing.bank == bank or bank == TANK
            for crop in crops
            for standing in crop.standings
            if standing.since <= on and (standing.until is None or on < standing.until)
        )
    ]


def _holds(state: StockState) -> Iterable[Doubt]:
    for hold in state.held:
        words = f"{_subject(hold, 'bank')} on hold since {day_of(hold)}: {hold.cause}"
        yield Doubt(words, _since(state, _things(state, hold), hold), "not known", day_of(hold), False)


def _alarms(state: StockState) -> Iterable[Doubt]:
    for test in standing_alarms(state.records.tests):
        agent = test.agent if test.agent in AGENTS else "not known"
        words = f"{_subject(test, 'the water of')} tested {test.result} for {test.agent} on {day_of(test)}"
        yield Doubt(words, _since(state, _things(state, test), test), agent, day_of(test), True, test.agent)


def _subject(about: About, of_a_bank: str) -> str:
    return about.subject if about.pot or about.batch or about.lot else f"{of_a_bank} {about.subject}"


def _things(state: StockState, about: About) -> list[str]:
    """Return what a record is about: a pot, batch or lot, or the pots that stood in a bank's water then."""
    if about.pot or about.batch or about.lot:
        return [about.subject]
    return pots_in_bank(state, about.subject, day_of(about))


def _since(state: StockState, things: Iterable[str], about: Hold | HealthTest) -> dict[str, date]:
    agent = about.agent if isinstance(about, HealthTest) else None
    found = dict.fromkeys(things, date.min)
    for test in state.records.tests:
        if test.result == "negative" and agent == test.agent and test.at < about.at and test.subject in found:
            found[test.subject] = max(found[test.subject], day_of(test))
    return found


def _sources(state: StockState, doubt: Doubt) -> set[str]:
    """Return the lots and batches that an alarm may have come from."""
    back: set[str] = set()
    for thing in doubt.things:
        back |= possible_sources(thing, doubt.on, state.contacts, doubt.agent).keys()
    return (back & {*state.lots, *(cutting.batch for cutting in state.records.cuttings)}) - doubt.things.keys()


def _negative_since(state: StockState, thing: str, doubt: Doubt) -> str:
    """Return that a thing was tested for the agent of an alarm since, if it was and nothing was detected."""
    for test in state.records.tests:
        same = test.subject == thing and test.agent == doubt.tested_for
        if same and test.result == "negative" and day_of(test) >= doubt.on:
            return f"tested for it on {day_of(test)} and not detected"
    return ""
