"""What an analysis of a trial gives."""

from __future__ import annotations

from dataclasses import dataclass

from wetfoot.trial.contrasts import Contrast
from wetfoot.trial.fitting import Fitted, Trial
from wetfoot.trial.kenward_roger import FTest
from wetfoot.trial.means import Comparison, MeansTable, StandardDifference
from wetfoot.trial.residual_checks import Check
from wetfoot.trial.strata import Strata
from wetfoot.trial.years import CombinedYears


@dataclass(frozen=True)
class TermTest:
    """One term of the table; without F where the trial has no error to judge it by."""

    term: str
    stratum: str
    df: int
    df_error: float | None
    f: float | None
    p: float | None


@dataclass(frozen=True)
class Analysis:
    """What a trial says about one response.

    Attributes:
        method: ``strata`` or ``REML + KR``.
        terms: F test of every term.
        strata: sums of squares by stratum; with lost pots they are no tests and only show why.
        contrasts: terms with a quantitative factor, split into linear, quadratic, cubic and deviations.
        means: for every main effect and interaction of two or all factors.
        comparisons: pairs and letters of each factor, within the levels of those it interacts with.
        differences: standard error of a difference for each kind of comparison.
        components: variance components, possibly negative; the last is that of the pots.
        bounded: the same held at or above zero, as a check.
        bounded_tests: F tests under the bounded components.
        checks: tests of the assumptions.
        years: with several years, whether they are as even as each other and what holds beyond them.
        mean: grand mean of the cells.
        cv: coefficient of variation between pots, as a fraction.
        lost: positions of the pots without a value.
        trial: the pots that were weighed.
        fitted: the fit that means, contrasts and comparisons come from.
        warnings: what a reader must know, in plain words.
    """

    method: str
    terms: tuple[TermTest, ...]
    strata: Strata
    contrasts: tuple[Contrast, ...]
    means: tuple[MeansTable, ...]
    comparisons: tuple[Comparison, ...]
    differences: tuple[StandardDifference, ...]
    components: dict[str, float]
    bounded: dict[str, float]
    bounded_tests: dict[str, FTest]
    checks: tuple[Check, ...]
    years: CombinedYears | None
    mean: float
    cv: float
    lost: tuple[int, ...]
    trial: Trial
    fitted: Fitted
    warnings: tuple[str, ...]

    def term(self, name: str) -> TermTest:
        """Return the test of a term by its name."""
        return next(term for term in self.terms if term.term == name)

    def table_of_means(self, *factors: str) -> MeansTable:
        """Return the means of the cells of some factors."""
        return next(table for table in self.means if table.factors == factors)
