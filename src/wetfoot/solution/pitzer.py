"""Activities of the ions in concentrates: the ion interaction model of Pitzer.

Pitzer (1991), Activity Coefficients in Electrolyte Solutions, chapter 3. No ion pairs: attraction is in the parameters
(``pitzer.toml``). They hold at 25 C and, with the Debye-Hueckel slope of the temperature, are used from 0 to 40 C;
ions without parameters feel the Debye-Hueckel term alone. Good to the molalities in ``pitzer.toml``, used to an ionic
strength of `IONIC_STRENGTH_LIMIT_MOL_KG`.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from functools import cache
from importlib.resources import files
from math import exp, log, sqrt
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from wetfoot.solution.species import load_species

Array = NDArray[np.float64]

IONIC_STRENGTH_LIMIT_MOL_KG = 6.0
"""Ionic strength beyond which a stock is called too strong to judge: most parameters were fitted to about 6."""

# Debye-Hueckel slope for the osmotic coefficient, (kg/mol)^0.5: Bradley & Pitzer (1979), J. Phys. Chem. 83:1599 (from
# memory).
_SLOPE_AT_C = (0.0, 10.0, 20.0, 25.0, 30.0, 40.0)
_SLOPE = (0.3767, 0.3821, 0.3882, 0.3915, 0.3949, 0.4023)
_B = 1.2  # (kg/mol)^0.5, Pitzer (1973)
_BORROWS = {"Mn": "Mg", "Zn": "Mg", "Cu": "Mg"}


class Activities(NamedTuple):
    """Activity coefficients on the molal scale by species, activity of water, ionic strength in mol/kg."""

    coefficient: dict[str, float]
    water: float
    ionic_strength_mol_kg: float


class _Parameters(NamedTuple):
    beta: Array  # (3, n, n), between ions of opposite sign
    c: Array
    theta: Array
    psi: Array  # (n, n, n), the same in any order
    alike: Array  # 1 where two different ions repel
    doubly: Array  # True where both have two charges


def activities(molality: Mapping[str, float], temperature_c: float = 25.0) -> Activities:
    """Return activity coefficients and water's activity.

    Args:
        molality: mol of each species in a kg of water; uncharged ones get a coefficient of 1.
        temperature_c: 0 to 40.

    Raises:
        ValueError: if the temperature is outside 0-40 C.

    >>> round(activities({"Na": 1.0, "Cl": 1.0}).coefficient["Na"], 2)  # Robinson & Stokes: 0.657
    0.66
    """
    if not _SLOPE_AT_C[0] <= temperature_c <= _SLOPE_AT_C[-1]:
        raise ValueError(f"temperature_c: {temperature_c!r} is not between 0 and 40 C")
    charges = {name: load_species()[name].charge for name in molality}
    ions = tuple(sorted(name for name, charge in charges.items() if charge))
    coefficient = dict.fromkeys(molality, 1.0)
    neutral = sum(m for name, m in molality.items() if not charges[name])
    m = np.array([molality[name] for name in ions])
    if not m.sum() > 0.0:
        return Activities(coefficient, exp(-0.018015 * neutral), 0.0)
    z = np.array([float(charges[name]) for name in ions])
    logs, osmotic, strength = _ions(m, z, _parameters(ions), float(np.interp(temperature_c, _SLOPE_AT_C, _SLOPE)))
    coefficient.update(zip(ions, np.exp(logs).tolist(), strict=True))
    return Activities(coefficient, exp(-0.018015 * (osmotic * float(m.sum()) + neutral)), strength)


def _ions(m: Array, z: Array, p: _Parameters, slope: float) -> tuple[Array, float, float]:
    """Return ln of each ion's coefficient, the osmotic coefficient and ionic strength (Pitzer 1991, eq. 62-66)."""
    strength = float(m @ z**2) / 2.0
    root = sqrt(strength)
    first, second = np.where(p.doubly, 1.4, 2.0) * root, 12.0 * root
    b = p.beta[0] + p.beta[1] * _g(first) + p.beta[2] * _g(second)
    slope_b = (p.beta[1] * _g_slope(first) + p.beta[2] * _g_slope(second)) / strength
    b_osmotic = p.beta[0] + p.beta[1] * np.exp(-first) + p.beta[2] * np.exp(-second)
    extra, slope_extra = _unsymmetrical(z, p.alike, strength, slope)
    phi = p.theta + extra
    size = float(m @ np.abs(z))
    debye = root / (1.0 + _B * root)
    f = -slope * (debye + 2.0 / _B * log(1.0 + _B * root)) + float(m @ (slope_b + slope_extra) @ m) / 2.0
    triple = p.psi @ m @ m
    attraction = float(m @ p.c @ m) / 2.0
    logs: Array = z**2 * f + (2.0 * b + size * p.c) @ m + 2.0 * phi @ m + triple / 2.0 + np.abs(z) * attraction
    inner = (
        float(m @ (b_osmotic + phi + strength * slope_extra) @ m) / 2.0 + size * attraction + float(m @ triple) / 6.0
    )
    osmotic = 1.0 + 2.0 / float(m.sum()) * (inner - slope * strength * debye)
    return logs, osmotic, strength


