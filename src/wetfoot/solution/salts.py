"""Salts, what they release, and the composition of solutions in mmol of each species per litre."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any

from molmass import Formula

Composition = Mapping[str, float]
"""Species (a key of `load_species`) to mmol/L: the total of each, paired or not."""

ELEMENTS = ("N", "P", "K", "Ca", "Mg", "S", "Na", "Cl", "Fe", "Mn", "Zn", "Cu", "B", "Mo")
NITROGEN_FORMS = ("NO3-N", "NH4-N", "urea-N")


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

    ``purity`` is the mass of the formula in a mass of the product: 1, or what the bag's label implies.
    """

    name: str
    formula: str
    molar_mass_g_mol: float
    releases: Mapping[str, float]
    water: float
    purity: float
    note: str


@cache
def molar_mass_g_mol(formula: str) -> float:
    """Return a formula's molar mass from the standard atomic weights of CIAAW (through `molmass`).

    >>> round(molar_mass_g_mol("KNO3"), 2)
    101.1
    """
    return float(Formula(formula).mass)


@cache
def _tables() -> dict[str, dict[str, dict[str, Any]]]:
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
            for name, row in _tables()["species"].items()
        }
    )


@cache
def load_salts() -> Mapping[str, Salt]:
    """Return the salts that feeds are made of, by their name in the trade."""
    return MappingProxyType({name: _salt(name, row) for name, row in _tables()["salts"].items()})


def _salt(name: str, row: Mapping[str, Any]) -> Salt:
    molar_mass = molar_mass_g_mol(row["formula"])
    releases = MappingProxyType(row["releases"])
    purity = 1.0
    for element, percent in row.get("label", {}).items():
        pure = sum(n * load_species()[s].nutrients.get(element, 0.0) for s, n in releases.items())
        purity = percent / 100.0 * molar_mass / (pure * molar_mass_g_mol(element))
    return Salt(name, row["formula"], molar_mass, releases, row.get("water", 0), purity, row["note"])


def composition_mmol_l(grams_per_litre: Mapping[str, float]) -> dict[str, float]:
    """Return what salts dissolve into.

    Args:
        grams_per_litre: grams of each salt (a key of `load_salts`) in a litre of solution.

    Returns:
        mmol/L of each species.

    Raises:
        ValueError: for salts that are not known, with the near matches, and for negative or endless amounts.

    >>> composition_mmol_l({"potassium nitrate": 0.101103218})
    {'K': 1.0, 'NO3': 1.0}
    """
    salts = load_salts()
    if unknown := [_unknown(name) for name in grams_per_litre if name not in salts]:
        raise ValueError("grams_per_litre: " + "; ".join(unknown))
    total: dict[str, float] = {}
    for name, grams in grams_per_litre.items():
        if not (math.isfinite(grams) and grams >= 0):
            raise ValueError(f"grams_per_litre: {grams!r} g/L of {name} is not an amount")
        mmol = 1000.0 * grams * salts[name].purity / salts[name].molar_mass_g_mol
        for species, n in salts[name].releases.items():
            total[species] = total.get(species, 0.0) + n * mmol
    return total


def _unknown(name: str) -> str:
    near = get_close_matches(name.lower(), load_salts(), n=3, cutoff=0.5)
    return f"no salt is called {name!r}" + (f" (near: {', '.join(near)})" if near else "")


def mix(parts: Sequence[tuple[float, Composition]]) -> dict[str, float]:
    """Return the composition of solutions poured together; volumes are taken to add up.

    Args:
        parts: litres and composition of each.

    Raises:
        ValueError: if a volume is negative, or all are zero.

    >>> mix([(1.0, {"K": 2.0}), (3.0, {"Ca": 4.0})])
    {'K': 0.5, 'Ca': 3.0}
    """
    litres = sum(volume for volume, _ in parts)
    if not litres > 0 or any(volume < 0 for volume, _ in parts):
        raise ValueError(f"parts: volumes {[volume for volume, _ in parts]} L must be 0 or more, and not all 0")
    total: dict[str, float] = {}
    for volume, composition in parts:
        for species, mmol_l in composition.items():
            total[species] = total.get(species, 0.0) + mmol_l * volume / litres
    return total


def elements_mg_l(composition: Composition) -> dict[str, float]:
    """Return mg/L of each nutrient element: nitrogen by its forms and in all, the others in all.

    Keys are those of `NITROGEN_FORMS` and `ELEMENTS`, always all of them.

    >>> round(elements_mg_l({"NO3": 15.0})["N"], 1)
    210.1
    """
    amounts = dict.fromkeys((*NITROGEN_FORMS, *ELEMENTS), 0.0)
    for species, mmol_l in composition.items():
        for nutrient, n in load_species()[species].nutrients.items():
            amounts[nutrient] += n * mmol_l * molar_mass_g_mol(nutrient.rpartition("-")[2])
    amounts["N"] = sum(amounts[form] for form in NITROGEN_FORMS)
    return amounts


def equivalents_meq_l(composition: Composition) -> float:
    """Return the sum of cation equivalents in meq/L: the strength of a feed."""
    charges = ((load_species()[name].charge, mmol_l) for name, mmol_l in composition.items())
    return sum(charge * mmol_l for charge, mmol_l in charges if charge > 0)


def net_charge_meq_l(composition: Composition) -> float:
    """Return cation less anion equivalents in meq/L: 0 for a real solution, the error of a water analysis."""
    return sum(load_species()[name].charge * mmol_l for name, mmol_l in composition.items())
