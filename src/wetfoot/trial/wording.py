"""What a reader of an analysis must know, in plain words."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from wetfoot.trial.fitting import Fitted, Trial
from wetfoot.trial.result import Analysis
from wetfoot.trial.terms import term_name

FEW_DF = 5.0


def warnings_of(found: Analysis, trial: Trial, fitted: Fitted, alpha: float) -> Iterator[str]:
    """Return the warnings that belong under an analysis.

    Args:
        found: the analysis.
        trial: the weighed pots.
        fitted: their fits.
        alpha: level of what counts as an interaction.
    """
    yield from _losses(found, trial)
    yield from _untested(found, trial)
    yield from _boards(found)
    yield from _interactions(found, alpha)
    yield from _numbers(trial)
    if fitted.held:
        yield (
            "The pots that are left do not pin down a variance between boards below zero, so it is held at zero or"
            " above; tests of what covers whole boards are then cautious."
        )
    if not fitted.free.fit.converged:
        yield "The variances did not settle; take all tests as rough."
    for check in found.checks:
        if check.doubtful:
            yield f"In doubt: {check.name}, p = {check.p:.2g}. Look at the residuals; a log scale may help."
    if found.years and found.years.evenness and found.years.evenness.uneven:
        ratio = found.years.evenness.ratio
        yield f"The least even year has {ratio:.1f} times the error variance of the most even: try a log scale."


def _losses(found: Analysis, trial: Trial) -> Iterator[str]:
    if found.lost:
        total = len(found.lost) + len(trial.y)
        yield (
            f"{len(found.lost)} of {total} pots have no value. If the treatment itself lost them, as when crowded pots"
            " split, the means mislead: weigh split pots too."
        )
    elif not found.strata.orthogonal:
        yield "The treatments do not stand equally often in every block or board, so exact strata do not apply."


def _untested(found: Analysis, trial: Trial) -> Iterator[str]:
    for term in sorted(trial.hidden_by_boards):
        yield f"{term_name(term)} cannot be tested: no two boards of a block carry the same, so boards show no error."
    for term in sorted(trial.hidden_by_blocks):
        yield f"{term_name(term)} differs between blocks only and is told apart from them poorly or not at all."
    if trial.roles.year and found.term(trial.roles.year).f is None:
        yield f"{trial.roles.year} itself is not tested: its blocks are fixed, and they are its error."


def _boards(found: Analysis) -> Iterator[str]:
    variance = found.components.get("board")
    if variance is not None and variance < 0:
        yield (
            f"The variance between boards comes out below zero ({variance:.4g}): boards differ less than their pots"
            " alone would make them. With few boards that is chance; it is kept, so that the tests stay honest."
        )
    for test in found.terms:
        if test.stratum == "board" and test.df_error is not None and test.df_error < FEW_DF:
            yield (
                f"{test.term} covers whole boards and is judged by {test.df_error:.3g} degrees of freedom between them:"
                " only a large effect can show."
            )


def _interactions(found: Analysis, alpha: float) -> Iterator[str]:
    for test in found.terms:
        if ":" in test.term and test.p is not None and test.p < alpha:
            yield f"{test.term.replace(':', ' and ')} interact (p = {test.p:.2g}): read each within the others."


def _numbers(trial: Trial) -> Iterator[str]:
    for name in trial.roles.pot_factors:
        kind = np.asarray(trial.factors[name]).dtype.kind
        if kind in "iuf" and name not in trial.roles.quantitative:
            yield f"{name} has numbers for levels but is compared as names; call it quantitative to see its trend."
