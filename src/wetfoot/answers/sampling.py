"""How many to test, pooled how, and what may be said afterwards: 'not detected', with its limit, never 'free'."""

from __future__ import annotations

from dataclasses import dataclass

from wetfoot.answers.trace import Answer, Number, State
from wetfoot.errors import Problem, WetfootError, refuse
from wetfoot.quantities import number_text, parse
from wetfoot.stock.pooling import cheapest_pool, pool_detection, pools_needed
from wetfoot.stock.sampling import (
    chance_infected,
    detection_probability,
    false_alarm_chance,
    infected_units,
    prevalence_bounds,
    sample_size,
    sample_size_of_many,
)

FINITE_SOURCE = "ISPM 31 (2008), hypergeometric, acceptance number 0; imperfect tests by mixture"
MANY_SOURCE = "ISPM 31 (2008), binomial"
BOUND_SOURCE = "Clopper & Pearson (1934), one-sided"
POOL_SOURCE = "pool detection Se (1 - (1 - p)^k) with perfect specificity; retests by Dorfman (1943)"
DEFAULT_PRIOR = 0.10
SPECIFICITY = 0.99


@dataclass(frozen=True)
class Wish:
    """What a person wants to find out.

    Attributes:
        lot: units in the lot: pots, or pieces.
        prevalence: the level that must not go unseen, as a fraction.
        confidence: chance of finding it.
        sensitivity: of the test.
        pool: units in one test.
        prior: how likely the lot is thought infected beforehand.
    """

    lot: int
    prevalence: float = 0.05
    confidence: float = 0.95
    sensitivity: float = 0.9
    pool: int = 1
    prior: float = DEFAULT_PRIOR


def typed_wish(lot: int, level: str, certainty: str, sensitivity: str, pool: int, mark: str = "") -> Wish:
    """Return a wish whose fractions are as a person typed them, as '5 %'.

    Args:
        lot: units in the lot.
        level, certainty, sensitivity: as typed.
        pool: units in one test.
        mark: stands before their names in a refusal, as '--' of options.

    Raises:
        WetfootError: for the first that is no fraction.
    """
    named = (("level", level), ("certainty", certainty), ("sensitivity", sensitivity))
    prevalence, confidence, finds = (parse(typed, "fraction", mark + name) for name, typed in named)
    return Wish(lot, prevalence, confidence, finds, pool)


def sampling(wish: Wish) -> Answer:
    """Return the plan of a sample in words, with what a clean result would and would not say.

    Raises:
        WetfootError: for each value that cannot be.
    """
    _check(wish)
    if wish.pool > 1:
        return _pooled(wish)
    size = sample_size(wish.lot, wish.prevalence, wish.confidence, wish.sensitivity)
    if size is None:
        return _out_of_reach(wish)
    state: State = "yes" if size <= 0.5 * wish.lot else "watch"
    words = (
        f"Test {size} of {wish.lot}, one piece from each, drawn at random. If {_percent(wish.prevalence)} of them are "
        f"infected, at least one test will show it with {_percent(wish.confidence)} certainty. {_claim(wish, size)}"
    )
    found = detection_probability(size, wish.lot, infected_units(wish.lot, wish.prevalence), wish.sensitivity)
    how = f"lot {wish.lot}, design level {_percent(wish.prevalence)}, sensitivity {_percent(wish.sensitivity)}"
    numbers = (
        Number("units to test", size, how, FINITE_SOURCE, unit="units"),
        Number("chance to find it", 100 * found, f"{size} tested", FINITE_SOURCE, unit="%"),
        Number("units to test of a very large lot", sample_size_of_many(wish.prevalence, wish.confidence,
               wish.sensitivity), how, MANY_SOURCE, unit="units"),
        *_afterwards(wish, size),
    )  # fmt: skip
    return Answer("How many do I test?", state, words, numbers, _warnings(wish, size))


