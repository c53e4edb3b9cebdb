"""What a bench's levels are sensitive to, and which pots to raise or lower so that all keep their level."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from wetfoot.water.bench_parts import BankLines, Supply
from wetfoot.water.network import BankLevels, Demand, bench_levels

Array = NDArray[np.float64]

# Inside diameters in the trade: common practice, no source.
MICROTUBE_BORES_M = (0.0015, 0.002, 0.003, 0.004, 0.005, 0.006, 0.008)
LATERAL_BORES_M = (0.010, 0.013, 0.016, 0.0204, 0.025, 0.032)
BOARD_ERROR_M = 0.01
MOST_ROUNDS = 30


@dataclass(frozen=True)
class Change:
    """What one change does to the depths of a bank.

    Attributes:
        what: the change, in words.
        lowest_m, deepest_m: depth in the shallowest and the deepest pot.
        lowest_change_m: of the shallowest pot's depth against the bench as it is.
        dry_pots: how many cannot drink what they want.
        overflowing_pots: how many run over.
    """

    what: str
    lowest_m: float
    deepest_m: float
    lowest_change_m: float
    dry_pots: int
    overflowing_pots: int


def level_changes(banks: Sequence[BankLines], supply: Supply, demand_l_h: Demand, bank: int = 0) -> tuple[Change, ...]:
    """Return what changes one bank's levels and by how much, the bench as it is first.

    The far end of the board 1 cm high or low, every pot's board out by 1 cm either way in turn is worth the same to
    that pot; the next bore of the trade up and down for microtubes and lateral; the tank half full.

    Args:
        banks, supply, demand_l_h: as in `network.bench_levels`, the demand at its peak.
        bank: which bank is looked at.
    """
    as_it_is = _levels(banks, supply, demand_l_h, bank)
    base = float(as_it_is.depth_m.min())
    found = [_change("as it is", as_it_is, base)]
    for what, changed, tank in _variants(banks[bank], supply):
        others = [changed if b == bank else each for b, each in enumerate(banks)]
        found.append(_change(what, _levels(others, tank, demand_l_h, bank), base))
    return tuple(found)


def _levels(banks: Sequence[BankLines], supply: Supply, demand_l_h: Demand, bank: int) -> BankLevels:
    return bench_levels(banks, supply, demand_l_h).banks[bank]


def _change(what: str, levels: BankLevels, base_m: float) -> Change:
    lowest = float(levels.depth_m.min())
    return Change(
        what=what,
        lowest_m=lowest,
        deepest_m=float(levels.depth_m.max()),
        lowest_change_m=lowest - base_m,
        dry_pots=int(levels.dry.sum()),
        overflowing_pots=int((levels.overflow_l_h > 0).sum()),
    )


def _variants(bank: BankLines, supply: Supply) -> Iterator[tuple[str, BankLines, Supply]]:
    """Yield each change in words with the bank and supply that it makes."""
    slope = np.arange(1, bank.pots + 1) / bank.pots
    for what, rise in (("far end of the board 1 cm high", BOARD_ERROR_M), ("far end 1 cm low", -BOARD_ERROR_M)):
        yield what, replace(bank, board_m=tuple((bank.profile_m + rise * slope).tolist())), supply
    for bore in _neighbours(bank.microtube_bore_m, MICROTUBE_BORES_M):
        yield f"microtubes of {1e3 * bore:g} mm", replace(bank, microtube_bore_m=bore), supply
    for bore in _neighbours(bank.lateral_bore_m, LATERAL_BORES_M):
        yield f"lateral of {1e3 * bore:g} mm", replace(bank, lateral_bore_m=bore), supply
    yield "tank half full", bank, replace(supply, fill=0.5)


def _neighbours(bore_m: float, bores_m: Iterable[float]) -> list[float]:
    """Return the next smaller and the next larger bore of the trade, where there is one."""
    smaller = [b for b in bores_m if b < 0.999 * bore_m]
    larger = [b for b in bores_m if b > 1.001 * bore_m]
    return [*smaller[-1:], *larger[:1]]


@dataclass(frozen=True)
class Shims:
    """By how much to raise each pot (lower it, where negative), one array a bank, and the depths that result."""

    raise_m: tuple[Array, ...]
    depth_m: tuple[Array, ...]


def shims(
    banks: Sequence[BankLines], supply: Supply, peak_demand_l_h: Demand, tolerance_m: float, step_m: float = 0.001
) -> Shims:
    """Return which pots to raise or lower so that every one keeps its set level within a tolerance at peak demand.

    A pot within the tolerance is left alone; any other is brought as near to the set level as whole steps allow.
    Pots that stood dry drink again once they are lowered, so that the levels are solved anew until all hold.

    Args:
        banks, supply, peak_demand_l_h: as in `network.bench_levels`.
        tolerance_m: how far a pot may be from its set level.
        step_m: thickness of the thinnest shim.

    Raises:
        ValueError: if shims of this step cannot bring every pot within the tolerance.
    """
    if not tolerance_m >= step_m / 2.0 > 0:
        raise ValueError(f"tolerance_m must be at least half of step_m and both > 0, not {tolerance_m} and {step_m}")
    moved = [np.zeros(bank.pots) for bank in banks]
    for _ in range(MOST_ROUNDS):
        stand = [_shimmed(bank, m) for bank, m in zip(banks, moved, strict=True)]
        levels = bench_levels(stand, supply, peak_demand_l_h).banks
        off = [_waterline_m(level) - bank.set_level_m for bank, level in zip(banks, levels, strict=True)]
        if all((np.abs(o) <= tolerance_m).all() for o in off):
            return Shims(tuple(moved), tuple(level.depth_m for level in levels))
        moved = [
            m + np.where(np.abs(o) > tolerance_m, step_m * np.round(o / step_m), 0.0)
            for m, o in zip(moved, off, strict=True)
        ]
    worst = max(float(np.abs(o).max()) for o in off)
    raise ValueError(f"tolerance_m {tolerance_m} is out of reach: a pot stays {worst:.4g} m off, whatever its shim")


def _waterline_m(levels: BankLevels) -> Array:
    """Return the height of the water above each pot's bottom, below 0 where it stands too low to fill the pot."""
    return levels.sump_level_m - levels.lateral_loss_m - levels.microtube_loss_m - levels.board_m


def _shimmed(bank: BankLines, raise_m: Array) -> BankLines:
    return replace(bank, board_m=tuple((bank.profile_m + raise_m).tolist()))
