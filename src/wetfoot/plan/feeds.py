"""The waters that a plan describes, as compositions: the source water and the two stocks."""

from __future__ import annotations

from typing import NamedTuple

from wetfoot.plan.model import Solution
from wetfoot.solution.dose import source_water_from_ec
from wetfoot.solution.salts import Composition, composition_mmol_l
from wetfoot.solution.water_analysis import source_water_from_analysis


class Feeds(NamedTuple):
    """Source water and the stocks that go into it, mmol/L of each species."""

    source: Composition
    stock_a: Composition
    stock_b: Composition


def feeds_of(solution: Solution) -> Feeds:
    """Return the waters of a plan that passed its checks."""
    return Feeds(source_of(solution), composition_mmol_l(solution.stock_a), composition_mmol_l(solution.stock_b))


def source_of(solution: Solution) -> Composition:
    """Return the source water by its analysis, or a usual water of its EC where there is none.

    Raises:
        ValueError: if the analysis cannot be used.
    """
    if solution.source_water:
        return source_water_from_analysis(solution.source_water).composition
    return source_water_from_ec(solution.source_ec_ms_cm)