def _pooled(wish: Wish) -> Answer:
    pools = pools_needed(wish.prevalence, wish.pool, wish.confidence, wish.sensitivity)
    units = pools * wish.pool
    enough = units <= wish.lot
    words = (
        f"Test {pools} pools of {wish.pool}, {units} units in all. A positive pool holds all units of it. "
        f"{_claim(wish, units)}"
        if enough
        else f"{pools} pools of {wish.pool} take {units} units, the lot has {wish.lot}: smaller pools, or test all."
    )
    how = f"design level {_percent(wish.prevalence)}, pools of {wish.pool}, sensitivity {_percent(wish.sensitivity)}"
    cheapest = cheapest_pool(min(wish.prevalence, 0.4))
    numbers = (
        Number("pools to test", pools, how, POOL_SOURCE, unit="pools"),
        Number("units in them", units, "pools times units", POOL_SOURCE, unit="units"),
        Number("chance that one pool shows it", 100 * pool_detection(wish.prevalence, wish.pool, wish.sensitivity), how,
               POOL_SOURCE, unit="%"),
        Number("pool that costs the fewest tests with retests", cheapest, "whole numbers up to 200", POOL_SOURCE,
               unit="units"),
        *_afterwards(wish, units),
    )  # fmt: skip
    warnings = (
        f"One infected unit among {wish.pool} must still show: the test's limit of detection has to be "
        f"{wish.pool} times below what one infected unit holds. Ask the laboratory.",
        *_warnings(wish, units),
    )
    return Answer("How many do I test?", "yes" if enough else "no", words, numbers, warnings)


def _out_of_reach(wish: Wish) -> Answer:
    infected = infected_units(wish.lot, wish.prevalence)
    if infected < 1:
        least = 1.0 / wish.lot
        words = (
            f"{_percent(wish.prevalence)} of {wish.lot} is less than one unit: no sample of this lot can speak of it. "
            f"The lowest level that can be meant is {_percent(least)}."
        )
    else:
        words = (
            f"With a test that finds {_percent(wish.sensitivity)} of infected units, even testing all {wish.lot} finds "
            f"{infected} infected with under {_percent(wish.confidence)} certainty: test twice, or by a better test."
        )
    numbers = (Number("units at the design level", infected, "lot times level, rounded down", FINITE_SOURCE,
                      unit="units"),)  # fmt: skip
    return Answer("How many do I test?", "no", words, numbers)


def _claim(wish: Wish, tested: int) -> str:
    upper = prevalence_bounds(0, tested, wish.confidence, sensitivity=wish.sensitivity).high
    return (
        f"If none is positive, you may say: not detected in {tested} of {wish.lot}; fewer than {_percent(upper)} "
        f"infected, with {_percent(wish.confidence)} certainty. You may not say: free."
    )


def _afterwards(wish: Wish, tested: int) -> tuple[Number, ...]:
    upper = prevalence_bounds(0, tested, wish.confidence, sensitivity=wish.sensitivity).high
    belief = chance_infected(wish.prior, wish.prevalence, tested, wish.sensitivity)
    how, prior = f"0 of {tested}, sensitivity counted", f"believed {_percent(wish.prior)} before, at the design level"
    alarm = false_alarm_chance(tested, SPECIFICITY)
    clean = f"{tested} tests of {_percent(SPECIFICITY)} specificity, all clean"
    return (
        Number("infected at most, if none is positive", 100 * upper, how, BOUND_SOURCE, unit="%"),
        Number("chance that it is infected all the same", 100 * belief, prior, "Bayes", unit="%"),
        Number("chance of a false alarm", 100 * alarm, clean, "1 - Sp^n", unit="%"),
    )


def _warnings(wish: Wish, tested: int) -> tuple[str, ...]:
    found = ["Sample pots, not pieces: pieces of one pot share its fate. Confirm every positive before acting on it."]
    if false_alarm_chance(tested, SPECIFICITY) > 0.2:
        found.append("With so many tests a false positive is likely; hold what is positive and test it again.")
    return tuple(found)


def _check(wish: Wish) -> None:
    problems = []
    if not 1 <= wish.lot <= 10_000_000:
        problems.append(Problem("lot", f"{wish.lot} units", "1 to 10,000,000", "count the pots"))
    for name, value in (("prevalence", wish.prevalence), ("confidence", wish.confidence), ("prior", wish.prior)):
        if not 0.0 < value < 1.0:
            problems.append(Problem(name, f"{100 * value:g} %", "above 0 % and below 100 %", "write it as '5 %'"))
    if not 0.0 < wish.sensitivity <= 1.0:
        problems.append(
            Problem("sensitivity", f"{100 * wish.sensitivity:g} %", "above 0 % to 100 %", "ask the laboratory")
        )
    if not 1 <= wish.pool <= max(1, wish.lot):
        raise refuse("pool", f"{wish.pool} units in a pool", f"1 to {wish.lot}", "make the pool smaller")
    if problems:
        raise WetfootError(problems)


def _percent(fraction: float) -> str:
    return f"{number_text(100 * fraction)} %"
