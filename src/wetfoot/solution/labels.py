"""Products by the percentages on their label: which ions they must hold, and what charge balance adds.

A label states some nutrients and leaves the rest out. What is stated is kept; the missing charge is given to the
likeliest ion that the label leaves out and that the mass has room for. The salt's note says which, and how much.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import isfinite

from wetfoot.solution.species import Salt, load_species, molar_mass_g_mol

# What a label prints: the formula of the thing printed, the species it stands for, and moles of it in a mole printed.
LABEL: dict[str, tuple[str, str, float]] = {
    "NO3-N": ("N", "NO3", 1.0),
    "NH4-N": ("N", "NH4", 1.0),
    "urea-N": ("N", "urea", 0.5),
    "P2O5": ("P2O5", "H2PO4", 2.0),
    "P": ("P", "H2PO4", 1.0),
    "K2O": ("K2O", "K", 2.0),
    "K": ("K", "K", 1.0),
    "CaO": ("CaO", "Ca", 1.0),
    "Ca": ("Ca", "Ca", 1.0),
    "MgO": ("MgO", "Mg", 1.0),
    "Mg": ("Mg", "Mg", 1.0),
    "SO3": ("SO3", "SO4", 1.0),
    "S": ("S", "SO4", 1.0),
    "Na": ("Na", "Na", 1.0),
    "Cl": ("Cl", "Cl", 1.0),
    "Fe": ("Fe", "FeEDTA", 1.0),
    "Mn": ("Mn", "Mn", 1.0),
    "Zn": ("Zn", "Zn", 1.0),
    "Cu": ("Cu", "Cu", 1.0),
    "B": ("B", "B(OH)3", 1.0),
    "Mo": ("Mo", "MoO4", 1.0),
}
_TWICE = (("P2O5", "P"), ("K2O", "K"), ("CaO", "Ca"), ("MgO", "Mg"), ("SO3", "S"))

ROUNDING_FRACTION = 0.005
"""Gap of charge, over the larger sum, that a label's rounding explains: trimmed off the larger side in proportion."""

MOST_MASS_PERCENT = 101.0
"""What the ions of a label may add up to: 100 %, and one for rounding. Boric acid and phosphate count as species."""

MOST_SODIUM_PERCENT = 10.0
"""Sodium that a label may be taken to leave out; more of it would be on the label."""


def elemental_percent(oxide: str, percent: float) -> float:
    """Return the percentage of the element behind an oxide's on a label, such as P of P2O5.

    Args:
        oxide: one of P2O5, K2O, CaO, MgO, SO3.
        percent: what the label states.

    Raises:
        ValueError: for another name.

    >>> round(elemental_percent("P2O5", 100.0), 2), round(elemental_percent("K2O", 100.0), 2)
    (43.64, 83.01)
    """
    element = dict(_TWICE).get(oxide)
    if element is None:
        raise ValueError(f"oxide: {oxide!r} is none of {', '.join(pair[0] for pair in _TWICE)}")
    printed, _, moles = LABEL[oxide]
    return percent * moles * molar_mass_g_mol(element) / molar_mass_g_mol(printed)


def salt_from_label(name: str, label: Mapping[str, float]) -> Salt:
    """Return a product by the percentages by mass on its label.

    Phosphorus is taken as dihydrogen phosphate, iron as its EDTA chelate, boron as boric acid, other trace metals as
    free ions. Charge that the label leaves open is filled, in this order, by the first that fits. Anions lacking:
    sulfate (unless the label states sulfur, or calcium with which it would not dissolve), chloride (unless stated), a
    second charge on phosphate. Cations lacking: sodium (unless stated, or over `MOST_SODIUM_PERCENT`).

    Args:
        name: as on the bag.
        label: % by mass; keys are those of `LABEL`.

    Returns:
        a salt whose "mole" is 100 g of the product; what is neither ion nor known is counted as water, inert.

    Raises:
        ValueError: for keys that are not known, "N" without its form, a nutrient stated twice, no content, negative
            figures, more than 100 %, and a gap of charge that none of these ions explains.

    >>> salt = salt_from_label("invented 13-0-46", {"NO3-N": 13.0, "K2O": 46.0})
    >>> round(salt.releases["K"], 3)
    0.977
    """
    _check(name, label)
    ions: dict[str, float] = {}
    for key, percent in label.items():
        printed, species, moles = LABEL[key]
        ions[species] = ions.get(species, 0.0) + moles * percent / molar_mass_g_mol(printed)
    if _mass(ions) > MOST_MASS_PERCENT:
        raise ValueError(
            f"label: {name}: the ions that it states weigh {_mass(ions):.4g} % together, more than all of it"
        )
    ions, note = _closed(name, ions)
    inert = max(0.0, 100.0 - _mass(ions))
    water = inert / molar_mass_g_mol("H2O")
    return Salt(name, "", _mass(ions) + inert, ions, water, 1.0, f"by its label; {note}")


