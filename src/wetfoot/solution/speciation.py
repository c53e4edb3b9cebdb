"""Ion pairs and activities: what the ions of a solution do before they conduct, dissolve or precipitate.

What it leaves out: acid-base reactions (phosphate and carbonate stay in the form they are given in).
"""

from __future__ import annotations

from math import isfinite, sqrt
from typing import NamedTuple

from wetfoot.solution.salts import Composition, load_species

IONIC_STRENGTH_LIMIT_MOL_L = 2.0
"""Ionic strength with all ions free, beyond which (concentrates) no EC is given; 2 is 0.5 mol/L of MgSO4."""

PAIRS: tuple[tuple[str, str, float], ...] = (
    ("Ca", "SO4", 2.36),
    ("Mg", "SO4", 2.26),
    ("Mn", "SO4", 2.25),
    ("Zn", "SO4", 2.34),
    ("Cu", "SO4", 2.36),
    ("K", "SO4", 0.85),
    ("Na", "SO4", 0.73),
    ("NH4", "SO4", 1.03),
    ("K", "NO3", -0.15),
    ("Ca", "NO3", 0.50),
    ("Ca", "H2PO4", 1.41),
    ("Ca", "HPO4", 2.74),
    ("Mg", "HPO4", 2.87),
    ("Ca", "HCO3", 1.11),
    ("Mg", "HCO3", 1.07),
)
"""Cation, anion, log10 of the association constant (L/mol) at 25 C, infinite dilution.

Sulfates: Martell, Smith & Motekaitis, NIST Critically Selected Stability Constants (database 46), one set for all
metals. Nitrates: the same and Smith & Martell (1976), from memory. Phosphates and bicarbonates: project handbook.
"""

_DEBYE_HUCKEL_A = 0.5085  # (L/mol)^0.5, water at 25 C: Truesdell & Jones (1974)
_RELATIVE_TOLERANCE = 1e-13
_TRACE_MMOL_L = 1e-15  # an amount too small to balance any better
_MOST_ROUNDS = 500


Pair = tuple[str, str]


class Speciation(NamedTuple):
    """What is in a solution: free species and pairs in mmol/L, ionic strength in mol/L."""

    free_mmol_l: dict[str, float]
    pairs_mmol_l: dict[Pair, float]
    ionic_strength_mol_l: float


def activity_coefficient(charge: int, ionic_strength_mol_l: float) -> float:
    """Return an ion's activity coefficient at 25 C; 1 for a neutral species.

    Davies (1962), Ion Association: log g = -A z^2 (sqrt I / (1 + sqrt I) - 0.3 I); good to I about 0.5 mol/L.

    >>> round(activity_coefficient(1, 0.1), 3)
    0.782
    """
    root = sqrt(ionic_strength_mol_l)
    return float(10.0 ** (-_DEBYE_HUCKEL_A * charge * charge * (root / (1.0 + root) - 0.3 * ionic_strength_mol_l)))


def ionic_strength_mol_l(composition: Composition) -> float:
    """Return the ionic strength in mol/L with every ion free (linear in the composition, an upper bound)."""
    species = load_species()
    return sum(mmol_l * species[name].charge ** 2 for name, mmol_l in composition.items()) / 2000.0


def speciate(composition: Composition) -> Speciation:
    """Return free ions and ion pairs at 25 C.

    Mass action on `PAIRS` with Davies activities. At fixed activities, updating cations and anions in turn
    from the all-free state moves steadily to the one solution: fewer free cations leave more free anions.

    Args:
        composition: total mmol/L of each species.

    Raises:
        ValueError: if an amount is negative, the solution is a concentrate (`IONIC_STRENGTH_LIMIT_MOL_L`), or
            the rounds do not settle.
    """
    _check(composition)
    charge = {name: load_species()[name].charge for name in composition}
    strength = ionic_strength_mol_l(composition)
    free, bound = dict(composition), dict[Pair, float]()
    pairs = {(c, a): 10.0**log_k / 1000.0 for c, a, log_k in PAIRS if free.get(c, 0.0) > 0 and free.get(a, 0.0) > 0}
    for _ in range(_MOST_ROUNDS):
        gamma = [activity_coefficient(z, strength) for z in range(3)]
        constants = {
            (c, a): k * gamma[charge[c]] * gamma[-charge[a]] / gamma[abs(charge[c] + charge[a])]
            for (c, a), k in pairs.items()
        }
        _share(composition, free, constants, side=0)
        _share(composition, free, constants, side=1)
        bound = {pair: k * free[pair[0]] * free[pair[1]] for pair, k in constants.items()}
        before = strength
        bound_strength = sum(m * (charge[c] + charge[a]) ** 2 for (c, a), m in bound.items()) / 2000.0
        strength = ionic_strength_mol_l(free) + bound_strength
        if abs(strength - before) <= _RELATIVE_TOLERANCE * strength and _balanced(composition, free, bound):
            return Speciation(free, bound, strength)
    raise ValueError(f"composition: ion pairs do not settle in {_MOST_ROUNDS} rounds for {free}")


def _share(total: Composition, free: dict[str, float], constants: dict[Pair, float], side: int) -> None:
    """Update the free cations (side 0) or anions (side 1) from their totals and free partners."""
    load: dict[str, float] = {}
    for pair, k in constants.items():
        load[pair[side]] = load.get(pair[side], 1.0) + k * free[pair[1 - side]]
    for name, factor in load.items():
        free[name] = total[name] / factor


def _balanced(total: Composition, free: dict[str, float], bound: dict[Pair, float]) -> bool:
    """Tell whether free and bound cations add up to the totals (anions do by the order of updates)."""
    held: dict[str, float] = {}
    for (cation, _), mmol_l in bound.items():
        held[cation] = held.get(cation, 0.0) + mmol_l
    return all(abs(free[c] + m - total[c]) <= _RELATIVE_TOLERANCE * total[c] + _TRACE_MMOL_L for c, m in held.items())


def _check(composition: Composition) -> None:
    for name, mmol_l in composition.items():
        if name not in load_species():
            raise ValueError(f"composition: no species is called {name!r}")
        if not (isfinite(mmol_l) and mmol_l >= 0):
            raise ValueError(f"composition: {mmol_l!r} mmol/L of {name} is not an amount")
    strength = ionic_strength_mol_l(composition)
    if strength > IONIC_STRENGTH_LIMIT_MOL_L * (1 + 1e-9):
        raise ValueError(
            f"composition: ionic strength {strength:.3g} mol/L is that of a concentrate; "
            f"EC is predicted up to {IONIC_STRENGTH_LIMIT_MOL_L:g} mol/L"
        )
