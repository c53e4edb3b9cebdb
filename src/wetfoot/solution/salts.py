"""Salts, what they release, and the composition of solutions in mmol of each species per litre."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from difflib import get_close_matches
from functools import cache
from types import MappingProxyType
from typing import Any

from wetfoot.solution.labels import salt_from_label
from wetfoot.solution.species import Salt as Salt
from wetfoot.solution.species import Species as Species
from wetfoot.solution.species import load_species as load_species
from wetfoot.solution.species import molar_mass_g_mol as molar_mass_g_mol
from wetfoot.solution.species import salt_tables

Composition = Mapping[str, float]
"""Species (a key of `load_species`) to mmol/L: the total of each, paired or not."""

ELEMENTS = ("N", "P", "K", "Ca", "Mg", "S", "Na", "Cl", "Fe", "Mn", "Zn", "Cu", "B", "Mo")
NITROGEN_FORMS = ("NO3-N", "NH4-N", "urea-N")


@cache
def load_salts() -> Mapping[str, Salt]:
    """Return the salts that feeds are made of, by their name in the trade."""
    return MappingProxyType({name: _salt(name, row) for name, row in salt_tables()["salts"].items()})


def _salt(name: str, row: Mapping[str, Any]) -> Salt:
    if "by_label" in row:
        product = salt_from_label(name, row["by_label"])
        return replace(product, formula=row["formula"], note=f"{row['note']}; {product.note}")
    molar_mass = molar_mass_g_mol(row["formula"])
    releases = MappingProxyType(row["releases"])
    purity = 1.0
    for element, percent in row.get("label", {}).items():
        pure = sum(n * load_species()[s].nutrients.get(element, 0.0) for s, n in releases.items())
        purity = percent / 100.0 * molar_mass / (pure * molar_mass_g_mol(element))
    solubility = tuple(float(grams) for grams in row.get("solubility", ()))
    return Salt(name, row["formula"], molar_mass, releases, row.get("water", 0), purity, row["note"], solubility)


def composition_mmol_l(
    grams_per_litre: Mapping[str, float], products: Mapping[str, Salt] = MappingProxyType({})
) -> dict[str, float]:
    """Return what salts dissolve into.

    Args:
        grams_per_litre: grams of each salt (a key of `load_salts` or of ``products``) in a litre of solution.
        products: one's own, by name; they come before built-in salts of the same name.

    Returns:
        mmol/L of each species.

    Raises:
        ValueError: for salts that are not known, with the near matches, and for negative or endless amounts.

    >>> composition_mmol_l({"potassium nitrate": 0.101103218})
    {'K': 1.0, 'NO3': 1.0}
    """
    salts = {**load_salts(), **products}
    if unknown := [_unknown(name, salts) for name in grams_per_litre if name not in salts]:
        raise ValueError("grams_per_litre: " + "; ".join(unknown))
    total: dict[str, float] = {}
    for name, grams in grams_per_litre.items():
        if not (math.isfinite(grams) and grams >= 0):
            raise ValueError(f"grams_per_litre: {grams!r} g/L of {name} is not an amount")
        mmol = 1000.0 * grams * salts[name].purity / salts[name].molar_mass_g_mol
        for species, n in salts[name].releases.items():
            total[species] = total.get(species, 0.0) + n * mmol
    return total


def _unknown(name: str, salts: Mapping[str, Salt]) -> str:
    near = get_close_matches(name.lower(), salts, n=3, cutoff=0.5)
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
