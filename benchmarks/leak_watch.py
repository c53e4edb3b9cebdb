"""The leak watch on invented seasons: false alarms, leaks found and how soon, by what is known of the weather.

Truths come from the weather generator fitted to a record, in groups of ten; the model knows ten further years of it
(one typical year, or the record's four, where the row says so) and of the season itself what the row says. Readings are
weekly, with errors of reading and of the model's days drawn as the model says they are. Prints a Markdown table; in
brackets binomial limits (Clopper & Pearson 1934) that hold 95 in 100.

    python benchmarks/leak_watch.py greensboro|seattle [SEASONS] [LEAK_L_D,LEAK_L_D] [SEED]
"""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from importlib.resources import as_file, files
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.stats import binomtest

from wetfoot.plan.example import example_text
from wetfoot.plan.file import plan_from_text
from wetfoot.plan.model import Plan
from wetfoot.season import columns as c
from wetfoot.season.bench import bench_arrays
from wetfoot.season.drawdown import H, watch
from wetfoot.season.drivers import drivers, warmth_of_calendar
from wetfoot.season.expected_draw import OWN_WEATHER_CV, ExpectedDraw, expected_draw
from wetfoot.season.feed import ec_scale
from wetfoot.season.leak_limit import alarm_limits, designed_rate
from wetfoot.season.learn import Evidence, blurred, evidence, multiplier, prior
from wetfoot.season.own_weather import BY_DAY, Gauge
from wetfoot.season.run import simulate_season
from wetfoot.season.stretches import Stretch
from wetfoot.weather.more_years import more_seasons
from wetfoot.weather.read import read_weather
from wetfoot.weather.seasons import Seasons, SeasonWeather

Array = NDArray[np.float64]

# package, file, latitude and elevation: a typical year, and four real years
CLIMATES = {
    "greensboro": ("pvlib", "data/723170TYA.CSV", 36.1, 273.0),
    "seattle": ("vega_datasets", "_data/seattle-weather.csv", 47.45, 130.0),
}
FEW = {"greensboro": "a typical year only", "seattle": "nothing but the record's four years"}
OTHERS, GROUP = 10, 10
LN_SD, STICK_L = 0.2, 5.0
LEAK_FROM_D, LAST_D = 112.0, 224
VISITS = [Stretch(float(day), float(day + 7), 0.0, STICK_L) for day in range(7, LAST_D - 6, 7)]
FIRST = int(LEAK_FROM_D / 7.0) - 1
SOON = 7  # readings
PRIOR = prior(LN_SD)


@dataclass
class Row:
    """What came of the seasons in one case of knowledge."""

    plain: list[bool] = field(default_factory=list)  # false alarm with the published limit
    alarm: list[bool] = field(default_factory=list)
    delay: list[list[float]] = field(default_factory=list)  # readings from the leak to the signal, for each leak
    limit: list[float] = field(default_factory=list)
    holds: list[bool] = field(default_factory=list)


class Model(NamedTuple):
    """What the model expects, and how high the chart must stand at each reading."""

    expected: ExpectedDraw
    limits: Array


@dataclass(frozen=True)
class Truth:
    """A season as it was: its weather, its multiplier, and what the tank seemed to give each week."""

    run: SeasonWeather
    factor: float
    weekly_l: Array

    def found(self, expected: ExpectedDraw, leak_l_d: float) -> list[Evidence]:
        """Return what is read off the tank with a leak."""
        leaking = [leak_l_d * max(0.0, one.end_d - max(one.start_d, LEAK_FROM_D)) for one in VISITS]
        blank = evidence(VISITS, expected, PRIOR)
        return [
            one._replace(stretch=replace(one.stretch, drawn_l=float(drawn + leaked)))
            for one, drawn, leaked in zip(blank, self.weekly_l, leaking, strict=True)
        ]


def main() -> None:
    words = dict(enumerate(sys.argv[1:]))
    climate, seasons = words.get(0, "greensboro"), int(words.get(1, "200"))
    leaks_l_d = [float(word) for word in words.get(2, "5,15").split(",")]
    seed, start = int(words.get(3, "1")), time.perf_counter()
    rows: dict[str, Row] = {}
    for name, truth, known in all_cases(climate, seasons, seed):
        judge(rows.setdefault(name, Row()), truth, known, leaks_l_d)
    print(f"{climate}, {seasons} seasons, leak from day {LEAK_FROM_D:g}, seed {seed}, "
          f"{time.perf_counter() - start:.0f} s. "
          f"Designed: {100 * designed_rate(len(VISITS)):.1f} % in {len(VISITS)} readings.\n")  # fmt: skip
    leaks = "".join(f"| {leak:g} L/day found | within {SOON} readings | median readings " for leak in leaks_l_d)
    print(f"| known of the weather | false alarms, limit {H:g} | false alarms | last limit {leaks}| range holds |")
    print("|---" * (5 + 3 * len(leaks_l_d)) + "|")
    for name, row in rows.items():
        print(f"| {name} | {' | '.join(cells(row))} |")


def cells(row: Row) -> list[str]:
    by_leak = [(share(each < np.inf), share(each <= SOON), f"{np.median(each):.0f}") for each in np.array(row.delay).T]
    last = f"{np.median(row.limit):.1f}"
    return [share(row.plain), share(row.alarm), last, *(cell for each in by_leak for cell in each), share(row.holds)]


