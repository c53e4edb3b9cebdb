"""Tests that rest on the randomisation alone: how often would drawing lots have given so large an F?

Only what the design shuffled is shuffled again (Fisher 1935; Edgington; from memory): pots within their board, and
whole boards within their block.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import permutations, product
from math import factorial, prod

import numpy as np
from numpy.typing import NDArray

from wetfoot.trial.fitting import Trial
from wetfoot.trial.strata import Stratum, decompose, f_values
from wetfoot.trial.terms import Array, Labels, indicator, term_name

DRAWS = 19_999
ENUMERATE_UP_TO = 50_000
TIE = 1e-9


@dataclass(frozen=True)
class RandomisationTest:
    """The share of shuffles whose F is as large as that of the trial.

    Attributes:
        term: the term.
        p: the share.
        smallest_p: the least that p could be with this many boards or draws.
        shuffles: how many arrangements were tried, the trial's own among them.
        exact: whether these are all arrangements.
    """

    term: str
    p: float
    smallest_p: float
    shuffles: int
    exact: bool


def shuffle_pots(
    y: Array, unit: Labels, terms: Mapping[str, Array], seed: int, draws: int = DRAWS
) -> tuple[RandomisationTest, ...]:
    """Return randomisation tests of terms that vary within boards, by shuffling the pots on each board.

    With lost pots the terms overlap and each is tested after all others (type III).

    Args:
        y: responses without gaps, shape (n,).
        unit: label of the board, or of the block if there are no boards, shape (n,).
        terms: columns of each term that varies within the boards, shape (n, df) each.
        seed: of the draws.
        draws: random arrangements beside the trial's own.
    """
    shuffled = _shuffled_within(y, unit, np.random.default_rng(seed), draws)
    strata = decompose({"unit": unit}, terms)
    if strata[-1].apart:
        found = f_values(strata[-1], shuffled)
    else:
        found = {}
        for term in terms:
            last = {name: terms[name] for name in [*(t for t in terms if t != term), term]}
            found[term] = f_values(decompose({"unit": unit}, last)[-1], shuffled)[term]
    return tuple(_share(term, f, exact=False) for term, f in found.items())


def _shuffled_within(y: Array, unit: Labels, rng: np.random.Generator, draws: int) -> Array:
    """Return y and shuffles of it within the units, one in each column, shape (n, draws + 1)."""
    out = np.repeat((y - y.mean())[:, None], draws + 1, axis=1)
    for column in indicator(unit).T:
        here = np.flatnonzero(column)
        out[here, 1:] = rng.permuted(out[here, 1:], axis=0)
    return out


def shuffle_boards(
    board_values: Array, block: Labels, terms: Mapping[str, Array], seed: int, draws: int = DRAWS
) -> tuple[RandomisationTest, ...]:
    """Return randomisation tests of board treatments, by shuffling whole boards within their block.

    Every arrangement is tried where there are few enough.

    Args:
        board_values: mean of each board, adjusted for lost pots, shape (boards,).
        block: label of the block of each board, shape (boards,).
        terms: columns of each term over the boards, shape (boards, df) each.
        seed: of the draws if there are too many arrangements.
        draws: random arrangements beside the trial's own.
    """
    places = [np.flatnonzero(column) for column in indicator(block).T]
    ways = prod(factorial(len(place)) for place in places)
    exact = ways <= ENUMERATE_UP_TO
    order = _every_order(places) if exact else _some_orders(places, np.random.default_rng(seed), draws)
    stratum = decompose({"block": block}, terms)[-1]
    if stratum.df_residual < 1:
        return ()
    values = (board_values - board_values.mean())[order.T]
    return tuple(_share(term, f, exact) for term, f in f_values(stratum, values).items())


def _every_order(places: list[NDArray[np.intp]]) -> NDArray[np.intp]:
    """Return all arrangements of the boards within their blocks, the trial's own first, shape (ways, boards)."""
    orders = np.empty((prod(factorial(len(place)) for place in places), sum(map(len, places))), dtype=np.intp)
    for row, parts in zip(orders, product(*(permutations(place) for place in places)), strict=True):
        for place, part in zip(places, parts, strict=True):
            row[place] = part
    return orders


def _some_orders(places: list[NDArray[np.intp]], rng: np.random.Generator, draws: int) -> NDArray[np.intp]:
    """Return random arrangements of the boards in their blocks, the trial's own first, shape (draws + 1, boards)."""
    orders = np.tile(np.arange(sum(map(len, places))), (draws + 1, 1))
    for place in places:
        orders[1:, place] = rng.permuted(orders[1:, place], axis=1)
    return orders


def _share(term: str, f: Array, exact: bool) -> RandomisationTest:
    """Return the test from the F of all arrangements, the trial's own first."""
    p = float(np.mean(f >= f[0] * (1 - TIE)))
    smallest = float(np.mean(f >= f.max() * (1 - TIE))) if exact else 1 / len(f)
    return RandomisationTest(term, p, smallest, len(f), exact)


def false_alarms(
    stratum: Stratum, board: Labels, board_sd: float, trials: int, seed: int, pot_sd: float = 1.0
) -> dict[str, Array]:
    """Return the F of every term in many trials without any treatment effect.

    Args:
        stratum: the stratum whose terms are tested.
        board: label of the board of each pot, shape (n,).
        board_sd: standard deviation between boards of a block.
        trials: how many trials.
        seed: of the draws.
        pot_sd: standard deviation between pots of a board.
    """
    rng = np.random.default_rng(seed)
    z = indicator(board)
    y = board_sd * z @ rng.standard_normal((z.shape[1], trials))
    return f_values(stratum, y + pot_sd * rng.standard_normal((len(z), trials)))


def randomisation_tests(trial: Trial, seed: int, draws: int = DRAWS) -> tuple[RandomisationTest, ...]:
    """Return randomisation tests of all treatment terms of a trial, in the order of its terms.

    Args:
        trial: the weighed pots.
        seed: of the draws.
        draws: random arrangements beside the trial's own.
    """
    model = trial.model(trial.terms)
    year = (trial.roles.year,)
    on_boards = [term for term in model.terms if trial.roles.is_on_boards(term) and term != year]
    inside = {term_name(t): model.columns(t) for t in model.terms if not trial.roles.is_on_boards(t) and t != year}
    board, block = trial.units.board, trial.units.block
    found: list[RandomisationTest] = []
    everything = np.array(["all"] * len(trial.y))
    if board is not None and on_boards:
        z = indicator(board)
        first = z.argmax(axis=0)
        values = _board_values(trial.y, z, list(inside.values()))
        place = (everything if block is None else block)[first]
        found += shuffle_boards(values, place, {term_name(t): model.columns(t)[first] for t in on_boards}, seed, draws)
    unit = board if board is not None else everything if block is None else block
    found += shuffle_pots(trial.y, unit, inside, seed, draws) if inside else ()
    order = [term_name(term) for term in model.terms]
    return tuple(sorted(found, key=lambda test: order.index(test.term)))


def _board_values(y: Array, z: Array, inside: list[Array]) -> Array:
    """Return the mean of each board, adjusted to the same pot treatments on all, shape (boards,)."""
    columns = np.hstack([z, *inside])
    start = y - y[0]
    return np.asarray(np.linalg.lstsq(columns, start, rcond=None)[0][: z.shape[1]] + y[0])
