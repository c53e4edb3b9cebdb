"""Which pots to sample, drawn by lot with a stored seed, pooled how, and what may be said if no test is positive."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import islice

from wetfoot.answers.sampling import Wish, sampling
from wetfoot.answers.trace import Answer, Number, State
from wetfoot.quantities import number_text
from wetfoot.stock.finite_pools import most_unseen, pools_detection, pools_of_lot
from wetfoot.stock.random_pots import METHOD, drawn
from wetfoot.stock.sampling import infected_units

MOST_TRIED = 200  # infected pots, when it is said which level a sample can tell
QUESTION = "Which pots do I sample?"
SOURCE = "ISPM 31 (2008), hypergeometric, acceptance number 0; pools by the same draw; bound by inverted test"
WHY_SIMPLE = (
    "Drawn from all these pots alike, not bank by bank: so the number of ISPM 31 holds wherever infected pots stand."
)


@dataclass(frozen=True)
class SampledPots:
    """The pots to sample.

    Attributes:
        pots: those they were drawn from, in the order of the bench.
        pools: the drawn pots, those of one test together, in the order drawn; none if no sample can tell.
        agent: what is looked for.
        seed: draws the same pots again.
        left_out: banks of which no pot was drawn.
        answer: the plan in words, with its numbers.
    """

    pots: tuple[str, ...]
    pools: tuple[tuple[str, ...], ...]
    agent: str
    seed: str
    left_out: tuple[str, ...]
    answer: Answer

    def pool_of(self, pot: str) -> int | None:
        """Return the number of the test a pot goes into, from 1; None if it was not drawn."""
        return next((number for number, pool in enumerate(self.pools, 1) if pot in pool), None)


def sampled_pots(pots_by_bank: Sequence[tuple[str, Sequence[str]]], wish: Wish, agent: str, seed: str) -> SampledPots:
    """Return which pots to sample.

    Args:
        pots_by_bank: the banks in the order of the bench, each with the codes of its pots: what the sample speaks of.
        wish: what it shall find; its ``lot`` is replaced by the number of pots.
        agent: what is looked for, in words.
        seed: any text; the same text draws the same pots of the same bench for ever.

    Raises:
        WetfootError: if there are no pots, or a level, certainty, sensitivity or pool cannot be.
    """
    pots = [pot for _, codes in pots_by_bank for pot in codes]
    wish = Wish(len(pots), wish.prevalence, wish.confidence, wish.sensitivity, wish.pool, wish.prior)
    sampling(wish)  # refuses what cannot be
    sizes = pools_of_lot(wish.lot, wish.prevalence, wish.pool, wish.confidence, wish.sensitivity)
    if sizes is None:
        return SampledPots(tuple(pots), (), agent, seed, (), _out_of_reach(wish))
    order = iter(drawn(pots, sum(sizes), seed))
    pools = tuple(tuple(islice(order, size)) for size in sizes)
    taken = {pot for pool in pools for pot in pool}
    left_out = tuple(bank for bank, codes in pots_by_bank if codes and not taken & set(codes))
    answer = _answer(wish, sizes, agent, seed, left_out)
    return SampledPots(tuple(pots), pools, agent, seed, left_out, answer)


def _answer(wish: Wish, sizes: list[int], agent: str, seed: str, left_out: tuple[str, ...]) -> Answer:
    units, infected = sum(sizes), infected_units(wish.lot, wish.prevalence)
    chance = pools_detection(sizes, wish.lot, infected, wish.sensitivity)
    unseen = most_unseen(sizes, wish.lot, wish.confidence, wish.sensitivity)
    pooled = f", in {len(sizes)} pools of {wish.pool}" if wish.pool > 1 else ", each by itself"
    words = (
        f"Look for {agent}: take one piece or core from each of {units} of {wish.lot} pots{pooled}. If {infected} or "
        f"more of the {wish.lot} are infected, at least one test shows it with {_percent(chance)} certainty. "
        f"{_claim(wish, units, unseen, agent)} {WHY_SIMPLE}"
    )
    how = f"{wish.lot} pots, level {_percent(wish.prevalence)}, a test finds {_percent(wish.sensitivity)}"
    state: State = "yes" if units <= 0.5 * wish.lot else "watch"
    numbers = (
        Number("pots to sample", units, how, SOURCE, unit="pots"),
        Number("tests", len(sizes), f"pools of {wish.pool}", SOURCE, unit="tests"),
        Number("chance to find it", 100 * chance, f"{infected} infected of {wish.lot}", SOURCE, unit="%"),
        Number("infected at most, if no test is positive", unseen, f"{_percent(wish.confidence)} certainty", SOURCE,
               unit="pots"),
    )  # fmt: skip
    return Answer(QUESTION, state, words, numbers, tuple(_warnings(wish, seed, left_out)))


def _claim(wish: Wish, units: int, unseen: int, agent: str) -> str:
    """Return what may be said if no test is positive, and what may not."""
    remain = f"at most {unseen} of the {wish.lot} infected" if unseen else f"none of the {wish.lot} seen infected"
    return (
        f"If no test is positive, you may say: {agent} not detected in {units} of {wish.lot} pots by the method used "
        f"and its limit; {remain}, with {_percent(wish.confidence)} certainty. You may not say: free."
    )


def _warnings(wish: Wish, seed: str, left_out: tuple[str, ...]) -> list[str]:
    found = [
        "What a test finds of infected pots is its own sensitivity times the share of such a pot's pieces that are "
        "infected: where only some are, ask with less, or take more pieces of each pot.",
        f"To draw the same pots again: seed '{seed}', pots in the order of the bench; {METHOD}.",
    ]
    if left_out:
        found.append(f"No pot was drawn of {', '.join(left_out)}: test the water there too.")
    if wish.pool > 1:
        found.append(
            "Keep half of each piece back. If a pool is positive, its pots and all that share their water are on hold "
            f"until each was tested by itself. One infected piece among {wish.pool} must still show: ask the "
            "laboratory."
        )
    return found


def _out_of_reach(wish: Wish) -> Answer:
    """Return that no sample of these pots can tell it, and from which level on one can."""
    reach = _least_told(wish)
    infected = infected_units(wish.lot, wish.prevalence)
    words = (
        f"No sample of these {wish.lot} pots can tell a level of {_percent(wish.prevalence)} with "
        f"{_percent(wish.confidence)} certainty: it stands for {infected or 'less than one'} of them, and a test finds "
        f"{_percent(wish.sensitivity)}."
    )
    if reach is not None:
        level = math.ceil(1000.0 * reach / wish.lot) / 1000.0
        words += f" From {_percent(level)} on, {reach} of {wish.lot}, one can: ask for that level."
    how = f"{wish.lot} pots times {_percent(wish.prevalence)}, rounded down"
    return Answer(QUESTION, "no", words, (Number("pots at this level", infected, how, SOURCE, unit="pots"),))


def _least_told(wish: Wish) -> int | None:
    """Return the fewest infected pots that a sample can tell; None if no sample can tell even many."""
    pools = [wish.pool] * (wish.lot // wish.pool) + ([wish.lot % wish.pool] if wish.lot % wish.pool else [])
    numbers = range(1, min(wish.lot, MOST_TRIED))
    least = bisect_left(numbers, wish.confidence,
                        key=lambda infected: pools_detection(pools, wish.lot, infected, wish.sensitivity))  # fmt: skip
    return numbers[least] if least < len(numbers) else None


def _percent(fraction: float) -> str:
    return f"{number_text(100 * fraction)} %"