def share(told: Sequence[bool] | NDArray[np.bool_]) -> str:
    """Return a share in per cent with its binomial limits."""
    test = binomtest(int(np.sum(told)), len(told))
    low, high = test.proportion_ci()
    return f"{100 * test.statistic:.1f} % ({100 * low:.1f} to {100 * high:.1f})"


def judge(row: Row, truth: Truth, known: Model, leaks_l_d: Sequence[float]) -> None:
    expected, limits = known
    quiet = truth.found(expected, 0.0)
    seen = watch(PRIOR, quiet)
    highest = np.maximum(*seen.chart)
    factor = multiplier(blurred(seen.known, expected, quiet))
    row.plain.append(bool((highest > H).any()))
    row.alarm.append(bool((highest > limits).any()))
    row.delay.append([readings_to_signal(truth.found(expected, leak_l_d), limits) for leak_l_d in leaks_l_d])
    row.limit.append(float(limits[-1]))
    row.holds.append(factor.low <= truth.factor <= factor.high)


def readings_to_signal(leaking: Sequence[Evidence], limits: Array) -> float:
    signals = np.flatnonzero((watch(PRIOR, leaking).chart.upper > limits)[FIRST:])
    return float(signals[0] + 1) if signals.size else np.inf


def all_cases(climate: str, seasons: int, seed: int) -> Iterator[tuple[str, Truth, Model]]:
    """Yield every season with what the model expects of it in each case of knowledge."""
    plan, random = plan_from_text(example_text()), np.random.default_rng(seed)
    for first in range(0, seasons, GROUP):
        record, made = weather(plan, climate, seed * 1000 + first, OTHERS + GROUP)
        others = replace(record, runs=made[:OTHERS], composed=False)
        nothing, few = model(plan, others), model(plan, record)
        for run in made[OTHERS : OTHERS + min(GROUP, seasons - first)]:
            whole = model(plan, replace(others, own=run))
            truth = happened(plan, others, run, whole.expected, random)
            yield "nothing but ten other years", truth, nothing
            yield FEW[climate], truth, few
            yield "all of it", truth, whole
            for name, known in cases(plan, record, others, run):
                yield name, truth, known


def model(plan: Plan, known: Seasons, gauge: Sequence[Gauge] = ()) -> Model:
    expected = expected_draw(plan, known, gauge)
    return Model(expected, alarm_limits(PRIOR, expected, VISITS))


def weather(plan: Plan, climate: str, seed: int, years: int) -> tuple[Seasons, tuple[SeasonWeather, ...]]:
    """Return the record's seasons, and made-up ones."""
    package, name, latitude_deg, elevation_m = CLIMATES[climate]
    with as_file(files(package).joinpath(name)) as path:
        table = read_weather(path)
    where = (plan.crop.planting, plan.crop.season_d, latitude_deg, elevation_m)
    record = more_seasons(table, *where, "record", 1, seed)
    return record, more_seasons(table, *where, "generated", len(record.runs) + years, seed).runs[len(record.runs) :]


def cases(plan: Plan, record: Seasons, others: Seasons, run: SeasonWeather) -> Iterator[tuple[str, Model]]:
    """Yield what the model expects of a season of which something is known."""
    days = np.arange(len(run.dates))
    gauge = [Gauge(float(day), day + 7.0, float(run.rain_mm[day : day + 7].sum())) for day in days[:-7:7]]
    fortnights = replace(others, own=partly(run, days // 7 % 2 == 0))
    few = "a typical year and the gauge" if record.composed else "the record's four years and the gauge"
    for name, known, rain in (
        ("rain by the gauge", others, gauge),
        ("every second week", fortnights, ()),
        ("every second week, and the gauge", fortnights, gauge),
        ("the first 150 days", replace(others, own=partly(run, days < 150)), ()),
        (few, record, gauge),
    ):
        yield name, model(plan, known, rain)


def partly(run: SeasonWeather, known: NDArray[np.bool_]) -> SeasonWeather:
    """Return a season of which only some days are known."""
    days: dict[str, Any] = {name: np.where(known, getattr(run, name), np.nan) for name in BY_DAY}
    return replace(run, **days)


def happened(
    plan: Plan, others: Seasons, run: SeasonWeather, whole: ExpectedDraw, random: np.random.Generator
) -> Truth:
    """Return a season's truth: simulated with a multiplier drawn from the prior, with errors on top."""
    factor, warmth = float(np.exp(random.normal(0.0, LN_SD))), warmth_of_calendar(plan.crop, others.runs)
    course = simulate_season(bench_arrays(plan), ec_scale(plan), drivers(plan, run, warmth, factor), run.dates)
    off = random.normal(0.0, OWN_WEATHER_CV, len(run.dates)) * whole.demand_l * factor
    stick = random.normal(0.0, STICK_L, len(VISITS) + 1)
    daily = course.tank[:, c.DRAWN_L] + off
    weekly = [daily[int(one.start_d) : int(one.end_d)].sum() for one in VISITS]
    return Truth(run, factor, np.array(weekly) + stick[:-1] - stick[1:])


if __name__ == "__main__":
    main()
