"""How small a difference a trial of pots on boards in blocks can see, before it is planted.

Every comparison of two means comes down to two numbers, the variance of one mean and the degrees of freedom of
its error stratum; power, LSD and detectable difference follow from these by the noncentral F and t.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np
from scipy import optimize, special

from wetfoot.trial.split_plot import SplitPlot

ALPHA = 0.05


@dataclass(frozen=True)
class Comparison:
    """A comparison of means: what is compared, the variance of one mean in %^2 of the overall mean, error df.

    `exact` is false where the df are Satterthwaite's, so that power and LSD are good approximations.
    """

    name: str
    levels: int
    variance_pct2: float
    df: float
    exact: bool = True


def comparisons(
    layout: SplitPlot, cv_pot_pct: float, cv_board_pct: float = 0.0, cv_year_treatment_pct: float | None = None
) -> tuple[Comparison, ...]:
    """Return the comparisons that the layout allows, board factors first.

    Strata and mixed comparison of a split plot: Cochran & Cox 1957, ch. 7; df of the mixed one: Satterthwaite 1946
    (both from memory). Years are fixed ("in these years") unless a year-by-treatment CV is given; then years are
    a sample ("in years like these") and the error of a main effect is its interaction with years.

    Args:
        layout: the design.
        cv_pot_pct: pot to pot standard deviation within a board, % of the mean.
        cv_board_pct: board to board standard deviation within a block, % of the mean.
        cv_year_treatment_pct: standard deviation of a treatment mean from year to year beyond pots and boards, %.

    Returns:
        The comparisons; those with no error df are left out.

    Raises:
        ValueError: if a CV is negative, or pot CV is zero.
    """
    if cv_pot_pct <= 0 or cv_board_pct < 0 or (cv_year_treatment_pct or 0.0) < 0:
        raise ValueError(f"cv_pot_pct must be > 0 and the others >= 0, not {cv_pot_pct}, {cv_board_pct}")
    within_years = [
        *_of_boards(layout, cv_pot_pct, cv_board_pct),
        *_of_pots(layout, cv_pot_pct),
        *_of_boards_at_a_pot_level(layout, cv_pot_pct, cv_board_pct),
    ]
    if cv_year_treatment_pct is not None:
        within_years = _over_random_years(within_years, layout, cv_year_treatment_pct)
    return tuple(comparison for comparison in within_years if comparison.df > 0)


def _of_boards(layout: SplitPlot, cv_pot: float, cv_board: float) -> list[Comparison]:
    one_board = cv_board**2 + cv_pot**2 / layout.pots_per_board
    return [
        Comparison(name, levels, one_board * levels / layout.boards, layout.board_df)
        for name, levels in layout.board_factors.items()
    ]


def _of_pots(layout: SplitPlot, cv_pot: float) -> list[Comparison]:
    parts = layout.board_treatments
    of_factor = [
        Comparison(name, levels, cv_pot**2 * levels / layout.pots, layout.pot_df)
        for name, levels in layout.pot_factors.items()
    ]
    within = [
        Comparison(f"{part.name} within one board treatment", part.levels, part.variance_pct2 * parts, part.df)
        for part in of_factor
        if parts > 1
    ]
    cells = layout.pot_treatments
    cell = Comparison(
        "single cells of one board treatment", cells, cv_pot**2 * cells * parts / layout.pots, layout.pot_df
    )
    return [*of_factor, *within, *([cell] if len(layout.pot_factors) > 1 else [])]


def _of_boards_at_a_pot_level(layout: SplitPlot, cv_pot: float, cv_board: float) -> list[Comparison]:
    if not layout.board_factors or layout.board_df < 1 or layout.pot_df < 1:
        return []
    k = layout.pots_per_board
    found = []
    for name, levels in layout.pot_factors.items():
        pots = k / levels
        from_boards, from_pots = (k * cv_board**2 + cv_pot**2) / k, cv_pot**2 * (1.0 / pots - 1.0 / k)
        df = (from_boards + from_pots) ** 2 / (from_boards**2 / layout.board_df + from_pots**2 / layout.pot_df)
        variance = (from_boards + from_pots) * layout.board_treatments / layout.boards
        found.append(Comparison(f"board treatments at one {name}", layout.board_treatments, variance, df, exact=False))
    return found


def _over_random_years(found: Sequence[Comparison], layout: SplitPlot, cv_year_treatment: float) -> list[Comparison]:
    main = {**layout.board_factors, **layout.pot_factors}
    return [
        Comparison(
            part.name,
            part.levels,
            part.variance_pct2 + cv_year_treatment**2 / layout.years,
            (layout.years - 1) * (part.levels - 1),
        )
        for part in found
        if part.name in main
    ]


def f_power(df_between: float, df_error: float, noncentrality: float, alpha: float = ALPHA) -> float:
    """Return the power of an F test: P(F'(df_between, df_error, noncentrality) > critical F).

    Raises:
        ValueError: if a df is not positive, the noncentrality is negative or alpha is not between 0 and 1.
    """
    if not (df_between > 0 and df_error > 0 and 0 <= noncentrality < math.inf and 0 < alpha < 1):
        given = f"{df_between}, {df_error}, {noncentrality}, {alpha}"
        raise ValueError(f"df must be > 0, noncentrality >= 0 and alpha in (0, 1), not {given}")
    critical = float(special.fdtri(df_between, df_error, 1.0 - alpha))
    if noncentrality == 0:
        return alpha
    return power_above(float(special.ncfdtr(df_between, df_error, noncentrality, critical)))


def power_above(below: float) -> float:
    """Return 1 less the chance of staying below the critical value.

    The library's noncentral F and t give nan where that chance underflows (seen below 1e-180 only): power is 1 there.
    """
    return 1.0 if math.isnan(below) else 1.0 - below


def pair_power(comparison: Comparison, difference_pct: float, alpha: float = ALPHA) -> float:
    """Return the power of the two-sided t test of two means that differ by so many % of the overall mean.

    The square of a noncentral t is a noncentral F on 1 df with noncentrality difference^2 / (2 variance).
    """
    return f_power(1, comparison.df, difference_pct**2 / (2.0 * comparison.variance_pct2), alpha)


def effect_power(comparison: Comparison, means_pct: Sequence[float], alpha: float = ALPHA) -> float:
    """Return the power of the F test over all levels, given the mean of each level in % of the overall mean.

    Noncentrality is the sum of squared deviations over the variance of one mean.

    Raises:
        ValueError: if there is not one mean for each level.
    """
    if len(means_pct) != comparison.levels:
        raise ValueError(f"means_pct must hold {comparison.levels} means, not {len(means_pct)}")
    deviations = np.asarray(means_pct, dtype=float) - np.mean(means_pct)
    return f_power(
        comparison.levels - 1, comparison.df, float(deviations @ deviations) / comparison.variance_pct2, alpha
    )


def lsd_pct(comparison: Comparison, alpha: float = ALPHA) -> float:
    """Return the least significant difference of two means, % of the overall mean: t sqrt(2 variance)."""
    t = special.stdtrit(comparison.df, 1.0 - alpha / 2.0)
    return float(t * math.sqrt(2.0 * comparison.variance_pct2))


def detectable_difference_pct(comparison: Comparison, power: float = 0.8, alpha: float = ALPHA) -> float:
    """Return the smallest true difference of two means that is found with the given power, % of the mean.

    Raises:
        ValueError: if power is not between alpha and 1.
    """
    if not alpha < power < 1:
        raise ValueError(f"power must be between alpha = {alpha} and 1, not {power}")
    high = 10.0
    while f_power(1, comparison.df, high, alpha) < power:
        high *= 2.0
    # The library's inverse of the noncentral F is good to five digits only, hence a root search.
    shortfall = partial(_shortfall, comparison.df, alpha, power)
    return math.sqrt(2.0 * comparison.variance_pct2 * float(optimize.brentq(shortfall, 0.0, high, xtol=1e-12)))


def _shortfall(df: float, alpha: float, power: float, noncentrality: float) -> float:
    return f_power(1, df, noncentrality, alpha) - power
