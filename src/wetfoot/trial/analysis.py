"""The analysis of one response of a trial: the right error for every term, with or without lost pots.

Complete and orthogonal trials are analysed by strata, which is exact. Any lost pot calls for restricted maximum
likelihood with blocks fixed, the variance of the boards free to fall below zero, and Kenward-Roger tests. Means,
contrasts and comparisons come from that fit in both cases; where nothing is lost they agree with the strata.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
from scipy import stats

from wetfoot.trial.contrasts import polynomial_tests
from wetfoot.trial.fitting import Fitted, Trial, fit_trial
from wetfoot.trial.kenward_roger import FTest, f_test, kenward_roger
from wetfoot.trial.means import Comparison, StandardDifference, compare, means_table, standard_difference
from wetfoot.trial.residual_checks import Check, even_spread, normality, residuals
from wetfoot.trial.result import Analysis, TermTest
from wetfoot.trial.roles import Roles, check_table
from wetfoot.trial.strata import RESIDUAL, Strata, strata_anova
from wetfoot.trial.terms import Array, Labels, Model, Term, indicator, term_name
from wetfoot.trial.wording import warnings_of
from wetfoot.trial.years import combined_years

STRATA = "strata"
REML_KR = "REML + KR"


def analyse_response(y: Array, factors: Mapping[str, Labels], roles: Roles, alpha: float = 0.05) -> Analysis:
    """Return the analysis of one response of a trial.

    Args:
        y: the response of every pot, nan where it was lost, shape (n,).
        factors: one label per pot for each column, shape (n,) each.
        roles: what the columns stand for.
        alpha: level of letters, of intervals (1 - alpha) and of what counts as an interaction.

    Raises:
        WetfootError: if the table cannot be read under its roles, a cell has no weighed pot, or no error is left.
    """
    y = np.asarray(y, dtype=float)
    factors = {name: np.asarray(factors[name]) for name in factors}
    seen = check_table(y, factors, roles)
    trial = Trial(y[seen], {name: factors[name][seen] for name in roles.columns}, roles)
    fitted = fit_trial(trial)
    anova = strata_anova(trial.y, trial.strata())
    tests = _strata_tests(anova) if anova.orthogonal else _reml_tests(trial, fitted)
    model, free = fitted.model, fitted.free
    components = free.fit.components
    mean = float(means_table(free, model, ()).estimates.value[0])
    found = Analysis(
        method=STRATA if anova.orthogonal else REML_KR,
        terms=tests,
        strata=anova,
        contrasts=tuple(c for name in roles.quantitative for c in polynomial_tests(free, model, name)),
        means=tuple(means_table(free, model, names, 1 - alpha) for names in _tables(trial, model)),
        comparisons=_comparisons(trial, fitted, tests, alpha),
        differences=_differences(trial, fitted, alpha),
        components=components,
        bounded=fitted.bounded.components,
        bounded_tests=_all_tests(fitted),
        checks=_checks(trial, model),
        years=combined_years(trial, anova) if roles.year else None,
        mean=mean,
        cv=float(np.sqrt(components["pot"]) / abs(mean)) if mean else float("nan"),
        lost=tuple(np.flatnonzero(~seen).tolist()),
        trial=trial,
        fitted=fitted,
        warnings=(),
    )
    return replace(found, warnings=tuple(warnings_of(found, trial, fitted, alpha)))


def _strata_tests(anova: Strata) -> tuple[TermTest, ...]:
    """Return the terms of an analysis by strata."""
    return tuple(
        TermTest(row.term, row.stratum, row.df, row.df_error or None, row.f, row.p)
        for row in anova.rows
        if row.term != RESIDUAL
    )


def _reml_tests(trial: Trial, fitted: Fitted) -> tuple[TermTest, ...]:
    """Return the Kenward-Roger tests of all terms, those that cannot be tested without F."""
    return tuple(_reml_test(trial, fitted, term) for term in trial.terms)


def _reml_test(trial: Trial, fitted: Fitted, term: Term) -> TermTest:
    """Return the Kenward-Roger test of one term; years have no error of their own once their blocks are fixed."""
    stratum = "board" if trial.roles.is_on_boards(term) else "pot"
    if term in trial.hidden_by_blocks or (term == (trial.roles.year,) and trial.roles.block):
        stratum = "block"
    df = trial.model(trial.terms).columns(term).shape[1]
    if stratum == "block" or term not in fitted.model.terms:
        return TermTest(term_name(term), stratum, df, None, None, None)
    test = f_test(fitted.free, fitted.model.selector(term))
    if stratum == "pot":
        return TermTest(term_name(term), stratum, df, test.df_error, test.f, test.p)
    # With lost pots the estimated degrees of freedom can pass those of the boards by a hundredth or two.
    df_error = min(test.df_error, float(trial.df_boards(fitted.model)))
    return TermTest(term_name(term), stratum, df, df_error, test.f, float(stats.f.sf(test.f, df, df_error)))


def _all_tests(fitted: Fitted) -> dict[str, FTest]:
    """Return the Kenward-Roger tests under the bounded components."""
    adjusted = kenward_roger(fitted.bounded)
    return {term_name(term): f_test(adjusted, fitted.model.selector(term)) for term in fitted.model.terms}


def _tables(trial: Trial, model: Model) -> list[Term]:
    """Return the factors of the tables of means: main effects, pairs, and all factors together."""
    largest = max(map(len, model.terms), default=0)
    hidden = set(trial.terms) - set(model.terms)
    return [
        term
        for term in model.terms
        if len(term) in (1, 2, largest) and not any(set(gone) <= set(term) for gone in hidden)
    ]


def _comparisons(trial: Trial, fitted: Fitted, tests: tuple[TermTest, ...], alpha: float) -> tuple[Comparison, ...]:
    """Return the pairs of each factor, within the levels of the factors it interacts with."""
    found: list[Comparison] = []
    for factor in trial.roles.treatments:
        if (factor,) in fitted.model.terms:
            partners = interacting(trial, tests, factor, alpha)
            found += compare(fitted.free, fitted.model, factor, partners, alpha)
    return tuple(found)


def interacting(trial: Trial, tests: tuple[TermTest, ...], factor: str, alpha: float) -> tuple[str, ...]:
    """Return the factors that a factor interacts with, in the order of the table's columns."""
    significant = {test.term for test in tests if test.p is not None and test.p < alpha}
    partners = {
        name
        for term in trial.terms
        if factor in term and len(term) > 1 and term_name(term) in significant
        for name in term
    }
    return tuple(name for name in trial.roles.columns if name in partners - {factor})


def _differences(trial: Trial, fitted: Fitted, alpha: float) -> tuple[StandardDifference, ...]:
    """Return the standard error of a difference for each kind: over everything, and within one level of another."""
    terms, names = set(fitted.model.terms), trial.roles.treatments
    kinds: list[tuple[str, tuple[str, ...]]] = [(name, ()) for name in names if (name,) in terms]
    kinds += [(a, (b,)) for a in names for b in names if {(a, b), (b, a)} & terms and {(a,), (b,)} <= terms]
    return tuple(
        standard_difference(compare(fitted.free, fitted.model, factor, within, alpha), alpha)
        for factor, within in kinds
    )


def _checks(trial: Trial, model: Model) -> tuple[Check, ...]:
    """Return tests of the assumptions, on residuals with the boards fixed and on the responses themselves."""
    boards = () if trial.units.board is None else (indicator(trial.units.board),)
    left = residuals(trial.y, np.hstack([model.x, *boards]))
    found = list(normality(left))
    for name in trial.roles.treatments:
        found += even_spread(trial.y, trial.factors[name], f"{name}, responses")
        found += even_spread(left, trial.factors[name], f"{name}, residuals")
    return tuple(found)
