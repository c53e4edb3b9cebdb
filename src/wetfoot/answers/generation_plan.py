"""From a few clean pots to the field's demand: year by year what to plant, lift, store, and what to do when short."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from wetfoot import __version__
from wetfoot.answers.generation_years import Start, Year, most_pots, reached, years_of
from wetfoot.answers.supply import YIELD_SOURCE, pot_yield_kg, supply
from wetfoot.answers.trace import Answer, Number, State
from wetfoot.crop.yields import yield_range_kg
from wetfoot.errors import Problem, WetfootError
from wetfoot.plan.model import Plan
from wetfoot.quantities import number_text, parse, show
from wetfoot.stock.generations import LARGEST_GENERATION
from wetfoot.stock.supply import pots_needed

CHAIN_SOURCE = "harvest of a generation, less culling, storage and cutting, is the seed of the next; the plan's losses"
PIECE_EXPONENT = 0.25
"""Yield of a pot goes with the piece's mass to this power (handbook, agronomy 1.2, a proposal there, sd 0.12)."""
LIKELY_GENERATIONS = 5
MOST_FIRST_POTS = 100_000
MOST_YEARS = LARGEST_GENERATION - 1  # the pots of the year after are needed for the last


@dataclass(frozen=True)
class Choice:
    """Something that can be done: the first year whose seed plants the field, from 1, or None; pots it takes."""

    name: str
    year: int | None
    pots: int
    seed_kg: float


@dataclass(frozen=True)
class GenerationPlan:
    """The years with the bench's pots, the same with enough pots for the field, and what else can be done."""

    plan: Plan
    start: Start
    need_kg: float
    bench: tuple[Year, ...]
    unbounded: tuple[Year, ...]
    choices: tuple[Choice, ...]
    answer: Answer

    def record(self) -> dict[str, Any]:
        """Return the plan for machines."""
        years = {
            name: [{key: value for key, value in vars(year).items()} for year in found]
            for name, found in (("bench", self.bench), ("enough_pots", self.unbounded))
        }
        answer = {**self.answer.record(self.plan.units), **years, "choices": [vars(each) for each in self.choices]}
        trace = {"plan": self.plan.title, "start": vars(self.start), "wetfoot": __version__}
        return {"answer": answer, "units": self.plan.units, "trace": trace, "warnings": list(self.answer.warnings)}


def start_from(pots: str, first_yield: str = "", years: str = "5") -> Start:
    """Return what a person typed as a start.

    Raises:
        WetfootError: with everything that cannot be read.
    """
    problems: list[Problem] = []
    counts = {"pots": pots.strip(), "years": years.strip()}
    for name, typed in counts.items():
        if not (typed.isascii() and typed.isdecimal() and len(typed) <= 6):
            what = f"{typed!r} is not a whole number"
            problems.append(Problem(name, what, "a whole number such as 12", "correct it"))
    a_pot = None
    try:
        a_pot = parse(first_yield, "mass", "first_yield") if first_yield.strip() else None
    except WetfootError as refused:
        problems += refused.problems
    if problems:
        raise WetfootError(problems)
    return Start(int(counts["pots"]), a_pot, int(counts["years"]))


def generation_plan(plan: Plan, start: Start) -> GenerationPlan:
    """Return the years from the first clean pots to the field's demand.

    Raises:
        WetfootError: for a start that cannot be.
    """
    _checked(start)
    need = supply(plan).demand.planted_kg
    bench = years_of(plan, start, plan.pots)
    unbounded = years_of(plan, start, max(most_pots(plan, start), plan.pots))
    choices = tuple(_choices(plan, start))
    answer = Answer(
        "When does clean seed from these pots plant the field?",
        _state(bench),
        _words(plan, start, bench, unbounded),
        _numbers(plan, start, need, bench, unbounded),
        _warnings(plan, start, bench),
    )
    return GenerationPlan(plan, start, need, bench, unbounded, choices, answer)


def _checked(start: Start) -> None:
    found = []
    if not 1 <= start.pots <= MOST_FIRST_POTS:
        found.append(Problem("pots", f"{start.pots} cannot be begun with", f"1 to {MOST_FIRST_POTS:,}", "correct it"))
    if not 1 <= start.years <= MOST_YEARS:
        found.append(Problem("years", f"{start.years} years", f"1 to {MOST_YEARS}", "correct it"))
    if start.pot_yield_kg is not None and not 0.01 <= start.pot_yield_kg <= 50.0:
        found.append(Problem("first_yield", f"{start.pot_yield_kg:g} kg a pot", "0.01 to 50 kg", "correct it"))
    if found:
        raise WetfootError(found)


