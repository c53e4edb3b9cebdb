"""All answers of a season together, computed once from the plan, its weather and its book."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from wetfoot import __version__
from wetfoot.answers.calendar import Entry, calendar
from wetfoot.answers.cautions import Caution, cautions
from wetfoot.answers.enough import bank_size, enough
from wetfoot.answers.heat import heat
from wetfoot.answers.leaks import Leaks, leaks
from wetfoot.answers.learned import Learned, learned
from wetfoot.answers.materials import Bill, bill
from wetfoot.answers.money import Money, money
from wetfoot.answers.nests import nest_numbers
from wetfoot.answers.odds import Odds, odds
from wetfoot.answers.readings import Readings, season_readings
from wetfoot.answers.solution import Mix, mix
from wetfoot.answers.supply import Supply, supply
from wetfoot.answers.trace import SEED, Answer, Number
from wetfoot.answers.visits import Frontier, frontier
from wetfoot.answers.water import PeakBench, peak_bench, peak_draw_l_d, peak_levels, shim_words, water
from wetfoot.answers.weather import season_weather, weather_warnings
from wetfoot.answers.wicking import Wicking, wicking
from wetfoot.plan.file import plan_path, read_plan
from wetfoot.plan.model import Plan
from wetfoot.plan.risks import risks
from wetfoot.season.ensemble import Ensemble, run_ensemble
from wetfoot.water.network import BenchLevels
from wetfoot.weather.comparison import Compared, compare
from wetfoot.weather.seasons import Seasons

RUNS = 200
ODDS_RUNS, FRONTIER_RUNS = 100, 60
EXPECTED_COMPARISONS = 20  # of each of the two, for showing how far they are
MOST_EC_ANSWERS = 4


@dataclass(frozen=True)
class Dossier:
    """Everything that is printed for a season.

    Attributes:
        plan: what it was computed from.
        weather_source: the weather file in words.
        seasons: the weather's years.
        ensemble: the season over many draws.
        supply: pots and seed.
        water: whether the water holds: the tank, then each bank.
        peak: the bench and its draw at the thirstiest hour.
        levels: every pot's depth at the thirstiest hour.
        shims: which pots to raise or lower.
        leaks: what happens if something breaks.
        wicking: whether the medium wets and breathes, by nest.
        heat: how hot the roots get.
        mix: what to mix.
        nests: what each nest holds.
        calendar: day by day.
        bill: what to buy.
        cautions: what can hurt.
        readings: what the book holds to compare with.
        enough: whether the pots are enough for a poor season too.
        bank_size: how many pots may share one water.
        money: what clean seed costs; None without prices.
        learned: what the readings taught about water use and leaks.
        warnings: what is risky, what was estimated, what was left out.
    """

    plan: Plan
    weather_source: str
    seasons: Seasons
    ensemble: Ensemble
    supply: Supply
    water: tuple[Answer, ...]
    peak: PeakBench
    levels: BenchLevels
    shims: tuple[str, ...]
    leaks: Leaks
    wicking: dict[str, Wicking]
    heat: tuple[Answer, ...]
    mix: Mix
    nests: dict[str, tuple[Number, ...]]
    calendar: tuple[Entry, ...]
    bill: Bill
    cautions: tuple[Caution, ...]
    readings: Readings
    enough: Answer
    bank_size: Answer
    money: Money | None
    learned: Learned
    warnings: tuple[str, ...]

    @property
    def answers(self) -> tuple[Answer, ...]:
        """The answers in the order in which they are read."""
        return (
            self.supply.answer,
            self.enough,
            *self.water,
            self.frontier.answer,
            self.odds.answer,
            self.leaks.answer,
            *self.wicking_answers,
            *self.heat,
            *self.learned_answers,
            self.bank_size,
            *((self.money.answer,) if self.money else ()),
            self.mix.answer,
        )

    @cached_property
    def odds(self) -> Odds:
        """The odds of the season, and what each change buys; computed when first asked for (`compare`)."""
        return odds(self.plan, self.seasons, self.ensemble, min(ODDS_RUNS, self.ensemble.runs))

    @cached_property
    def frontier(self) -> Frontier:
        """How often to come and with what tank; computed when first asked for (`compare`)."""
        return frontier(self.plan, self.seasons, min(FRONTIER_RUNS, self.ensemble.runs))

    def compare(self, progress: Callable[[float], None] | None = None) -> None:
        """Compute odds and frontier now.

        Args:
            progress: called with the share of it that is done.
        """
        if "odds" not in vars(self):
            step = _share(progress, 0.0, 0.5, EXPECTED_COMPARISONS)
            runs = min(ODDS_RUNS, self.ensemble.runs)
            vars(self)["odds"] = odds(self.plan, self.seasons, self.ensemble, runs, step)
        if "frontier" not in vars(self):
            step = _share(progress, 0.5, 1.0, EXPECTED_COMPARISONS)
            vars(self)["frontier"] = frontier(self.plan, self.seasons, min(FRONTIER_RUNS, self.ensemble.runs), step)

    @property
    def learned_answers(self) -> tuple[Answer, ...]:
        """What the readings taught; nothing before there are any."""
        return (
            (self.learned.use, self.learned.verdict, *self.learned.ec[:MOST_EC_ANSWERS]) if self.learned.found else ()
        )

    @property
    def compared_weather(self) -> tuple[Compared, ...]:
        """The years that were made against the record, if any were."""
        return compare(self.seasons) if self.seasons.made else ()

    @property
    def wicking_answers(self) -> tuple[Answer, ...]:
        """The answers on the media of the nests in use."""
        return tuple(found.answer for found in self.wicking.values())

    def record(self) -> dict[str, Any]:
        """Return the dossier for machines: answer, units, trace, warnings."""
        system = self.plan.units
        return {
            "answer": [answer.record(system) for answer in self.answers]
            + [
                {
                    "question": f"What does nest {name} hold?",
                    "numbers": [number.record(system) for number in numbers],
                }
                for name, numbers in self.nests.items()
            ],
            "units": system,
            "trace": self.trace(),
            "warnings": [*self.warnings, *(w for answer in self.answers for w in answer.warnings)],
        }

    def trace(self) -> dict[str, Any]:
        """Return what the season was computed from."""
        return {
            "plan": self.plan.title,
            "weather": self.weather_source,
            "weather years": [run.year for run in self.seasons.record],
            "years made": f"{self.seasons.made} {self.seasons.how}" if self.seasons.made else "none",
            "composed year": self.seasons.composed,
            "runs": self.ensemble.runs,
            "seed": self.ensemble.seed,
            "wetfoot": __version__,
        }


def _share(
    progress: Callable[[float], None] | None, start: float, end: float, steps: int
) -> Callable[[int], None] | None:
    """Return what to call with a count of steps, so that progress is told as a share."""
    if progress is None:
        return None
    return lambda done: progress(start + (end - start) * min(done / steps, 1.0))


def season_dossier(
    folder: Path, runs: int = RUNS, seed: int = SEED, progress: Callable[[int], None] | None = None
) -> Dossier:
    """Return the answers of the season that a folder describes.

    Args:
        folder: the season's folder, or the plan's file.
        runs: how often the season is computed, for its spread.
        seed: of the random numbers.
        progress: called with the number of runs done.

    Raises:
        WetfootError: if plan, weather or book cannot be used, with every reason.
    """
    plan, where = read_plan(folder), plan_path(folder).parent
    weather, seasons = season_weather(plan, where)
    ensemble = run_ensemble(plan, seasons, runs, seed, progress)
    mixed, supplied = mix(plan, ensemble), supply(plan)
    peak = peak_bench(plan, ensemble)
    levels = peak_levels(peak)
    draws: dict[str, float] = {}
    for index, bank in enumerate(plan.banks):
        draws[bank.nest] = max(draws.get(bank.nest, 0.0), peak_draw_l_d(ensemble, index))
    return Dossier(
        plan=plan,
        weather_source=weather.source,
        seasons=seasons,
        ensemble=ensemble,
        supply=supplied,
        water=water(plan, ensemble, levels),
        peak=peak,
        levels=levels,
        shims=shim_words(plan, peak),
        leaks=leaks(plan, peak),
        wicking={name: wicking(plan, name, draw) for name, draw in draws.items()},
        heat=heat(plan, seasons),
        mix=mixed,
        nests={name: nest_numbers(plan, name, draw) for name, draw in draws.items()},
        calendar=calendar(plan, ensemble, mixed),
        bill=bill(plan, mixed),
        cautions=cautions(plan),
        readings=season_readings(plan, where),
        enough=enough(plan, supplied),
        bank_size=bank_size(plan),
        money=money(plan),
        learned=learned(plan, where, seasons, ensemble),
        warnings=(*risks(plan), *weather_warnings(plan, weather, seasons)),
    )