def _check(name: str, label: Mapping[str, float]) -> None:
    if "N" in label:
        raise ValueError(f"label: {name}: say which form N has: NO3-N, NH4-N, urea-N (the label states each)")
    if unknown := [key for key in label if key not in LABEL]:
        raise ValueError(f"label: {name}: {', '.join(map(repr, unknown))} not known; known are {', '.join(LABEL)}")
    if twice := [f"{oxide} and {element}" for oxide, element in _TWICE if oxide in label and element in label]:
        raise ValueError(f"label: {name}: the same nutrient twice: {'; '.join(twice)}")
    if bad := {key: value for key, value in label.items() if not (isfinite(value) and 0.0 <= value <= 100.0)}:
        raise ValueError(f"label: {name}: {bad} are not percentages from 0 to 100")
    if not any(label.values()):
        raise ValueError(f"label: {name}: states no nutrient")


def _mass(ions: Mapping[str, float]) -> float:
    return sum(moles * load_species()[ion].molar_mass_g_mol for ion, moles in ions.items())


def _gap(ions: Mapping[str, float]) -> tuple[float, float]:
    """Return (cation less anion equivalents, the larger of the two sums)."""
    charges = [moles * load_species()[ion].charge for ion, moles in ions.items()]
    plus, minus = sum(q for q in charges if q > 0), -sum(q for q in charges if q < 0)
    return plus - minus, max(plus, minus)


def _closed(name: str, ions: dict[str, float]) -> tuple[dict[str, float], str]:
    """Return neutral ions and what was done."""
    gap, larger = _gap(ions)
    if abs(gap) <= ROUNDING_FRACTION * larger:
        side, share = (1 if gap > 0 else -1), 1.0 - (abs(gap) / larger if larger else 0.0)
        trimmed = {i: n * share if load_species()[i].charge * side > 0 else n for i, n in ions.items()}
        return trimmed, f"its charges balance to {100.0 * (1.0 - share):.2g} %, closed as rounding"
    for filled, note in _candidates(ions, gap):
        if _mass(filled) <= MOST_MASS_PERCENT:
            return filled, note
    kind = "anions" if gap > 0 else "cations"
    raise ValueError(
        f"label: {name}: {1000.0 * abs(gap):.0f} meq in 100 g lack {kind}, and no sulfate, chloride, phosphate or "
        "sodium that it leaves out explains that; check the figures and the forms of nitrogen (carbonates and acids "
        "are not read by label)"
    )


def _candidates(ions: dict[str, float], gap: float) -> list[tuple[dict[str, float], str]]:
    found: list[tuple[dict[str, float], str]] = []
    if gap < 0:
        sodium = -gap * molar_mass_g_mol("Na")
        if "Na" not in ions and sodium <= MOST_SODIUM_PERCENT:
            found.append(({**ions, "Na": -gap}, f"{sodium:.2g} % sodium assumed, which it leaves out"))
        return found
    if "SO4" not in ions and "Ca" not in ions:
        sulfur = gap / 2.0 * molar_mass_g_mol("S")
        found.append(({**ions, "SO4": gap / 2.0}, f"{sulfur:.2g} % sulfur assumed as sulfate, which it leaves out"))
    if "Cl" not in ions:
        found.append(
            ({**ions, "Cl": gap}, f"{gap * molar_mass_g_mol('Cl'):.2g} % chloride assumed, which it leaves out")
        )
    phosphate = ions.get("H2PO4", 0.0)
    second = min(gap, phosphate)
    if second > 0.0 and gap - second <= ROUNDING_FRACTION * _gap(ions)[1]:
        found.append(_second_charge(ions, second, phosphate))
    return found


def _second_charge(ions: dict[str, float], second: float, phosphate: float) -> tuple[dict[str, float], str]:
    """Return the ions with part of the phosphate as HPO4; what is left over is trimmed off the cations as rounding."""
    filled = {**ions, "H2PO4": phosphate - second, "HPO4": second}
    rest, larger = _gap(filled)
    keep = {ion: 1.0 - rest / larger if load_species()[ion].charge > 0 else 1.0 for ion in filled}
    note = f"{100.0 * second / phosphate:.0f} % of its phosphate taken as hydrogen phosphate (HPO4)"
    return {ion: moles * keep[ion] for ion, moles in filled.items() if moles > 0.0}, note
