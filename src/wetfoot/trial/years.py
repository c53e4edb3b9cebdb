"""Several years together: are they as even as each other, and does a result hold beyond these years?

With years fixed the answer is about these years; with years random, about years like them (McIntosh 1983, Agron. J.
75:153-155, from memory; Dixon, Moore and van Santen 2018, ch. 8).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from wetfoot.trial.fitting import Trial
from wetfoot.trial.kenward_roger import FTest, f_test, kenward_roger
from wetfoot.trial.mixed import RemlFit, reml, same_group
from wetfoot.trial.residual_checks import residuals
from wetfoot.trial.strata import AnovaRow, Strata
from wetfoot.trial.terms import Array, Labels, Model, Term, build_model, combine, indicator, rank, term_name

UNEVEN_RATIO = 4.0


@dataclass(frozen=True)
class Evenness:
    """Whether several years have the same error variance.

    Attributes:
        bartlett: Bartlett's statistic, chi-squared on the years less one.
        p: its p.
        ratio: largest over smallest error mean square; above about 4 the years want a log scale or errors of their own.
    """

    bartlett: float
    p: float
    ratio: float

    @property
    def uneven(self) -> bool:
        """Return whether the largest error is over 4 times the smallest mean square (common practice, no source)."""
        return self.ratio > UNEVEN_RATIO


def evenness(mean_squares: Sequence[float], dfs: Sequence[float]) -> Evenness:
    """Return Bartlett's test (1937) that error mean squares have one variance.

    Args:
        mean_squares: error mean square of each year, all positive.
        dfs: their degrees of freedom.

    Raises:
        ValueError: if there are fewer than two, or one is not positive.
    """
    ms, df = np.asarray(mean_squares, float), np.asarray(dfs, float)
    if len(ms) < 2 or np.any(ms <= 0) or np.any(df <= 0):
        raise ValueError("mean_squares, dfs: need at least two years, all with error left")
    total = df.sum()
    pooled = float(df @ ms / total)
    correction = 1 + (np.sum(1 / df) - 1 / total) / (3 * (len(ms) - 1))
    statistic = float((total * np.log(pooled) - df @ np.log(ms)) / correction)
    return Evenness(statistic, float(stats.chi2.sf(statistic, len(ms) - 1)), float(ms.max() / ms.min()))


@dataclass(frozen=True)
class CombinedYears:
    """What several years say together.

    Attributes:
        evenness: whether the pots of all years have the same variance; nothing if a year has no error to judge it by.
        random_tests: tests of the treatment terms with years random: do they hold in years like these?
        note: how these tests were made.
    """

    evenness: Evenness | None
    random_tests: dict[str, FTest]
    note: str


def combined_years(trial: Trial, anova: Strata) -> CombinedYears:
    """Return what the years of a trial say together.

    Args:
        trial: a trial with a year column.
        anova: its analysis by strata.
    """
    year = trial.roles.year
    if year is None:
        raise ValueError("trial: needs a year column")
    errors = [_yearly_error(trial, trial.factors[year] == label) for label in np.unique(trial.factors[year])]
    even = evenness(*zip(*errors, strict=True)) if all(ms > 0 for ms, _ in errors) else None
    terms = trial.roles.treatment_terms()
    if anova.orthogonal:
        return CombinedYears(
            even, beyond_these_years(anova, terms, year), "each term against its own change over years"
        )
    main = {name: trial.factors[name] for name in trial.roles.treatments if (name,) in terms}
    model = build_model({name: trial.factors[name] for name in trial.roles.treatments}, terms)
    for bounded in (False, True):
        try:
            fit, tests = random_years(
                trial.y, model, trial.factors[year], trial.units.block, trial.units.board, main, bounded
            )
        except (ValueError, np.linalg.LinAlgError):
            continue
        if fit.converged and all(np.isfinite(test.f) and test.df_error > 0 for test in tests.values()):
            how = "held at or above zero" if bounded else "free to fall below zero"
            return CombinedYears(even, tests, f"years, their blocks and their main effects random, variances {how}")
    return CombinedYears(even, {}, "years could not be taken as random: too few pots were weighed")


def _yearly_error(trial: Trial, here: NDArray[np.bool_]) -> tuple[float, int]:
    """Return the error mean square between the pots of one year, boards fixed, and its degrees of freedom."""
    roles = replace(trial.roles, year=None)
    one = Trial(trial.y[here], {name: trial.factors[name][here] for name in roles.columns}, roles)
    model = one.model(one.terms)
    boards = () if one.units.board is None else (indicator(one.units.board),)
    x = np.hstack([model.x, *boards])
    df = len(one.y) - rank(x)
    left = residuals(one.y, x)
    return (float(left @ left) / df if df > 0 else 0.0), df


def beyond_these_years(anova: Strata, terms: Sequence[Term], year: str) -> dict[str, FTest]:
    """Return each term tested against its own interaction with years, for complete trials.

    Args:
        anova: the analysis by strata, with the terms and their interactions with the year.
        terms: treatment terms.
        year: name of the year factor.
    """
    return {term_name(term): _ratio(anova.row(term_name(term)), anova.row(term_name((year, *term)))) for term in terms}


def _ratio(term: AnovaRow, partner: AnovaRow) -> FTest:
    """Return the F of one mean square over another."""
    f = term.ms / partner.ms
    return FTest(f, term.df, float(partner.df), float(stats.f.sf(f, term.df, partner.df)))


def random_years(
    y: Array,
    model: Model,
    year: Labels,
    block: Labels | None,
    board: Labels | None,
    with_year: Mapping[str, Labels],
    bounded: bool = False,
) -> tuple[RemlFit, dict[str, FTest]]:
    """Return a fit with years, their blocks and chosen interactions random, and the tests of its treatment terms.

    Args:
        y: responses without gaps, shape (n,).
        model: treatment terms only, without year or block.
        year: label of the year of each pot, shape (n,).
        block: label of the block, different between years, shape (n,), or nothing.
        board: label of the board, different between blocks and years, shape (n,), or nothing.
        with_year: labels of the terms that vary at random from year to year, by name, shape (n,) each.
        bounded: hold the variances at or above zero.
    """
    groups: dict[str, Labels] = {"year": year}
    groups |= {f"year:{name}": combine(year, labels) for name, labels in with_year.items()}
    if block is not None:
        groups["year:block"] = block
    if board is not None:
        groups["board"] = board
    fit = reml(y, model.x, {name: same_group(labels) for name, labels in groups.items()}, bounded)
    adjusted = kenward_roger(fit)
    return fit, {term_name(term): f_test(adjusted, model.selector(term)) for term in model.terms}
