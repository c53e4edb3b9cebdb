"""Phosphate, carbonate and ammonia of a solution shared out among their forms, with activities, and its pH."""

from __future__ import annotations

from collections.abc import Mapping
from math import log10
from typing import NamedTuple

from scipy.optimize import brentq

from wetfoot.solution.alkalinity import constants
from wetfoot.solution.pitzer import IONIC_STRENGTH_LIMIT_MOL_KG, Activities, activities
from wetfoot.solution.solubility import molality_mol_kg
from wetfoot.solution.species import load_species

_KELVIN = 273.15
_ROUNDS = 60
_SETTLED = 1e-7
_TAKE_PART = ("H2PO4", "HPO4", "HCO3", "CO3", "NH4", "NO3")  # nitrate stands for hydrogen and hydroxide


class State(NamedTuple):
    """A solution with its acids and bases in equilibrium: pH, molalities with PO4, OH and H, activity coefficients."""

    ph: float
    molality: dict[str, float]
    activity: dict[str, float]
    water_activity: float
    ionic_strength_mol_kg: float


def state(composition: Mapping[str, float], temperature_c: float = 25.0, ph: float | None = None) -> State:
    """Return a solution with phosphate, carbonate and ammonia shared out among their forms.

    Args:
        composition: mmol/L of each species as weighed; the forms of phosphate and carbonate may be any.
        temperature_c: 0 to 40.
        ph: that of the solution; None for the one that it takes by itself, closed to the air.

    Raises:
        ValueError: for what is not an amount, a pH outside 2-11, and ionic strength beyond
            `IONIC_STRENGTH_LIMIT_MOL_KG`.
    """
    if ph is not None and not 2.0 <= ph <= 11.0:
        raise ValueError(f"ph: {ph!r} is not between 2 and 11")
    return state_of_molality(molality_mol_kg(composition), temperature_c, ph)


def state_of_molality(weighed: Mapping[str, float], temperature_c: float, ph: float | None) -> State:
    """Return as `state`, from mol of each species in a kg of water."""
    acids = _Acids(weighed, temperature_c)
    molality, taken = dict(weighed), ph if ph is not None else 6.0
    before: tuple[float, float] = (-1.0, -1.0)
    for _ in range(_ROUNDS):
        found = activities(molality, temperature_c)
        if found.ionic_strength_mol_kg > IONIC_STRENGTH_LIMIT_MOL_KG:
            raise ValueError(
                f"composition: ionic strength {found.ionic_strength_mol_kg:.3g} mol/kg is beyond what can be judged "
                f"({IONIC_STRENGTH_LIMIT_MOL_KG:g}); make the stock weaker"
            )
        coefficients = acids.coefficients(found)
        if ph is None:
            taken = acids.own_ph(coefficients)
        forms = acids.forms(taken, coefficients)
        if abs(taken - before[0]) < _SETTLED and abs(found.ionic_strength_mol_kg - before[1]) < _SETTLED:
            break
        before = (taken, found.ionic_strength_mol_kg)
        molality = {**weighed, **{ion: m for ion, m in forms.items() if ion in ("H2PO4", "HPO4", "HCO3", "CO3")}}
        molality = {ion: m for ion, m in molality.items() if ion != "H" and m > 0.0}
    activity = {ion: m * found.coefficient[ion] for ion, m in molality.items()}
    activity.update(acids.activities(taken, activity))
    return State(taken, {**molality, **forms}, activity, found.water, found.ionic_strength_mol_kg)


class _Acids:
    """Phosphate, carbonate and ammonia of a solution: their totals, and the hydrogen that was weighed in."""

    def __init__(self, weighed: Mapping[str, float], temperature_c: float) -> None:
        get = weighed.get
        self.k = constants(temperature_c)
        self.third = 10.0**-12.35  # phosphoric acid's third step: Bates (1951), 25 C, from memory
        # ammonium: Bates & Pinching (1950), J. Am. Chem. Soc. 72:1393, from memory
        self.ammonium = 10.0 ** -(2835.76 / (temperature_c + _KELVIN) - 0.6322 + 0.001225 * (temperature_c + _KELVIN))
        self.phosphate = get("H2PO4", 0.0) + get("HPO4", 0.0)
        self.carbonate = get("HCO3", 0.0) + get("CO3", 0.0)
        self.nh4 = get("NH4", 0.0)
        # hydrogen beyond that in H2PO4, HCO3, NH4 and water
        self.hydrogen = get("H", 0.0) - get("OH", 0.0) - get("HPO4", 0.0) - get("CO3", 0.0)

    def coefficients(self, found: Activities) -> tuple[float, ...]:
        """Return the coefficients of the ions that take part, in the order of `_TAKE_PART`."""
        return tuple(_coefficient(found, ion) for ion in _TAKE_PART)

    def forms(self, ph: float, coefficients: tuple[float, ...]) -> dict[str, float]:
        """Return mol/kg of each form at a pH (an activity) and given activity coefficients."""
        h = 10.0**-ph
        one, two, c_one, c_two, nh4, _ = coefficients
        acid = h * one / self.k.phosphoric_first
        base = self.k.phosphoric_second * one / (h * two)
        share = self.phosphate / (1.0 + acid + base)
        c_acid = h * c_one / self.k.carbonic_first
        c_base = self.k.carbonic_second * c_one / (h * c_two)
        c_share = self.carbonate / (1.0 + c_acid + c_base)
        nh3 = self.nh4 / (1.0 + h / (self.ammonium * nh4))
        return {
            "H3PO4": share * acid, "H2PO4": share, "HPO4": share * base,
            "CO2": c_share * c_acid, "HCO3": c_share, "CO3": c_share * c_base, "NH3": nh3,
        }  # fmt: skip

    def own_ph(self, coefficients: tuple[float, ...]) -> float:
        """Return the pH at which hydrogen is neither made nor lost."""
        if not (self.phosphate or self.carbonate or self.nh4 or self.hydrogen):
            return -0.5 * log10(self.k.water)

        def excess(ph: float) -> float:
            f = self.forms(ph, coefficients)
            free = (10.0**-ph - self.k.water * 10.0**ph) / coefficients[-1]
            return float(free + f["H3PO4"] - f["HPO4"] + f["CO2"] - f["CO3"] - f["NH3"] - self.hydrogen)

        if excess(0.0) < 0.0:
            return 0.0
        return float(brentq(excess, 0.0, 14.0, xtol=1e-8)) if excess(14.0) < 0.0 else 14.0

    def activities(self, ph: float, activity: Mapping[str, float]) -> dict[str, float]:
        h = 10.0**-ph
        return {"H": h, "OH": self.k.water / h, "PO4": self.third * activity.get("HPO4", 0.0) / h}


def _coefficient(found: Activities, ion: str) -> float:
    """Return an ion's coefficient, or that of the ions of its charge where it is not in the solution yet."""
    if ion in found.coefficient:
        return found.coefficient[ion]
    charge = abs(load_species()[ion].charge)
    same = [g for name, g in found.coefficient.items() if abs(load_species()[name].charge) == charge]
    return sum(same) / len(same) if same else 1.0
