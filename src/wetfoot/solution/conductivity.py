"""Electrical conductivity from composition: ion pairs, Davies activities, and Appelo's conductance sum.

What it leaves out: acid-base reactions (phosphate and carbonate stay in the form they are given in) and
pairs of micronutrients. What it is worth, against published conductances: ``docs/conductivity.md``.
"""

from __future__ import annotations

from functools import cache
from math import isfinite, sqrt
from typing import NamedTuple

from wetfoot.solution.salts import Composition, load_species

EC_ERROR_FRACTION = 0.05
"""Band to state to users, +/-: no single salt but magnesium sulfate is off by more up to 0.1 N."""

EC_PER_C = 0.0191
"""Rise of EC per degree, as a fraction of EC at 25 C: Standard Methods 2510 B; ISO 7888 gives 1.9-2 %/C."""

IONIC_STRENGTH_LIMIT_MOL_L = 2.0
"""Ionic strength with all ions free, beyond which (concentrates) no EC is given; 2 is 0.5 mol/L of MgSO4."""

PAIRS: tuple[tuple[str, str, float], ...] = (
    ("Ca", "SO4", 2.30),
    ("Mg", "SO4", 2.37),
    ("K", "SO4", 0.85),
    ("Na", "SO4", 0.70),
    ("NH4", "SO4", 1.11),
    ("Ca", "H2PO4", 1.41),
    ("Ca", "HPO4", 2.74),
    ("Mg", "HPO4", 2.87),
    ("Ca", "HCO3", 1.11),
    ("Mg", "HCO3", 1.07),
)
"""Cation, anion, log10 of the association constant (L/mol) at 25 C, infinite dilution (project handbook)."""

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


def ec_ms_cm(composition: Composition, temperature_c: float = 25.0) -> float:
    """Return electrical conductivity in mS/cm as a meter without temperature compensation shows it.

    EC = sum of lambda0 c g^alpha over free ions and charged pairs, alpha = 0.6 / sqrt z up to I = 0.36 z
    mol/L and sqrt I / z beyond: Appelo (2010), Cem. Concr. Res. 40:1102, as given in the project handbook.

    Args:
        composition: total mmol/L of each species.
        temperature_c: leave at 25 for EC as it is quoted.

    Raises:
        ValueError: as `speciate` does.

    >>> round(ec_ms_cm({"K": 10.0, "Cl": 10.0}), 2)  # the 0.01 mol/L KCl standard, 1.412
    1.41
    """
    species = load_species()
    free, pairs, strength = speciate(composition)
    factor = [_slowing(z, strength) for z in range(3)]
    total = sum(species[s].molar_conductivity_s_cm2_mol * m * factor[abs(species[s].charge)] for s, m in free.items())
    for (cation, anion), mmol_l in pairs.items():
        charge = species[cation].charge + species[anion].charge
        total += pair_conductivity_s_cm2_mol(cation, anion) * mmol_l * factor[abs(charge)]
    return total / 1000.0 * _temperature_factor(temperature_c)


def _slowing(charge: int, strength_mol_l: float) -> float:
    """Return g^alpha: what is left of an ion's limiting conductivity at an ionic strength."""
    if charge == 0:
        return 1.0
    exponent = 0.6 / sqrt(charge) if strength_mol_l <= 0.36 * charge else sqrt(strength_mol_l) / charge
    return float(activity_coefficient(charge, strength_mol_l) ** exponent)


@cache
def pair_conductivity_s_cm2_mol(cation: str, anion: str) -> float:
    """Return the limiting molar conductivity of an ion pair, from volumes of moving spheres that add up.

    z / lambda0 (lambda0 per equivalent) goes as a sphere's radius, so (z/lambda)^3 of the pair is the sum of
    those of its ions: Anderko & Lencka (1997), Ind. Eng. Chem. Res. 36:1932. Zero for a neutral pair.
    """
    first, second = load_species()[cation], load_species()[anion]
    charge = abs(first.charge + second.charge)
    radii = [ion.charge**2 / ion.molar_conductivity_s_cm2_mol for ion in (first, second)]
    return float(charge**2 / (radii[0] ** 3 + radii[1] ** 3) ** (1.0 / 3.0))


def ec_at_25(ec: float, temperature_c: float) -> float:
    """Return the EC at 25 C of a solution whose EC was measured, uncompensated, at another temperature.

    Linear, 1.91 % of the value at 25 C per degree: Standard Methods 2510 B; within the 1.9-2 %/C of ISO 7888.
    Within 1 % for KCl from 10 to 35 C.

    Raises:
        ValueError: if the temperature is not between 0 and 60 C.

    >>> round(ec_at_25(1.273, 20.0), 3)
    1.407
    """
    return ec / _temperature_factor(temperature_c)


def _temperature_factor(temperature_c: float) -> float:
    if not 0.0 <= temperature_c <= 60.0:
        raise ValueError(f"temperature_c: {temperature_c!r} is not between 0 and 60 C")
    return 1.0 + EC_PER_C * (temperature_c - 25.0)
