"""Acids as they are sold: how much of one meets a need, and the nutrient that it brings.

Cautions go with every answer (project handbook, solution.md section 5): acid into water, never water into acid;
goggles and gloves; no acid with hypochlorite.
"""

from __future__ import annotations

from math import isfinite
from typing import NamedTuple

from wetfoot.solution.alkalinity import constants
from wetfoot.solution.salts import molar_mass_g_mol
from wetfoot.solution.speciation import activity_coefficient


class Acid(NamedTuple):
    """An acid as it is sold: kg of pure acid in a kg, kg in a litre at 20 C, and the nutrient in it."""

    formula: str
    mass_fraction: float
    density_kg_l: float
    nutrient: str


ACIDS: dict[str, Acid] = {
    "phosphoric acid 75 %": Acid("H3PO4", 0.75, 1.58, "P"),
    "phosphoric acid 85 %": Acid("H3PO4", 0.85, 1.69, "P"),
    "nitric acid 60 %": Acid("HNO3", 0.60, 1.367, "N"),
    "nitric acid 65 %": Acid("HNO3", 0.65, 1.391, "N"),
    "nitric acid 68 %": Acid("HNO3", 0.68, 1.405, "N"),
    "sulfuric acid 35 %": Acid("H2SO4", 0.35, 1.260, "S"),
    "sulfuric acid 93 %": Acid("H2SO4", 0.93, 1.828, "S"),
    "sulfuric acid 98 %": Acid("H2SO4", 0.98, 1.836, "S"),
}
"""Grades in the trade; densities at 20 C from handbooks of chemistry, from memory."""


class AcidDose(NamedTuple):
    """What to pour, and what it brings: mL of the acid for a m3 of water, mmol/L of it, mg/L of its nutrient."""

    ml_per_m3: float
    mmol_l: float
    nutrient: str
    nutrient_mg_l: float


def protons_per_mol(acid: Acid, ph: float, temperature_c: float = 25.0, ionic_strength_mol_l: float = 0.0) -> float:
    """Return the moles of hydrogen that a mole of acid gives off at a pH: its equivalents there.

    Nitric 1; sulfuric 2 (its second step, pK 2, is 99 % done at pH 4); phosphoric 1, and the part of its second step
    that is done at this pH.

    Raises:
        ValueError: if the acid is none of the three.
    """
    if acid.formula in ("HNO3", "H2SO4"):
        return 1.0 if acid.formula == "HNO3" else 2.0
    if acid.formula != "H3PO4":
        raise ValueError(f"acid: {acid.formula!r} is none of H3PO4, HNO3, H2SO4")
    k = constants(temperature_c)
    one, two = (activity_coefficient(z, ionic_strength_mol_l) for z in (1, 2))
    h = 10.0**-ph
    first = k.phosphoric_first / (h * one)
    second = first * one * k.phosphoric_second / (h * two)
    return float((first + 2.0 * second) / (1.0 + first + second))


def acid_dose(
    acid: Acid, need_meq_l: float, target_ph: float, temperature_c: float = 25.0, ionic_strength_mol_l: float = 0.0
) -> AcidDose:
    """Return how much of an acid meets a need, and the nutrient that comes with it.

    Args:
        acid: one of `ACIDS`, or one's own.
        need_meq_l: from `acid_need_meq_l`.
        target_ph: the pH that need is for.
        temperature_c: as `carbonate_of_co2`.
        ionic_strength_mol_l: as `carbonate_of_co2`.

    Raises:
        ValueError: if the need is negative, or as `protons_per_mol`.
    """
    if not (isfinite(need_meq_l) and need_meq_l >= 0.0):
        raise ValueError(f"need_meq_l: {need_meq_l!r} meq/L is not an amount")
    mmol_l = need_meq_l / protons_per_mol(acid, target_ph, temperature_c, ionic_strength_mol_l)
    grams_m3 = mmol_l * molar_mass_g_mol(acid.formula)
    ml_per_m3 = grams_m3 / (acid.mass_fraction * acid.density_kg_l)
    return AcidDose(ml_per_m3, mmol_l, acid.nutrient, mmol_l * molar_mass_g_mol(acid.nutrient))
