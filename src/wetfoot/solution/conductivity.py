"""Electrical conductivity from composition: ion pairs, then the drag of every ion's atmosphere on it.

The law is that of Onsager & Fuoss (1932) for mixtures of any ions, with finite distances of approach as Robinson &
Stokes (1959) have them. What it is worth, against published conductances: ``docs/conductivity.md``.
"""

from __future__ import annotations

from functools import cache
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from wetfoot.solution.salts import Composition, load_species
from wetfoot.solution.speciation import speciate

Array = NDArray[np.float64]

EC_ERROR_FRACTION = 0.03
"""Band to state to users, +/-, at 25 C: salts of a feed are within 2 % to 0.05 eq/L and 3 % to 0.1 eq/L."""

EC_PER_C = 0.0191
"""Rise of EC per degree, as a fraction of EC at 25 C: Standard Methods 2510 B; ISO 7888 gives 1.9-2 %/C."""

APPROACH_ANGSTROM: dict[int, float] = {1: 4.0, 2: 5.5, 4: 11.0}
"""Distance of closest approach of two ions by the product of their charges, to the nearest half angstrom.

Fitted by least squares to published conductances up to 0.1 eq/L: KCl and NaCl, CaCl2 and MgCl2, ZnSO4 and MgSO4. The
last is large since ions closer than that count as pairs (Bjerrum). The rest in ``docs/conductivity.md`` are checks.
"""

# Water at 25 C with permittivity 78.36 and viscosity 0.8903 mPa s; I in mol/L. A test computes them from CODATA.
_RELAXATION = 0.7844  # e^2 kappa / (12 pi eps kT sqrt I), (L/mol)^0.5
_ELECTROPHORESIS = 30.31  # F e kappa / (6 pi viscosity sqrt I), S cm2/mol (L/mol)^0.5
_ATMOSPHERE = 0.3290  # kappa / sqrt I, 1/angstrom (L/mol)^0.5
_TRACE = 1e-12


def ec_ms_cm(composition: Composition, temperature_c: float = 25.0) -> float:
    """Return electrical conductivity in mS/cm as a meter without temperature compensation shows it.

    The sum of molar conductivity times concentration over free ions and charged pairs.

    Args:
        composition: total mmol/L of each species.
        temperature_c: leave at 25 for EC as it is quoted.

    Raises:
        ValueError: as `speciate` does.

    >>> round(ec_ms_cm({"K": 10.0, "Cl": 10.0}), 2)  # the 0.01 mol/L KCl standard, 1.412
    1.41
    """
    warming = _temperature_factor(temperature_c)
    amounts, charges, limits = _carriers(composition)
    if amounts.size == 0:
        return 0.0
    lambdas = molar_conductivities_s_cm2_mol(amounts, charges, limits)
    return float(lambdas @ amounts) / 1000.0 * warming


def _carriers(composition: Composition) -> tuple[Array, Array, Array]:
    """Return mmol/L, charge and limiting molar conductivity of each free ion and charged pair."""
    species = load_species()
    free, pairs, _ = speciate(composition)
    rows = [(mmol_l, species[s].charge, species[s].molar_conductivity_s_cm2_mol) for s, mmol_l in free.items()]
    for (cation, anion), mmol_l in pairs.items():
        charge = species[cation].charge + species[anion].charge
        rows.append((mmol_l, charge, pair_conductivity_s_cm2_mol(cation, anion)))
    most = max((row[0] for row in rows if row[1] != 0), default=0.0)
    # traces a million millionth of the rest carry nothing, and their share would vanish in rounding
    table = np.array([row for row in rows if row[0] > _TRACE * most and row[1] != 0], dtype=float).reshape(-1, 3)
    return table[:, 0], table[:, 1], table[:, 2]


def molar_conductivities_s_cm2_mol(mmol_l: Array, charge: Array, limit_s_cm2_mol: Array) -> Array:
    """Return what each ion of a mixture conducts at 25 C, slowed by relaxation and electrophoresis.

    lambda = lambda0 (1 - 0.7844 r sqrt I / (1 + kappa a)) - 30.31 z^2 sqrt I / (1 + kappa a): Onsager & Fuoss (1932),
    J. Phys. Chem. 36:2689; the denominators are those of Robinson & Stokes (1959), Electrolyte Solutions.

    Args:
        mmol_l: shape (n,), above 0: amounts of the ions, pairs included.
        charge: shape (n,), not 0.
        limit_s_cm2_mol: shape (n,): limiting molar conductivities.
    """
    strengths = mmol_l * charge**2
    root = sqrt(strengths.sum() / 2000.0)
    drag = root / (1.0 + _ATMOSPHERE * root * _approach_angstrom(strengths, charge))
    relaxation = _RELAXATION * relaxation_numbers(strengths, charge, limit_s_cm2_mol) * drag
    slowed: Array = limit_s_cm2_mol * (1.0 - relaxation) - _ELECTROPHORESIS * charge**2 * drag
    return slowed


def relaxation_numbers(strengths: Array, charge: Array, limit_s_cm2_mol: Array) -> Array:
    """Return r of each ion of a mixture; in a single salt |z1 z2| q / (1 + sqrt q) with Onsager's q.

    r = z (1 - sqrt H) z with H of Onsager & Fuoss (1932): h_ij = d_ij sum_k m_k w_k / (w_i + w_k)
    + m_j w_j / (w_i + w_j); m are shares of the ionic strength, w = lambda0 / z^2 mobilities. Here H is made
    symmetric by the scale sqrt(m w), so that its root comes from eigenvalues.

    Args:
        strengths: shape (n,), above 0: c z^2 of each ion, in any unit.
        charge: shape (n,).
        limit_s_cm2_mol: shape (n,).
    """
    mobility = limit_s_cm2_mol / charge**2
    weight = strengths / strengths.sum() * mobility
    scale = np.sqrt(weight)
    near = 1.0 / (mobility[:, None] + mobility[None, :])
    values, vectors = np.linalg.eigh(np.diag(near @ weight) + near * np.outer(scale, scale))
    kept = 1.0 - np.sqrt(np.clip(values, 0.0, 1.0))
    numbers: Array = charge * (vectors @ (kept * (vectors.T @ (scale * charge)))) / scale
    return numbers


def _approach_angstrom(strengths: Array, charge: Array) -> Array:
    """Return each ion's distance from the ions of opposite charge, weighted by their ionic strength."""
    products = np.outer(charge, charge)
    apart = np.select([np.abs(products) == p for p in APPROACH_ANGSTROM], list(APPROACH_ANGSTROM.values()))
    opposite = np.where(products < 0.0, strengths, 0.0)
    total = opposite.sum(axis=1)
    alone = np.full_like(total, APPROACH_ANGSTROM[1])  # no ion of the other sign: not a real solution
    mean: Array = np.divide((opposite * apart).sum(axis=1), total, out=alone, where=total > 0.0)
    return mean


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
    Within 1 % for KCl from 10 to 35 C; for other salts see ``docs/conductivity.md``.

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
