"""How many blocks a trial needs, in numbers and in words."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from wetfoot.trial.power import ALPHA, Comparison, comparisons, detectable_difference_pct, lsd_pct, pair_power
from wetfoot.trial.split_plot import SplitPlot


def smallest_count(power_at: Callable[[int], float], power: float, fewest: int = 2, most: int = 1000) -> int | None:
    """Return the smallest whole number whose power reaches the wanted one, never one below it; None if none does.

    Args:
        power_at: power for a count; must not fall as the count grows.
        power: wanted power, 0 to 1.
        fewest: smallest count that may be given.
        most: largest count that is tried.

    Returns:
        The count, so that ``power_at(count) >= power`` and ``power_at(count - 1) < power``.
    """
    if power_at(most) < power:
        return None
    low, high = fewest - 1, most
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if power_at(middle) >= power else (middle, high)
    return high


@dataclass(frozen=True)
class BlocksNeeded:
    """How many blocks one comparison needs.

    Attributes:
        comparison: its name.
        difference_pct: true difference to be found, % of the mean.
        blocks: complete blocks a year; None if no number up to the limit is enough.
        pots: pots of all years with that many blocks.
        power: power with that many blocks, or with the most that were tried.
        power_one_block_fewer: power with one block fewer (0 where that leaves no error df).
        lsd_pct: least significant difference with that many blocks, % of the mean.
        detectable_pct: smallest difference found with the wanted power, % of the mean.
        words: the same as sentences.
    """

    comparison: str
    difference_pct: float
    blocks: int | None
    pots: int | None
    power: float
    power_one_block_fewer: float
    lsd_pct: float
    detectable_pct: float
    words: str


def blocks_needed(
    layout: SplitPlot,
    name: str,
    difference_pct: float,
    cv_pot_pct: float,
    cv_board_pct: float = 0.0,
    power: float = 0.8,
    alpha: float = ALPHA,
    cv_year_treatment_pct: float | None = None,
    most: int = 60,
) -> BlocksNeeded:
    """Return how many blocks a comparison of two means needs, rounded up, with the power one block fewer would have.

    Args:
        layout: the design; its number of blocks does not matter.
        name: the comparison, as `comparisons` names it.
        difference_pct: the difference between two means that matters, % of the mean.
        cv_pot_pct: pot to pot standard deviation within a board, % of the mean.
        cv_board_pct: board to board standard deviation within a block, % of the mean.
        power: wanted power.
        alpha: two-sided error of the first kind.
        cv_year_treatment_pct: as in `comparisons`: given, the years are a sample of years.
        most: the largest number of blocks that is tried.

    Returns:
        Numbers and words.

    Raises:
        ValueError: if the layout has no comparison of that name or the difference is not positive.
    """
    if difference_pct <= 0:
        raise ValueError(f"difference_pct must be > 0, not {difference_pct}")

    def with_blocks(blocks: int) -> Comparison | None:
        found = comparisons(replace(layout, blocks=blocks), cv_pot_pct, cv_board_pct, cv_year_treatment_pct)
        return next((part for part in found if part.name == name), None)

    def power_at(blocks: int) -> float:
        part = with_blocks(blocks) if blocks > 0 else None
        return pair_power(part, difference_pct, alpha) if part else 0.0

    at_most = with_blocks(most)
    if at_most is None:
        known = [part.name for part in comparisons(replace(layout, blocks=most), cv_pot_pct, cv_board_pct)]
        raise ValueError(f"name must be one of {known}, not {name!r}")
    blocks = smallest_count(power_at, power, fewest=1, most=most)
    tried = blocks or most
    part = with_blocks(tried) or at_most
    needed = BlocksNeeded(
        comparison=name,
        difference_pct=difference_pct,
        blocks=blocks,
        pots=replace(layout, blocks=blocks).pots if blocks else None,
        power=power_at(tried),
        power_one_block_fewer=power_at(tried - 1),
        lsd_pct=lsd_pct(part, alpha),
        detectable_pct=detectable_difference_pct(part, power, alpha),
        words="",
    )
    return replace(needed, words=_in_words(needed, layout, power, most))


def _in_words(needed: BlocksNeeded, layout: SplitPlot, power: float, most: int) -> str:
    asked = (
        f"To find a difference of {needed.difference_pct:g} % of the mean ({needed.comparison}) with "
        f"{100 * power:g} % power"
    )
    years = f" in each of {layout.years} years" if layout.years > 1 else ""
    if needed.blocks is None:
        return (
            f"{asked}, not even {most} blocks{years} are enough: their power is {needed.power:.2f}, and they find "
            f"{needed.detectable_pct:.1f} %. Use more boards or years, or ask for a larger difference."
        )
    blocks = f"{needed.blocks} block{'s' if needed.blocks > 1 else ''}{years}"
    fewer = f" One block fewer has {needed.power_one_block_fewer:.2f}." if needed.power_one_block_fewer > 0 else ""
    return (
        f"{asked}, take {blocks}, {needed.pots} pots in all: power {needed.power:.2f}.{fewer} "
        f"Two means then differ significantly from {needed.lsd_pct:.1f} % apart."
    )
