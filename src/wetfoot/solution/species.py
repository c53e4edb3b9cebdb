"""Dissolved species and what is weighed: their data, charges and molar masses."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any

from molmass import Formula


@dataclass(frozen=True)
class Species:
    """A dissolved ion or neutral molecule; ``nutrients`` are moles of each nutrient in a mole of it."""

    name: str
    charge: int
    molar_mass_g_mol: float
    molar_conductivity_s_cm2_mol: float
    nutrients: Mapping[str, float]


@dataclass(frozen=True)
class Salt:
    """What is weighed: ``releases`` and ``water`` are moles from a mole of the formula.

    ``purity`` is the mass of the formula in a mass of the product: 1, or what the bag's label implies. A product known
    by its label alone has no formula; its "mole" is 100 g. ``solubility_g_100g`` is grams without crystal water in
    100 g of all the water, at the temperatures of `SOLUBILITY_AT_C`; empty where no published table is held.
    """

    name: str
    formula: str
    molar_mass_g_mol: float
    releases: Mapping[str, float]
    water: float
    purity: float
    note: str
    solubility_g_100g: tuple[float, ...] = ()


SOLUBILITY_AT_C = (0.0, 10.0, 20.0, 30.0, 40.0)


@cache
def molar_mass_g_mol(formula: str) -> float:
    """Return a formula's molar mass from the standard atomic weights of CIAAW (through `molmass`).

    >>> round(molar_mass_g_mol("KNO3"), 2)
    101.1
    """
    return float(Formula(formula).mass)


@cache
def salt_tables() -> dict[str, dict[str, dict[str, Any]]]:
    """Return ``salts.toml`` as it stands."""
    return tomllib.loads(files("wetfoot.solution").joinpath("salts.toml").read_text("utf-8"))


@cache
def load_species() -> Mapping[str, Species]:
    """Return the dissolved species by name, with limiting molar conductivities at 25 C.

    Source: handbook of chemistry, as marked in ``salts.toml``.
    """
    return MappingProxyType(
        {
            name: Species(
                name,
                row["charge"],
                molar_mass_g_mol(row["formula"]),
                row["lambda0"],
                MappingProxyType(row.get("gives", {})),
            )
            for name, row in salt_tables()["species"].items()
        }
    )
