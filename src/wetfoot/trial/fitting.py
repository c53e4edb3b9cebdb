"""The model that a trial's layout implies, and its fits."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from wetfoot.errors import refuse
from wetfoot.trial.kenward_roger import KenwardRoger, kenward_roger
from wetfoot.trial.mixed import RemlFit, reml, same_group
from wetfoot.trial.residual_checks import residuals
from wetfoot.trial.roles import Roles, Units, units
from wetfoot.trial.strata import Stratum, decompose
from wetfoot.trial.terms import Array, Labels, Model, Term, build_model, indicator, rank, term_name

IN_BLOCKS = 1e-8
EDGE = 1e-6


@dataclass(frozen=True)
class Trial:
    """The weighed pots of a trial.

    Attributes:
        y: their responses, shape (n,).
        factors: one label per pot for each column, shape (n,) each.
        roles: what the columns stand for.
    """

    y: Array
    factors: Mapping[str, Labels]
    roles: Roles

    @cached_property
    def units(self) -> Units:
        """Return the experimental units."""
        return units(self.factors, self.roles)

    @property
    def terms(self) -> tuple[Term, ...]:
        """Return all terms: treatments, and with several years the year and its interactions."""
        year, terms = self.roles.year, self.roles.treatment_terms()
        return terms if year is None else ((year,), *terms, *((year, *term) for term in terms))

    @cached_property
    def hidden_by_blocks(self) -> frozenset[Term]:
        """Return treatment terms that vary between blocks only, such as an interaction confounded with blocks."""
        if self.units.block is None:
            return frozenset()
        blocks = indicator(self.units.block)
        model = self.model(self.terms)
        return frozenset(
            term
            for term in self.terms
            if term != (self.roles.year,) and np.abs(residuals(model.columns(term), blocks)).max() < IN_BLOCKS
        )

    @cached_property
    def hidden_by_boards(self) -> frozenset[Term]:
        """Return board terms that nothing can judge, because no two boards of a block are replicates of each other."""
        model = self.model(tuple(term for term in self.terms if term not in self.hidden_by_blocks))
        if self.units.board is None or self.df_boards(model) > 0:
            return frozenset()
        return frozenset(term for term in model.terms if self.roles.is_on_boards(term))

    def df_boards(self, model: Model) -> int:
        """Return the degrees of freedom between boards that a model leaves for error."""
        if self.units.board is None:
            return 0
        return rank(np.hstack([model.x, indicator(self.units.board)])) - rank(model.x)

    def model(self, terms: tuple[Term, ...], nuisance: Array | None = None) -> Model:
        """Return the columns of some terms, with the blocks unless other nuisance columns are given."""
        names = [name for name in (*self.roles.treatments, self.roles.year) if name]
        columns = self.units.nuisance if nuisance is None else nuisance
        return build_model({name: self.factors[name] for name in names}, terms, columns)

    def strata(self) -> tuple[Stratum, ...]:
        """Return the error strata with all terms."""
        model = self.model(self.terms)
        return decompose(self.units.groupings(), {term_name(term): model.columns(term) for term in model.terms})


@dataclass(frozen=True)
class Fitted:
    """A trial's model without the terms that blocks or single boards hide, and its fits.

    Attributes:
        model: the fixed part.
        free: the fit that allows a negative variance between boards, with its adjustment; the bounded one if
            the pots that are left do not hold the variance off the value at which a board has no variance at all.
        bounded: the same with variances held at or above zero.
        held: whether ``free`` had to be the bounded one.
    """

    model: Model
    free: KenwardRoger
    bounded: RemlFit
    held: bool


def fit_trial(trial: Trial) -> Fitted:
    """Return the fits of a trial with blocks fixed and boards random.

    Raises:
        WetfootError: if terms cannot be told apart, or no error is left to judge them by.
    """
    hidden = trial.hidden_by_blocks | trial.hidden_by_boards
    board, nuisance = trial.units.board, None
    if board is not None and trial.hidden_by_boards:
        z = indicator(board)
        board, nuisance = None, z[:, :-1] - z[:, -1:]
    model = trial.model(tuple(term for term in trial.terms if term not in hidden), nuisance)
    _check_estimable(model, len(trial.y))
    random = {} if board is None else {"board": same_group(board)}
    try:
        free, bounded = (reml(trial.y, model.x, random, bounded) for bounded in (False, True))
    except ValueError as error:
        raise refuse("response", str(error), "values that vary between pots of one treatment") from error
    held = not _is_sound(free)
    return Fitted(model, kenward_roger(bounded if held else free), bounded, held)


def _is_sound(fit: RemlFit) -> bool:
    """Return whether a fit stopped away from the edge where some board would have no variance.

    When boards keep different numbers of pots, the likelihood can rise without end towards that edge.
    """
    return fit.converged and 1 / float(np.linalg.eigvalsh(fit.v_inverse)[-1]) > EDGE * float(fit.theta[-1])


def _check_estimable(model: Model, pots: int) -> None:
    """Refuse terms that cannot be told apart, named, and models that leave no error."""
    known = model.x[:, :0]
    for term, place in model.where.items():
        known = np.hstack([known, model.x[:, place]])
        if rank(known) < known.shape[1]:
            name = term_name(term) or "blocks"
            raise refuse(
                name,
                "cannot be told from the other terms or the blocks with the pots that were weighed",
                "terms that vary within blocks",
                "leave it out, with the interactions that hold it",
            )
    if pots <= model.x.shape[1]:
        what = f"{pots} weighed pots leave nothing to judge {model.x.shape[1]} coefficients by"
        raise refuse("response", what, "more pots than coefficients", "leave out the highest interaction")