def _g(x: Array | float) -> Array:
    value: Array = 2.0 * (1.0 - (1.0 + x) * np.exp(-np.asarray(x))) / np.asarray(x) ** 2
    return value


def _g_slope(x: Array | float) -> Array:
    x = np.asarray(x)
    value: Array = -2.0 * (1.0 - (1.0 + x + x**2 / 2.0) * np.exp(-x)) / x**2
    return value


def _unsymmetrical(z: Array, alike: Array, strength: float, slope: float) -> tuple[Array, Array]:
    """Return the mixing term of ions of one sign but unlike charge, and its slope with ionic strength."""
    product = np.outer(z, z)
    x = 6.0 * np.abs(product) * slope * sqrt(strength)
    (j, dj), own = _electrostatic(x), np.diag(x)
    j_own, dj_own = _electrostatic(own)
    mean = (j_own[:, None] + j_own[None, :]) / 2.0
    mean_slope = ((own * dj_own)[:, None] + (own * dj_own)[None, :]) / 2.0
    term = alike * product / (4.0 * strength) * (j - mean)
    return term, alike * (product / (8.0 * strength**2) * (x * dj - mean_slope)) - term / strength


def _electrostatic(x: Array) -> tuple[Array, Array]:
    """Return J(x) and its slope: Pitzer (1975), J. Solution Chem. 4:249, eq. 47."""
    power = -0.7237 * np.log(x) - 0.0120 * x**0.528
    bottom = 4.0 + 4.581 * np.exp(power)
    slope = 4.581 * np.exp(power) * (-0.7237 / x - 0.0120 * 0.528 * x**-0.472)
    return x / bottom, 1.0 / bottom - x * slope / bottom**2


@cache
def _parameters(ions: tuple[str, ...]) -> _Parameters:
    tables = tomllib.loads(files("wetfoot.solution").joinpath("pitzer.toml").read_text("utf-8"))
    n = len(ions)
    z = np.array([load_species()[ion].charge for ion in ions])
    beta, c, theta, psi = np.zeros((3, n, n)), np.zeros((n, n)), np.zeros((n, n)), np.zeros((n, n, n))
    names = [_BORROWS.get(ion, ion) for ion in ions]
    for key, values in tables["pairs"].items():
        for i, j in _places(key.split("-"), names):
            beta[:, i, j] = values[:3]
            c[i, j] = values[3] / (2.0 * sqrt(abs(z[i] * z[j])))
    for key, value in tables["mixed"].items():
        for i, j in _places(key.split("-"), names):
            theta[i, j] = value
    for key, value in tables["triple"].items():
        for i, j, k in _places(key.split("-"), names):
            psi[i, j, k] = value
    product = np.outer(z, z)
    alike = ((product > 0) & ~np.eye(n, dtype=bool)).astype(float)
    doubly = np.outer(np.abs(z) > 1, np.abs(z) > 1)
    return _Parameters(beta, c, theta, psi, alike, doubly)


def _places(key: Sequence[str], names: Sequence[str]) -> list[tuple[int, ...]]:
    """Return every place, in every order, of the ions of a key among the names."""
    places: list[tuple[int, ...]] = [()]
    for part in key:
        places = [(*place, i) for place in places for i, name in enumerate(names) if name == part]
    orders = {2: ((0, 1), (1, 0)), 3: ((0, 1, 2), (0, 2, 1), (1, 0, 2), (1, 2, 0), (2, 0, 1), (2, 1, 0))}[len(key)]
    return [tuple(place[i] for i in order) for place in places for order in orders]


@cache
def fitted_to_mol_kg(cation: str, anion: str) -> float:
    """Return the highest molality that a salt's parameters were fitted to; 0 if it has none."""
    tables = tomllib.loads(files("wetfoot.solution").joinpath("pitzer.toml").read_text("utf-8"))
    return float(tables["pairs"].get(f"{cation}-{anion}", (0.0,) * 5)[4])
