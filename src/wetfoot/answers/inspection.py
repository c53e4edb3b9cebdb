"""The look at every pot on a day: which are on hold or suspect, which to sample, what to look for."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from wetfoot.answers.doubtful_stock import doubts, pots_in_bank
from wetfoot.answers.sampled_pots import SampledPots, sampled_pots
from wetfoot.answers.sampling import Wish
from wetfoot.answers.stock_records import stock_state
from wetfoot.book.entries import tidy
from wetfoot.errors import refuse
from wetfoot.plan.model import Plan
from wetfoot.stock.pots import Crop

USUAL = Wish(1, prevalence=0.10)
LONGEST = 100
WARM_C = 26.0  # handbook, agronomy 3.1
HANDBOOK = "handbook, agronomy 8"
COMMON = "common practice, no source"


@dataclass(frozen=True)
class Sign:
    """What to look for: a name for the head of a column, what is seen, how to make sure, where it is from.

    In ``check``, {warm} stands for `WARM_C`, above which rot spreads.
    """

    name: str
    seen: str
    check: str
    source: str


SIGNS = (
    Sign("wilt", "Bacterial wilt: one shoot curls, yellows from its base and wilts at noon, the stem water-soaked",
         "cut the stem in clear water and watch for a milky stream; strip on the bank's water", HANDBOOK),
    Sign("wet rot", "Rhizome rot: wet and foul; yellow, then collapse within weeks in hot weather",
         "smell, press the base of the shoots; is the solution above {warm}?", HANDBOOK),
    Sign("yellows", "Yellows: yellowing on one side, a dry brown ring in the rhizome", "slice a piece", HANDBOOK),
    Sign("leaf spot", "Leaf spot: small pale spots with a dark edge that run together, old leaves first",
         "hold the leaf against the light; look for dark specks in the spots", COMMON),
    Sign("nematodes", "Nematodes: stunted, galls on roots at the drain holes, a warty rhizome",
         "wash roots, use a lens", HANDBOOK),
    Sign("virus", "Virus: pale flecks, streaks or a mosaic on young leaves, the plant smaller than its neighbours",
         "compare leaves of one age; send leaves to the laboratory", COMMON),
)  # fmt: skip


@dataclass(frozen=True)
class Inspection:
    """A day's look at the pots.

    Attributes:
        plan: of the bench.
        on: the day.
        doubtful: pots on hold or suspect, with the reasons.
        banks: the other pots, by bank.
        sample: which of these to sample; None if there are none.
    """

    plan: Plan
    on: date
    doubtful: tuple[tuple[str, str], ...]
    banks: tuple[tuple[str, tuple[str, ...]], ...]
    sample: SampledPots | None


def inspection(
    plan: Plan, folder: Path, on: date, wish: Wish = USUAL, agent: str = "bacterial wilt", seed: str = ""
) -> Inspection:
    """Return the pots that stand on a day, those on hold or suspect apart, and which of the others to sample.

    Args:
        plan: the plan.
        folder: the season's folder.
        on: the day.
        wish: what the sample shall find; of how many is counted here.
        agent: what the sample is tested for, in words.
        seed: draws the sample; the day and the agent if empty, so that the same list is printed again.

    Raises:
        WetfootError: if no pot stands on that day, nothing is looked for, or the sample cannot be as wished.
    """
    agent, seed = tidy(agent), tidy(seed)
    if not 1 <= len(agent) <= LONGEST or len(seed) > LONGEST:
        allowed = f"1 to {LONGEST} letters, a seed of at most as many"
        raise refuse("agent", "nothing is named, or the text is too long", allowed, "say what the sample is tested for")
    state = stock_state(plan, folder)
    known = doubts(state)
    names = dict.fromkeys([*(bank.name for bank in plan.banks), *_banks_stood_in(state.pots.values())])
    standing = {bank: _in_order(pots_in_bank(state, bank, on)) for bank in names}
    if not any(standing.values()):
        raise refuse("on", f"no pot stands on {on}", "a day between planting and harvest", "choose another day")
    doubtful = [(pot, "; ".join(known.why(pot))) for pots in standing.values() for pot in pots if known.why(pot)]
    apart = {pot for pot, _ in doubtful}
    banks = tuple((bank, tuple(pot for pot in pots if pot not in apart)) for bank, pots in standing.items())
    banks = tuple((bank, pots) for bank, pots in banks if pots)
    sample = sampled_pots(banks, wish, agent, seed or f"{on} {agent}") if banks else None
    # what is on hold itself before what was only exposed by it
    first = sorted(doubtful, key=lambda row: row[0] not in known.direct)
    return Inspection(plan, on, tuple(first), banks, sample)


def _banks_stood_in(pots: Iterable[tuple[Crop, ...]]) -> list[str]:
    return [standing.bank for crops in pots for crop in crops for standing in crop.standings]


def _in_order(pots: list[str]) -> list[str]:
    """Return pots by bank and number, so that 'East 10' comes after 'East 9'."""

    def place(pot: str) -> tuple[str, int, str]:
        bank, _, number = pot.rpartition(" ")
        return (bank, int(number), pot) if number.isascii() and number.isdecimal() else (pot, 0, pot)

    return sorted(dict.fromkeys(pots), key=place)
