"""In which order to dissolve the salts of a stock, and why."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import NamedTuple

from wetfoot.solution.salts import Salt, load_salts
from wetfoot.solution.solubility import solubility_g_100g

_ROOM_C = 20.0
_METALS = frozenset({"Mn", "Zn", "Cu"})
_CHELATES = frozenset({"FeEDTA", "FeDTPA", "FeEDDHA"})


class Step(NamedTuple):
    """A salt to dissolve, and why it comes at this place."""

    name: str
    reason: str


def dissolving_order(
    stock: Mapping[str, float], products: Mapping[str, Salt] = MappingProxyType({})
) -> tuple[Step, ...]:
    """Return the salts of a stock in the order to dissolve them, each clear before the next.

    Acid salts, then the other main salts with the least soluble first, salts that make the water alkaline, boron and
    molybdenum, trace metals, chelates. Common practice, no source; the reasons are chemistry.

    Args:
        stock: grams of each salt in a litre.
        products: one's own salts beside the built-in ones.

    Raises:
        ValueError: for salts that are not known.

    >>> [step.name for step in dissolving_order({"iron DTPA 11 %": 2.0, "potassium nitrate": 50.0})]
    ['potassium nitrate', 'iron DTPA 11 %']
    """
    salts = {**load_salts(), **products}
    if unknown := [name for name in stock if name not in salts]:
        raise ValueError(f"stock: no salt is called {', '.join(map(repr, unknown))}")
    ranked = sorted((_rank(salts[name]), name) for name, grams in stock.items() if grams > 0.0)
    return tuple(Step(name, _REASONS[rank]) for (rank, _), name in ranked)


_REASONS = (
    "first, in warm water: it makes the water slightly acid, which keeps metals and phosphate in solution",
    "main salts, the least soluble first, while the water is emptiest; most of them cool the water, so give them time",
    "makes the water alkaline: only after the acid salts, slowly, in case it fizzes",
    "dissolves slowly: beforehand in a little hot water",
    "trace metal: beforehand in a little water, and into slightly acid water, where it does not turn to hydroxide",
    "last: a chelate holds best when no strong acid or fresh heat meets it; keep it out of light",
)


def _rank(salt: Salt) -> tuple[int, float]:
    ions = set(salt.releases)
    soluble = solubility_g_100g(salt, _ROOM_C) if salt.solubility_g_100g else 1000.0
    if ions & _CHELATES:
        return 5, soluble
    if ions & _METALS and len(ions) <= 2:
        return 4, soluble
    if ions & {"B(OH)3", "MoO4"} and not ions & {"K", "Ca", "Mg", "NO3"}:
        return 3, soluble
    if ions & {"HPO4", "CO3", "HCO3"}:
        return 2, soluble
    return (0 if "H2PO4" in ions else 1), soluble
