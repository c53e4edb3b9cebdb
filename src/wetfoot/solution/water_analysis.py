"""The source water's composition from a laboratory's analysis, with its gap in charge told and closed."""

from __future__ import annotations

from collections.abc import Mapping
from math import isfinite
from typing import NamedTuple

from wetfoot.solution.salts import load_species, net_charge_meq_l

MOST_GAP_FRACTION = 0.10
"""Largest gap of charge, over the larger of the two sums, of an analysis that can be used.

Standard Methods 1030 E (from memory) asks for 2 to 5 % of good laboratories; ions that are not reported widen it.
"""

# What a report may call an ion, and what of it one unit of mass is: (species, mmol of species per mg).
_AS_REPORTED = {
    "NO3-N": ("NO3", 1 / 14.007),
    "NH4-N": ("NH4", 1 / 14.007),
    "SO4-S": ("SO4", 1 / 32.06),
    "P": ("H2PO4", 1 / 30.974),
    "alkalinity as CaCO3": ("HCO3", 2 / 100.086),
    "B": ("B(OH)3", 1 / 10.81),
}
_PLAIN = ("Ca", "Mg", "Na", "K", "NH4", "Cl", "SO4", "NO3", "HCO3", "H2PO4")
KNOWN = (*_PLAIN, *_AS_REPORTED)
"""What an analysis may name, in mg/L of the ion or of what the name says."""


class SourceWater(NamedTuple):
    """A water in balance: mmol/L of each species, and the gap that was closed, as a fraction (cations over if > 0)."""

    composition: dict[str, float]
    gap_fraction: float


def source_water_from_analysis(mg_l: Mapping[str, float]) -> SourceWater:
    """Return the composition of a water from its analysis.

    A gap of charge is closed with bicarbonate where anions lack, with sodium where cations lack: the ions that
    short reports leave out most often (common practice, no source).

    Args:
        mg_l: mg/L by name, each one of `KNOWN`.

    Raises:
        ValueError: for names that are not known, negative amounts, and a gap beyond `MOST_GAP_FRACTION`.

    >>> round(source_water_from_analysis({"Ca": 40.0, "HCO3": 122.0}).composition["Ca"], 3)
    0.998
    """
    composition: dict[str, float] = {}
    for name, amount in mg_l.items():
        if name not in KNOWN:
            raise ValueError(f"{name!r} is not an ion of a water analysis here; known are {', '.join(KNOWN)}")
        if not (isfinite(amount) and amount >= 0):
            raise ValueError(f"{amount!r} mg/L of {name} is not an amount")
        species, mmol_per_mg = _AS_REPORTED.get(name) or (name, 1.0 / load_species()[name].molar_mass_g_mol)
        composition[species] = composition.get(species, 0.0) + amount * mmol_per_mg
    return _closed(composition)


def _closed(composition: dict[str, float]) -> SourceWater:
    gap = net_charge_meq_l(composition)
    charges = {name: load_species()[name].charge * mmol_l for name, mmol_l in composition.items()}
    larger = max(sum(q for q in charges.values() if q > 0), -sum(q for q in charges.values() if q < 0))
    fraction = gap / larger if larger > 0 else 0.0
    if abs(fraction) > MOST_GAP_FRACTION:
        side = "cations" if gap > 0 else "anions"
        raise ValueError(
            f"the analysis has {abs(gap):.2g} meq/L more {side} ({100 * abs(fraction):.0f} % of their sum); "
            f"at most {100 * MOST_GAP_FRACTION:.0f} % can be a matter of rounding"
        )
    filler = "HCO3" if gap > 0 else "Na"
    composition[filler] = composition.get(filler, 0.0) + abs(gap)
    return SourceWater(composition, fraction)
