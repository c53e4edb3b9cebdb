"""What a trial says: every question about its table with the right error, in numbers and in plain words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from wetfoot.answers.trace import SEED
from wetfoot.answers.trial_margin import Margin, MarginFinding, margin_of
from wetfoot.answers.trial_pieces import Pieces, pieces_factor, pieces_of
from wetfoot.answers.trial_splits import Splits, splits_of
from wetfoot.answers.trial_table import TrialTable
from wetfoot.trial.analysis import analyse_response, interacting
from wetfoot.trial.counts import CountFit, deviance_test, poisson_regression
from wetfoot.trial.fitting import Fitted, Trial
from wetfoot.trial.means import Comparison, compare
from wetfoot.trial.randomisation import RandomisationTest, randomisation_tests
from wetfoot.trial.residual_checks import residuals
from wetfoot.trial.result import Analysis
from wetfoot.trial.terms import Array, build_model, indicator

SEED_PIECE_G = 50.0
DRAWS = 1999


@dataclass(frozen=True)
class Wish:
    """What is asked of a trial beyond its table.

    Attributes:
        alpha: level of letters, and one less the confidence of intervals.
        seed_g: what a seed piece costs in g of harvest.
        margins: losses that were agreed to be bearable.
    """

    alpha: float = 0.05
    seed_g: float = SEED_PIECE_G
    margins: tuple[Margin, ...] = ()


@dataclass(frozen=True)
class Left:
    """What is left of each weighed pot when treatments and boards are taken off: shape (n,) each."""

    fitted: Array
    residual: Array
    position: Array | None


@dataclass(frozen=True)
class Counts:
    """What the treatments do to something counted: F and p of each by change of deviance, and the scatter."""

    column: str
    tests: tuple[tuple[str, float, float], ...]
    scale: float


@dataclass(frozen=True)
class Findings:
    """All that was found in a trial.

    Attributes:
        table: the trial.
        wish: what was asked.
        analysis: of the response.
        pairs: the comparison over everything for each factor, by factor.
        pieces: the curves over the number of pieces, the first over everything; empty without such a factor.
        splits: pots that split, if known.
        margins: the agreed margins.
        counts: what was counted.
        randomised: tests that rest on the drawing of lots alone.
        left: residuals.
    """

    table: TrialTable
    wish: Wish
    analysis: Analysis
    pairs: dict[str, Comparison]
    pieces: tuple[Pieces, ...]
    splits: Splits | None
    margins: tuple[MarginFinding, ...]
    counts: tuple[Counts, ...]
    randomised: tuple[RandomisationTest, ...]
    left: Left

    @property
    def curve(self) -> Pieces | None:
        """Return the curve over everything, if there is one."""
        return self.pieces[0] if self.pieces else None

    @property
    def confidence(self) -> str:
        """Return the confidence of the intervals in words."""
        return f"{100 * (1 - self.wish.alpha):g} %"

    @property
    def is_exact(self) -> bool:
        """Return whether nothing is lost, so that the exact strata apply."""
        return self.analysis.strata.orthogonal


def analyse(table: TrialTable, wish: Wish | None = None) -> Findings:
    """Return all that a trial's table says.

    Args:
        table: the trial.
        wish: what is asked.

    Raises:
        WetfootError: if the table cannot be analysed under its roles, or a margin makes no sense; all that is wrong.
    """
    wish = wish or Wish()
    analysis = analyse_response(table.y, table.factors, table.roles, wish.alpha)
    trial, fitted = analysis.trial, analysis.fitted
    margins = tuple(margin_of(table, fitted, margin, wish.alpha) for margin in wish.margins)
    factor = pieces_factor(table)
    pieces: tuple[Pieces, ...] = ()
    if factor and (factor,) in fitted.model.terms:
        pieces = pieces_of(table, fitted, factor, wish.seed_g, _apart(trial, analysis, fitted, factor, wish.alpha),
                           1 - wish.alpha)  # fmt: skip
    found = Findings(
        table, wish, analysis, _pairs(table, fitted, wish.alpha), pieces,
        splits_of(table, factor, 1 - wish.alpha), margins,
        tuple(_counted(table, name) for name in table.counts),
        _randomised(trial), _left(trial, fitted, table),
    )  # fmt: skip
    return replace(found, analysis=replace(analysis, warnings=(*analysis.warnings, *_more_warnings(table))))


def _apart(trial: Trial, analysis: Analysis, fitted: Fitted, factor: str, alpha: float) -> tuple[str, ...]:
    """Return the factors within whose levels the curve is drawn too: those it interacts with, and years."""
    partners = interacting(trial, analysis.terms, factor, alpha)
    names = [*partners, *([trial.roles.year] if trial.roles.year else [])]
    known = set(fitted.model.terms)
    return tuple(dict.fromkeys(name for name in names if {(name, factor), (factor, name)} & known))


def _pairs(table: TrialTable, fitted: Fitted, alpha: float) -> dict[str, Comparison]:
    known = set(fitted.model.terms)
    return {
        name: compare(fitted.free, fitted.model, name, (), alpha)[0]
        for name in table.roles.treatments
        if (name,) in known
    }


def _randomised(trial: Trial) -> tuple[RandomisationTest, ...]:
    try:
        return randomisation_tests(trial, SEED, DRAWS)
    except (ValueError, np.linalg.LinAlgError):
        return ()


def _left(trial: Trial, fitted: Fitted, table: TrialTable) -> Left:
    boards = () if trial.units.board is None else (indicator(trial.units.board),)
    left = residuals(trial.y, np.hstack([fitted.model.x, *boards]))
    position = None if table.position is None else table.position[np.isfinite(table.y)]
    return Left(trial.y - left, left, position)


def _counted(table: TrialTable, column: str) -> Counts:
    """Return quasi-Poisson tests of the main effects, blocks taken off."""
    seen = np.isfinite(table.counts[column])
    counts = table.counts[column][seen]
    factors = {name: labels[seen] for name, labels in table.factors.items()}
    names = table.roles.treatments
    trial = Trial(counts, factors, table.roles)
    model = build_model({name: factors[name] for name in names}, [(name,) for name in names], trial.units.nuisance)
    try:
        whole = poisson_regression(model.x, counts)
        tests = tuple(
            (name, *deviance_test(_without(model.x, model.where[(name,)], counts), whole))
            for name in names
        )  # fmt: skip
    except (ValueError, np.linalg.LinAlgError):
        return Counts(column, (), float("nan"))
    return Counts(column, tests, whole.scale)


def _without(x: Array, where: slice, counts: Array) -> CountFit:
    return poisson_regression(np.delete(x, np.r_[where], axis=1), counts)


def _more_warnings(table: TrialTable) -> Sequence[str]:
    found = []
    if table.roles.board is None and len(table.roles.treatments) > 1:
        found.append(
            "No boards are known, so every pot counts by itself. If a treatment covers whole boards, say so "
            "(board factor): judged by pots it looks far surer than it is."
        )
    if table.left_out:
        found.append(f"{table.left_out} rows are left out until what is doubtful in them is settled; see the list.")
    caused = sorted({loss for loss in table.lost if loss in ("dead", "split and drained", "board leak")})
    if caused:
        found.append(f"Some pots were lost by what the treatment may have caused ({', '.join(caused)}): means mislead.")
    return found