def _choices(plan: Plan, start: Start) -> Iterator[Choice]:
    """Yield what can be done when seed or pots are short, each over the years that are looked at."""
    pieces, enough = plan.crop.pieces_per_pot, most_pots(plan, start)
    yield _choice("as planned, the bench's pots", plan, start, plan.pots)
    if enough > plan.pots:
        yield _choice(f"enough pots: {enough} instead of {plan.pots}", plan, start, enough)
    if pieces > 1:
        fewer = _with_pieces(plan, pieces - 1)
        yield _choice(f"{pieces - 1} instead of {pieces} pieces a pot", fewer, start, plan.pots)
        if (most := most_pots(fewer, start)) > plan.pots:
            yield _choice(f"{pieces - 1} pieces a pot, and enough pots", fewer, start, most)
    smaller = _with_pieces(plan, pieces, 0.6)
    grams = f"{1000 * smaller.goal.piece_mass_kg:.0f} g"
    yield _choice(f"pieces of {grams} in the pots and the field", smaller, start, plan.pots)
    twice = replace(start, pots=2 * start.pots)
    yield _choice(f"begin with {twice.pots} clean pots", plan, twice, plan.pots)


def _choice(name: str, plan: Plan, start: Start, pots: int) -> Choice:
    years = years_of(plan, start, pots)
    return Choice(name, reached(years), max(year.pots for year in years), years[-1].field_kg)


def _with_pieces(plan: Plan, pieces: int, share: float = 1.0) -> Plan:
    """Return the plan with other pieces; smaller ones yield less, and plant as many stations of the field."""
    crop = plan.crop.model_copy(
        update={"pieces_per_pot": pieces, "yield_factor": plan.crop.yield_factor * share**PIECE_EXPONENT}
    )
    rate = plan.goal.seed_rate_kg_m2
    goal = plan.goal.model_copy(
        update={"piece_mass_kg": plan.goal.piece_mass_kg * share, "seed_rate_kg_m2": rate and rate * share}
    )
    return plan.model_copy(update={"crop": crop, "goal": goal})


def _state(bench: tuple[Year, ...]) -> State:
    when = reached(bench)
    return "no" if when is None else "yes" if when <= 2 else "watch"


def _words(plan: Plan, start: Start, bench: tuple[Year, ...], unbounded: tuple[Year, ...]) -> str:
    own, free = reached(bench), reached(unbounded)
    words = f"{start.pots} clean pots planted on {bench[0].planted}: "
    if own is not None:
        words += f"with the bench's {plan.pots} pots, the seed ready on {bench[own - 1].ready} plants the whole field."
    else:
        best = max(bench, key=lambda year: year.field_share)
        words += (
            f"the bench's {plan.pots} pots never plant the whole field in {len(bench)} years, at most "
            f"{100 * best.field_share:.0f} % of it."
        )
    if free is not None and (own is None or free < own):
        pots = max(year.pots for year in unbounded[:free])
        words += f" With enough pots it would be on {unbounded[free - 1].ready}, with {pots} pots."
    elif free is None:
        words += f" More pots alone do not bring it within {len(bench)} years: seed is short."
    return words


def _numbers(
    plan: Plan, start: Start, need: float, bench: tuple[Year, ...], unbounded: tuple[Year, ...]
) -> tuple[Number, ...]:
    low, high = yield_range_kg(pot_yield_kg(plan), plan.goal.season_spread)
    last = [years_of(plan, start, plan.pots, each)[-1].field_kg for each in (low, high)]
    harvest = supply(plan).demand.harvest_kg
    wanted = pots_needed(harvest, pot_yield_kg(plan), plan.goal.pot_survival)
    return (
        Number("seed that the field asks for, cut", need, "area and seed rate", "plan", kind="mass"),
        Number("pots that the field asks for", wanted, "harvest to lift over yield and survival", YIELD_SOURCE,
               unit="pots"),
        Number("clean pots to begin with", start.pots, "as typed", "typed", unit="pots"),
        Number(f"seed for the field in year {len(bench)}, the bench's pots", bench[-1].field_kg,
               "what the next year's own pots leave; in brackets if every season were poor, or good", CHAIN_SOURCE,
               kind="mass", low=last[0], high=last[1]),
        Number(f"seed for the field in year {len(bench)}, enough pots", unbounded[-1].field_kg,
               "pots as the seed fills them, up to what the field asks for", CHAIN_SOURCE, kind="mass"),
    )  # fmt: skip


def _warnings(plan: Plan, start: Start, bench: tuple[Year, ...]) -> tuple[str, ...]:
    found = []
    if reached(bench) is None:
        short = bench[-1]
        area = show(plan.goal.field_area_m2 * short.field_share, "field_area", plan.units)
        found.append(
            f"Short after {len(bench)} years: plant {area} with clean seed and the rest another year, bring in clean "
            "seed with its permit, or take one of the choices below. Do not fill up with untested seed."
        )
    if len(bench) > LIKELY_GENERATIONS:
        found.append(
            f"After {LIKELY_GENERATIONS} generations in pots begin anew from tested plants: every cycle is a chance "
            "for something to creep in (common practice, no source)."
        )
    if start.pot_yield_kg is None:
        usual = number_text(pot_yield_kg(plan))
        found.append(
            f"The first pots are taken to give as much as later ones, {usual} kg where they live; plants out of tissue "
            "culture often give less in their first season: type what you expect of them."
        )
    return tuple(found)
