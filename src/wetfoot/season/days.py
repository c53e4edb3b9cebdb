"""A season's daily results, as the kernel and its plain reference fill them in."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from wetfoot.season import columns as c

Array = NDArray[np.float64]


class Days(NamedTuple):
    """A season's results (see `columns`).

    Attributes:
        banks: by day, bank and column.
        tank: by day and tank column.
        bank_mmol: by slot, bank, row and species; a slot is a day, or the whole season.
        tank_mmol: by slot, tank row and species.
    """

    banks: Array
    tank: Array
    bank_mmol: Array
    tank_mmol: Array


def empty_days(days: int, slots: int, banks: int, species: int) -> Days:
    """Return results to be filled in."""
    return Days(
        np.zeros((days, banks, c.BANK_COLUMNS)),
        np.zeros((days, c.TANK_COLUMNS)),
        np.zeros((slots, banks, c.BANK_ROWS, species)),
        np.zeros((slots, c.TANK_ROWS, species)),
    )
