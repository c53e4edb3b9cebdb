"""How much of one salt dissolves in water, by temperature."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from wetfoot.solution.species import SOLUBILITY_AT_C, Salt, load_species, molar_mass_g_mol

# Partial molar volumes at infinite dilution, 25 C, cm3/mol: Millero (1971), Chem. Rev. 71:147 (from memory); others 0.
VOLUME_CM3_MOL = {
    "Na": -1.2, "K": 9.0, "NH4": 17.9, "Ca": -17.9, "Mg": -21.2, "Cl": 17.8, "NO3": 29.0, "SO4": 14.0, "H2PO4": 29.1,
    "HPO4": 7.7, "HCO3": 23.4, "CO3": -4.3, "urea": 44.2, "B(OH)3": 39.2,
}  # fmt: skip
LEAST_WATER_KG_L = 0.3
"""Water in a litre below which nothing is judged: far beyond any stock."""

_WATER_KG_L = 0.9970  # at 25 C


def solubility_g_100g(salt: Salt, temperature_c: float) -> float:
    """Return grams of a salt, without its crystal water, that dissolve in 100 g of all the water.

    Interpolated in a straight line between the temperatures of the table in ``salts.toml``.

    Raises:
        ValueError: if no table is held for the salt, or the temperature is outside it.
    """
    if not salt.solubility_g_100g:
        raise ValueError(f"salt: no solubility by temperature is held for {salt.name}")
    if not SOLUBILITY_AT_C[0] <= temperature_c <= SOLUBILITY_AT_C[-1]:
        raise ValueError(f"temperature_c: {temperature_c!r} is not between 0 and 40 C, where solubilities are held")
    return float(np.interp(temperature_c, SOLUBILITY_AT_C, salt.solubility_g_100g))


def saturated_mol_kg(salt: Salt, temperature_c: float) -> float:
    """Return moles of a salt in a kg of water at saturation; raises as `solubility_g_100g`."""
    without_water = salt.molar_mass_g_mol - salt.water * molar_mass_g_mol("H2O")
    if salt.name == "borax":  # seven of its ten waters go into boric acid and borate
        without_water = molar_mass_g_mol("Na2B4O7")
    if salt.name == "boric acid":
        without_water = salt.molar_mass_g_mol
    return 10.0 * solubility_g_100g(salt, temperature_c) / without_water


def water_kg_l(composition: Mapping[str, float]) -> float:
    """Return kg of water in a litre of solution, from the volumes of its ions (Millero 1971); negative if they fill it.

    Args:
        composition: mmol/L of each species.

    >>> round(water_kg_l({"K": 1000.0, "NO3": 1000.0}) + 0.1011, 3)  # handbooks of chemistry: density 1.058
    1.06
    """
    filled = sum(mmol * VOLUME_CM3_MOL.get(name, 0.0) for name, mmol in composition.items()) / 1e6
    return _WATER_KG_L * (1.0 - filled)


def molality_mol_kg(composition: Mapping[str, float]) -> dict[str, float]:
    """Return mol of each species in a kg of water, from mmol/L.

    Raises:
        ValueError: for unknown species, what is no amount, and less water than `LEAST_WATER_KG_L`.
    """
    for name, mmol in composition.items():
        if name not in load_species():
            raise ValueError(f"composition: no species is called {name!r}")
        if not 0.0 <= mmol < float("inf"):
            raise ValueError(f"composition: {mmol!r} mmol/L of {name} is not an amount")
    water = water_kg_l(composition)
    if water < LEAST_WATER_KG_L:
        raise ValueError("composition: so much salt that a litre has no room for water to dissolve it")
    return {name: mmol / 1000.0 / water for name, mmol in composition.items() if mmol > 0.0}
