"""How many blocks a trial needs to find a difference that matters, in a table and in words."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np

from wetfoot import __version__
from wetfoot.answers.trace import Answer, Number
from wetfoot.answers.trial_analysis import analyse
from wetfoot.answers.trial_cells import ReportTable
from wetfoot.answers.trial_table import read_table
from wetfoot.errors import Problem, WetfootError, refuse
from wetfoot.quantities import parse
from wetfoot.trial.fitting import Trial, fit_trial
from wetfoot.trial.kenward_roger import f_test
from wetfoot.trial.power import comparisons, detectable_difference_pct, lsd_pct, pair_power
from wetfoot.trial.power_simulation import SimulatedPower, pot_rows, simulated_power
from wetfoot.trial.recipe import Factor
from wetfoot.trial.replication import BlocksNeeded, blocks_needed
from wetfoot.trial.roles import Roles
from wetfoot.trial.split_plot import SplitPlot
from wetfoot.trial.terms import Array

POWER_SOURCE = "noncentral F and t in the stratum of each comparison (Cochran & Cox 1957, ch. 7; Satterthwaite 1946)"
MOST_BLOCKS = 60
TRIALS = 200


@dataclass(frozen=True)
class PowerWish:
    """What is asked: the design, coefficients of variation and the difference in % of the mean, and the wanted power.

    Attributes:
        layout: the design; its blocks are varied.
        cv_pct: pot to pot.
        board_cv_pct: board to board in a block.
        year_cv_pct: of treatment means from year to year, None to speak of these years only.
        difference_pct: between two means, that matters.
        power: wanted, 0 to 1.
        blocks: the range to show, both ends in it.
        lost_pots: lost in the check by simulation, 0 for no simulation.
        alpha: level of the tests.
        said: where the coefficients come from.
    """

    layout: SplitPlot
    cv_pct: float
    board_cv_pct: float
    year_cv_pct: float | None
    difference_pct: float
    power: float
    blocks: tuple[int, int]
    lost_pots: int = 0
    alpha: float = 0.05
    said: tuple[str, ...] = ()


@dataclass(frozen=True)
class PowerFound:
    """The answer, its tables, and the blocks that each comparison needs."""

    wish: PowerWish
    needed: tuple[BlocksNeeded, ...]
    simulated: tuple[tuple[str, SimulatedPower], ...]
    tables: tuple[ReportTable, ...]
    answer: Answer

    def record(self) -> dict[str, Any]:
        """Return the result for machines: answer, units, trace, warnings."""
        asked = {name: value for name, value in vars(self.wish).items() if name != "layout"}
        answer = {
            **self.answer.record("metric"),
            "blocks_needed": [vars(each) for each in self.needed],
            "tables": {t.title: [dict(zip(t.heads, row, strict=True)) for row in t.rows] for t in self.tables},
            "simulated": {name: vars(each) for name, each in self.simulated},
        }
        trace = {"asked": asked, "design": vars(self.wish.layout), "wetfoot": __version__}
        return {"answer": answer, "units": "metric", "trace": trace, "warnings": list(self.answer.warnings)}


def read_power(
    factors: tuple[Factor, ...],
    cv: str,
    board_cv: str,
    difference: str,
    blocks: str = "2-8",
    years: int = 1,
    year_cv: str = "",
    power: str = "80 %",
    lost: int = 0,
    alpha: float = 0.05,
    past: Sequence[Path] = (),
) -> PowerWish:
    """Return what is asked, from what was typed; past tables give the coefficients of variation instead.

    Raises:
        WetfootError: with everything that cannot be.
    """
    problems: list[Problem] = []
    values = {}
    for name, typed, low, high in (
        ("cv", cv, 0.1, 200.0), ("board-cv", board_cv, 0.0, 200.0), ("difference", difference, 0.1, 500.0),
        ("power", power, 100 * alpha + 0.1, 99.9), ("year-cv", year_cv or "0 %", 0.0, 200.0),
    ):  # fmt: skip
        try:
            values[name] = 100.0 * parse(typed, "fraction", name)
            if not low <= values[name] <= high:
                problems.append(Problem(name, f"{typed!r} cannot be", f"{low:g} % to {high:g} %", "correct it"))
        except WetfootError as error:
            problems += error.problems
    try:
        layout = SplitPlot({f.name: len(f.levels) for f in factors if f.on == "boards"},
                           {f.name: len(f.levels) for f in factors if f.on == "pots"}, years=years)  # fmt: skip
    except ValueError as error:
        problems.append(Problem("factor", str(error), "factors with two levels or more, each once", "correct them"))
    span = re.fullmatch(r"\s*(\d{1,3})\s*(?:-|to)?\s*(\d{1,3})?\s*", blocks)
    low_b, high_b = (int(span[1]), int(span[2] or span[1])) if span else (0, 0)
    if not 1 <= low_b <= high_b <= MOST_BLOCKS:
        problems.append(
            Problem("blocks", f"{blocks!r} is no range", f"1-{MOST_BLOCKS}, such as 2-8", "write two numbers")
        )
    if problems:
        raise WetfootError(problems)
    wish = PowerWish(layout, values["cv"], values["board-cv"], values["year-cv"] if year_cv else None,
                     values["difference"], values["power"] / 100.0, (low_b, high_b), lost, alpha)  # fmt: skip
    return _from_past(wish, past) if past else wish


def _from_past(wish: PowerWish, past: Sequence[Path]) -> PowerWish:
    """Return what is asked with the coefficients of past tables."""
    found = analyse(read_table(past)).analysis
    pots = found.components["pot"]
    boards = max(found.components.get("board", 0.0), 0.0)
    mean = abs(found.mean)
    cv, board_cv = 100.0 * pots**0.5 / mean, 100.0 * boards**0.5 / mean
    names = ", ".join(path.name for path in past)
    said = f"from {names}: pots differ by {cv:.1f} %, boards by {board_cv:.1f} %" + (
        "; the boards' value rests on few boards" if "board" in found.components else ""
    )
    return replace(wish, cv_pct=cv, board_cv_pct=board_cv, said=(said,))


def trial_power(wish: PowerWish) -> PowerFound:
    """Return how many blocks it takes.

    Raises:
        WetfootError: if the design leaves no error for any comparison, or more pots are lost than stand.
    """
    at_most = comparisons(replace(wish.layout, blocks=MOST_BLOCKS), wish.cv_pct, wish.board_cv_pct, wish.year_cv_pct)
    if not at_most:
        raise refuse("years", "years as a sample need several years", "two years or more", "raise --years")
    needed = tuple(
        blocks_needed(wish.layout, c.name, wish.difference_pct, wish.cv_pct, wish.board_cv_pct, wish.power, wish.alpha,
                      wish.year_cv_pct, MOST_BLOCKS)
        for c in at_most
    )  # fmt: skip
    simulated = _simulated(wish) if wish.lost_pots else ()
    warnings = (*wish.said, *_warnings(wish, needed))
    numbers = tuple(
        Number(f"blocks: {n.comparison}", float("inf") if n.blocks is None else n.blocks,
               f"power {n.power:.2f}; one fewer {n.power_one_block_fewer:.2f}; LSD {n.lsd_pct:.1f} % of the mean",
               POWER_SOURCE)
        for n in needed
    )  # fmt: skip
    main = [n for n in needed if n.comparison in {**wish.layout.board_factors, **wish.layout.pot_factors}]
    words = " ".join(n.words for n in main or needed)
    state: Any = (
        "no" if all(n.blocks is None for n in main) else "watch" if any(n.blocks is None for n in main) else "yes"
    )
    tables = (_table(wish), *_simulation_table(simulated))
    answer = Answer("How many blocks?", state, words, numbers, warnings)
    return PowerFound(wish, needed, simulated, tables, answer)


def _warnings(wish: PowerWish, needed: Sequence[BlocksNeeded]) -> list[str]:
    found = []
    if wish.layout.board_factors and any(n.blocks is not None and n.blocks < 4 for n in needed):
        found.append("Few blocks leave few degrees of freedom between boards: pots lost then hurt most.")
    if wish.year_cv_pct is None and wish.layout.years > 1:
        found.append("This speaks of these years; name --year-cv to ask about years like them.")
    return found


def _table(wish: PowerWish) -> ReportTable:
    """Return power, LSD and detectable difference for each number of blocks and comparison."""
    rows = []
    for blocks in range(wish.blocks[0], wish.blocks[1] + 1):
        layout = replace(wish.layout, blocks=blocks)
        for c in comparisons(layout, wish.cv_pct, wish.board_cv_pct, wish.year_cv_pct):
            rows.append((blocks, layout.pots, c.name, c.df, pair_power(c, wish.difference_pct, wish.alpha),
                         lsd_pct(c, wish.alpha), detectable_difference_pct(c, wish.power, wish.alpha)))  # fmt: skip
    heads = ("blocks", "pots", "two means that differ in", "error df", f"power for {wish.difference_pct:g} %", "LSD, %",
             f"found with {100 * wish.power:g} % power, %")  # fmt: skip
    kinds = ("df", "df", "text", "df", "n", "n", "n")
    note = f"Pots differ by {wish.cv_pct:.3g} %, boards by {wish.board_cv_pct:.3g} % of the mean; level {wish.alpha:g}."
    return ReportTable("Power and differences, % of the mean", heads, tuple(rows), kinds, note)


def _simulated(wish: PowerWish) -> tuple[tuple[str, SimulatedPower], ...]:
    """Return the power with lost pots at the largest number of blocks shown, for each factor."""
    layout = replace(wish.layout, blocks=wish.blocks[1])
    if wish.lost_pots >= layout.pots:
        raise refuse("lost", f"{wish.lost_pots} pots", f"fewer than {layout.pots}", "lose fewer")
    return tuple(
        (name, simulated_power(layout, name, {name: _effect(levels, wish.difference_pct)}, wish.cv_pct,
                               wish.board_cv_pct, wish.lost_pots, partial(_p_of, layout, name), TRIALS,
                               alpha=wish.alpha))
        for name, levels in {**layout.board_factors, **layout.pot_factors}.items()
    )  # fmt: skip


def _effect(levels: int, difference_pct: float) -> Array:
    """Return means of which the first and the last differ by so much, the others in the middle."""
    effect = np.zeros(levels)
    effect[0], effect[-1] = -difference_pct / 2.0, difference_pct / 2.0
    return effect


def _p_of(layout: SplitPlot, factor: str, response: Array) -> float:
    """Return the p of a main effect in one simulated trial, as its own analysis would give it."""
    rows = pot_rows(layout)
    names = (*layout.board_factors, *layout.pot_factors)
    roles = Roles(
        tuple(layout.board_factors), tuple(layout.pot_factors), "block" if layout.blocks > 1 else None,
        "board" if layout.board_factors else None, "year" if layout.years > 1 else None, (),
        tuple((name,) for name in names),
    )  # fmt: skip
    seen = np.isfinite(response)
    try:
        fitted = fit_trial(Trial(response[seen], {name: rows[name][seen] for name in roles.columns}, roles))
        return f_test(fitted.free, fitted.model.selector((factor,))).p
    except (WetfootError, KeyError, IndexError):  # a level was lost everywhere, so that the effect is not there
        return float("nan")


def _simulation_table(found: Sequence[tuple[str, SimulatedPower]]) -> list[ReportTable]:
    rows = tuple((name, s.power, s.standard_error, s.analysed, s.not_estimable, s.seed) for name, s in found)
    heads = ("factor", "power", "SE", "trials", "not estimable", "seed")
    note = "Main effects only; first and last level differ by the difference asked, the others lie between."
    kinds = ("text", "n", "n", "df", "df", "df")
    return [ReportTable("By simulation, with pots lost", heads, rows, kinds, note)] if rows else []
