"""How many pots may share one water: what an infected piece costs against what one more valve costs."""

from __future__ import annotations

import math
from typing import NamedTuple

LARGEST_BANK = 500


class Loss(NamedTuple):
    """Pots lost: expected, and standard deviation from season to season."""

    expected: float
    sd: float


def infected_bank_chance(pots: int, pieces_per_pot: int, infected_fraction: float) -> float:
    """Return the chance that a bank holds at least one infected piece, each piece infected on its own.

    1 - (1 - pi)^(n m).
    """
    if pots < 1 or pieces_per_pot < 1:
        raise ValueError(f"pots and pieces_per_pot must be 1 or more, not {pots} and {pieces_per_pot}")
    if not 0.0 <= infected_fraction < 1.0:
        raise ValueError(f"infected_fraction: {infected_fraction!r} must be 0 or more and below 1")
    return -math.expm1(pots * pieces_per_pot * math.log1p(-infected_fraction))


def pots_lost(bank_pots: list[int], pieces_per_pot: int, infected_fraction: float) -> Loss:
    """Return the pots lost if one infected piece costs its whole bank (the careful case).

    Args:
        bank_pots: pots of each bank.
        pieces_per_pot: pieces in a pot.
        infected_fraction: chance that a piece is infected.

    >>> round(pots_lost([10] * 6, 3, 0.001).expected, 3)
    1.774
    """
    chances = [infected_bank_chance(pots, pieces_per_pot, infected_fraction) for pots in bank_pots]
    expected = sum(chance * pots for chance, pots in zip(chances, bank_pots, strict=True))
    variance = sum(chance * (1.0 - chance) * pots**2 for chance, pots in zip(chances, bank_pots, strict=True))
    return Loss(expected, math.sqrt(variance))


def cost_per_pot(
    bank_pots: int, pieces_per_pot: int, infected_fraction: float, valve_cost: float, pot_loss: float
) -> float:
    """Return what banks of this size cost a pot: its share of the valve and of the expected loss."""
    return valve_cost / bank_pots + pot_loss * infected_bank_chance(bank_pots, pieces_per_pot, infected_fraction)


def cheapest_bank(pieces_per_pot: int, infected_fraction: float, valve_cost: float, pot_loss: float) -> int:
    """Return the pots per bank at which valves and expected losses together cost least.

    Near sqrt(c / (n pi L)); found among whole numbers.

    >>> cheapest_bank(3, 0.001, 15.0, 60.0)
    9
    """
    if valve_cost < 0 or pot_loss < 0:
        raise ValueError("valve_cost and pot_loss must be 0 or more")
    return min(
        range(1, LARGEST_BANK + 1),
        key=lambda pots: cost_per_pot(pots, pieces_per_pot, infected_fraction, valve_cost, pot_loss),
    )
