"""The power of a trial by simulation, also when pots are lost."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special

from wetfoot.trial.power import ALPHA
from wetfoot.trial.split_plot import SplitPlot

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class SimulatedPower:
    """The share of simulated trials with a significant result.

    Attributes:
        power: share among the trials that could be analysed (nan if none could).
        standard_error: of that share, binomial.
        analysed: trials that could be analysed.
        not_estimable: trials in which too much was lost for an answer.
        seed: what draws the same trials again.
    """

    power: float
    standard_error: float
    analysed: int
    not_estimable: int
    seed: int


def pot_rows(layout: SplitPlot) -> dict[str, NDArray[np.int64]]:
    """Return year, block, board and the level of each factor for every pot, counted from zero, in simulation order.

    The order is that of the treatments, not of a randomised layout: for normal errors power does not depend on it.

    Returns:
        Arrays of shape (pots,); blocks and boards are numbered through all years.
    """
    shape = _shape(layout)
    index = np.indices(shape).reshape(len(shape), -1)
    years, blocks, copies = index[0], index[1], index[2 + len(layout.board_factors)]
    board_parts = list(index[2 : 2 + len(layout.board_factors)])
    rows = {"year": years, "block": years * layout.blocks + blocks}
    sizes = [*layout.board_factors.values(), layout.boards_per_treatment]
    board = rows["block"]
    for part, size in zip([*board_parts, copies], sizes, strict=True):
        board = board * size + part
    rows["board"] = board
    rows |= dict(zip(layout.board_factors, board_parts, strict=True))
    first = 3 + len(layout.board_factors)
    return rows | {name: index[first + i] for i, name in enumerate(layout.pot_factors)}


def draw_trials(
    layout: SplitPlot,
    effects_pct: Mapping[str, ArrayLike],
    cv_pot_pct: float,
    cv_board_pct: float,
    trials: int,
    generator: np.random.Generator,
) -> Floats:
    """Return simulated pots, % of the mean, shape (trials, pots), normal errors of boards and pots.

    Args:
        layout: the design.
        effects_pct: true deviation of each level of a factor, % of the mean; factors left out have none.
        cv_pot_pct: pot to pot standard deviation, % of the mean.
        cv_board_pct: board to board standard deviation, % of the mean.
        trials: how many to draw.
        generator: source of randomness.

    Raises:
        ValueError: if a factor is unknown or has another number of levels.
    """
    rows, levels = pot_rows(layout), {**layout.board_factors, **layout.pot_factors}
    expected = np.full(layout.pots, 100.0)
    for name, effect in effects_pct.items():
        values = np.asarray(effect, dtype=float)
        if values.shape != (levels.get(name, -1),):
            raise ValueError(f"effects_pct[{name!r}] must hold one value for each level of a factor in {levels}")
        expected = expected + values[rows[name]]
    boards = generator.normal(0.0, cv_board_pct, (trials, layout.boards))[:, rows["board"]]
    return np.asarray(expected + boards + generator.normal(0.0, cv_pot_pct, (trials, layout.pots)))


def balanced_p_values(layout: SplitPlot, response: ArrayLike, factor: str) -> Floats:
    """Return the p values of the strata F test of one factor's main effect in complete trials, years fixed.

    Args:
        layout: the design.
        response: shape (trials, pots), complete, in the order of `pot_rows`.
        factor: a board or pot factor.

    Returns:
        Shape (trials,).

    Raises:
        ValueError: if the factor is unknown or its stratum has no error df.
    """
    on_boards = factor in layout.board_factors
    factors, df = (layout.board_factors, layout.board_df) if on_boards else (layout.pot_factors, layout.pot_df)
    if factor not in factors or df < 1:
        raise ValueError(f"factor {factor!r} is not in the layout, or has no error degrees of freedom")
    y = np.asarray(response, dtype=float).reshape(-1, *_shape(layout))
    axis = list(factors).index(factor) + (3 if on_boards else 4 + len(layout.board_factors))
    error = _board_errors(layout, y) if on_boards else _pot_errors(layout, y)
    others = tuple(i for i in range(1, y.ndim) if i != axis)
    means = y.mean(axis=others)
    replication = layout.pots / factors[factor]
    between = replication * ((means - means.mean(axis=1, keepdims=True)) ** 2).sum(axis=1)
    df_between = factors[factor] - 1
    return np.asarray(special.fdtrc(df_between, df, (between / df_between) / (error / df)))


def simulated_power(
    layout: SplitPlot,
    factor: str,
    effects_pct: Mapping[str, ArrayLike],
    cv_pot_pct: float,
    cv_board_pct: float = 0.0,
    lost_pots: int = 0,
    p_value: Callable[[Floats], float] | None = None,
    trials: int = 2000,
    seed: int = 1,
    alpha: float = ALPHA,
) -> SimulatedPower:
    """Return the power of the test of one factor by simulation, with pots lost at random if any are.

    Args:
        layout: the design.
        factor: whose main effect is tested.
        effects_pct: as in `draw_trials`.
        cv_pot_pct: pot to pot standard deviation, % of the mean.
        cv_board_pct: board to board standard deviation, % of the mean.
        lost_pots: pots lost in every trial, each set of pots equally likely.
        p_value: analysis of one trial, from responses of shape (pots,) in the order of `pot_rows` with nan for lost
            pots to a p value, or nan where the effect cannot be estimated. Needed if pots are lost; without it
            complete trials are tested in their strata, all at once.
        trials: simulated trials.
        seed: of the simulation.
        alpha: error of the first kind.

    Returns:
        The power with its standard error and seed.

    Raises:
        ValueError: if pots are lost and no analysis is given, or more are lost than stand.
    """
    if not 0 <= lost_pots < layout.pots or (lost_pots and p_value is None):
        raise ValueError(f"lost_pots must be 0 to {layout.pots - 1}, and needs p_value, not {lost_pots}")
    generator = np.random.default_rng(seed)
    response = draw_trials(layout, effects_pct, cv_pot_pct, cv_board_pct, trials, generator)
    if p_value is None:
        found = balanced_p_values(layout, response, factor)
    else:
        for trial in response:
            trial[generator.permutation(layout.pots)[:lost_pots]] = np.nan
        found = np.array([p_value(trial) for trial in response])
    analysed = int(np.isfinite(found).sum())
    power = float((found < alpha).sum() / analysed) if analysed else math.nan
    error = math.sqrt(power * (1.0 - power) / analysed) if analysed else math.nan
    return SimulatedPower(power, error, analysed, trials - analysed, seed)


def _shape(layout: SplitPlot) -> tuple[int, ...]:
    """Return year, block, board factors, copies of a board, pot factors, copies of a pot."""
    return (
        layout.years,
        layout.blocks,
        *layout.board_factors.values(),
        layout.boards_per_treatment,
        *layout.pot_factors.values(),
        layout.pots_per_treatment,
    )


def _pot_errors(layout: SplitPlot, y: Floats) -> Floats:
    """Return the pot error SS of each trial: within boards, less each year's treatment cells."""
    first_pot_axis = 4 + len(layout.board_factors)
    within = y - y.mean(axis=tuple(range(first_pot_axis, y.ndim)), keepdims=True)
    cells = within.mean(axis=(2, first_pot_axis - 1, y.ndim - 1), keepdims=True)
    return _sum_of_squares(within - cells)


def _board_errors(layout: SplitPlot, y: Floats) -> Floats:
    """Return the board error SS of each trial, on the scale of single pots."""
    first_pot_axis = 4 + len(layout.board_factors)
    boards = y.mean(axis=tuple(range(first_pot_axis, y.ndim)))
    within = boards - boards.mean(axis=tuple(range(3, boards.ndim)), keepdims=True)
    cells = within.mean(axis=(2, boards.ndim - 1), keepdims=True)
    return layout.pots_per_board * _sum_of_squares(within - cells)


def _sum_of_squares(deviations: Floats) -> Floats:
    return np.asarray((deviations**2).reshape(len(deviations), -1).sum(axis=1))
