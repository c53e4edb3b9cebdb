"""Carbonate equilibrium: the pH of a water from its alkalinity and CO2, and the equivalents of acid to another pH.

Alkalinity is [HCO3] + 2 [CO3] + [OH] - [H]; borate, silicate and the water's own phosphate are left out.
"""

from __future__ import annotations

from math import isfinite, log10
from typing import NamedTuple

from scipy.optimize import brentq

from wetfoot.solution.speciation import activity_coefficient

PH_RANGE = (4.0, 9.0)
"""pH between which acid is computed: outside it is not a water to feed plants with."""

AIR_CO2_ATM = 4.2e-4
"""Partial pressure of CO2 in today's air near the ground (rounded; 420 ppm)."""


class Constants(NamedTuple):
    """Equilibrium constants at infinite dilution, mol/L: carbonic, water, phosphoric; Henry's in mol/(L atm)."""

    henry: float
    carbonic_first: float
    carbonic_second: float
    water: float
    phosphoric_first: float
    phosphoric_second: float


class Carbonate(NamedTuple):
    """What carbonate and water are at a pH, in mmol/L (CO2 with H2CO3)."""

    co2: float
    hco3: float
    co3: float
    h: float
    oh: float

    @property
    def total_mmol_l(self) -> float:
        """Total carbonate in mmol/L."""
        return self.co2 + self.hco3 + self.co3

    @property
    def alkalinity_meq_l(self) -> float:
        """Alkalinity in meq/L: the charge that other ions must balance."""
        return self.hco3 + 2.0 * self.co3 + self.oh - self.h


def constants(temperature_c: float = 25.0) -> Constants:
    """Return the equilibrium constants of carbonate, water and phosphate.

    Carbonate: Plummer & Busenberg (1982), Geochim. Cosmochim. Acta 46:1011, 0-90 C. Water: Harned & Hamer (1933),
    J. Am. Chem. Soc. 55:2194, 0-60 C. Phosphoric acid: Bates (1951) and Bates & Acree (1943), J. Res. NBS 47:127 and
    30:129, 0-60 C (the last three from memory).

    Raises:
        ValueError: if the temperature is not between 0 and 60 C.

    >>> [round(-log10(k), 1) for k in constants(25.0)]
    [1.5, 6.4, 10.3, 14.0, 2.1, 7.2]
    """
    if not 0.0 <= temperature_c <= 60.0:
        raise ValueError(f"temperature_c: {temperature_c!r} is not between 0 and 60 C")
    t = temperature_c + 273.15
    logs = (
        108.3865 + 0.01985076 * t - 6919.53 / t - 40.45154 * log10(t) + 669365.0 / t**2,
        -356.3094 - 0.06091964 * t + 21834.37 / t + 126.8339 * log10(t) - 1684915.0 / t**2,
        -107.8871 - 0.03252849 * t + 5151.79 / t + 38.92561 * log10(t) - 563713.9 / t**2,
        6.0875 - 4470.99 / t - 0.01706 * t,
        4.5535 - 799.31 / t - 0.013486 * t,
        5.3541 - 1979.5 / t - 0.01984 * t,
    )
    return Constants(*(10.0**x for x in logs))


def carbonate_of_co2(
    ph: float, co2_mmol_l: float, temperature_c: float = 25.0, ionic_strength_mol_l: float = 0.0
) -> Carbonate:
    """Return carbonate and water at a pH beside an amount of dissolved CO2.

    Args:
        ph: -log10 of hydrogen's activity.
        co2_mmol_l: dissolved CO2.
        temperature_c: of the water.
        ionic_strength_mol_l: for activities (Davies 1962); tap water has about 0.005.
    """
    k = constants(temperature_c)
    one, two = (activity_coefficient(z, ionic_strength_mol_l) for z in (1, 2))
    h = 10.0**-ph
    hco3 = co2_mmol_l * k.carbonic_first / (h * one)
    co3 = hco3 * one * k.carbonic_second / (h * two)
    return Carbonate(co2_mmol_l, hco3, co3, 1000.0 * h / one, 1000.0 * k.water / (h * one))


def carbonate_of_total(
    ph: float, total_mmol_l: float, temperature_c: float = 25.0, ionic_strength_mol_l: float = 0.0
) -> Carbonate:
    """Return carbonate and water at a pH, from total carbonate; other arguments as `carbonate_of_co2`."""
    unit = carbonate_of_co2(ph, 1.0, temperature_c, ionic_strength_mol_l)
    return carbonate_of_co2(ph, total_mmol_l / unit.total_mmol_l, temperature_c, ionic_strength_mol_l)


def carbonate_of_alkalinity(
    ph: float, alkalinity_meq_l: float, temperature_c: float = 25.0, ionic_strength_mol_l: float = 0.0
) -> Carbonate:
    """Return carbonate and water from what is measured: pH and alkalinity.

    Args:
        ph: -log10 of hydrogen's activity.
        alkalinity_meq_l: 61 mg/L of HCO3, or 50 mg/L of CaCO3, is 1.
        temperature_c: as `carbonate_of_co2`.
        ionic_strength_mol_l: as `carbonate_of_co2`.

    Raises:
        ValueError: if alkalinity is negative, or no water has this pH with so little of it.
    """
    _check_alkalinity(alkalinity_meq_l)
    unit = carbonate_of_co2(ph, 1.0, temperature_c, ionic_strength_mol_l)
    co2 = (alkalinity_meq_l - unit.oh + unit.h) / (unit.hco3 + 2.0 * unit.co3)
    if co2 < 0.0:
        raise ValueError(
            f"alkalinity_meq_l: {alkalinity_meq_l!r} meq/L is less than hydroxide alone makes at pH {ph:g}; "
            "one of the two was measured wrong"
        )
    return carbonate_of_co2(ph, co2, temperature_c, ionic_strength_mol_l)


def ph_closed(
    alkalinity_meq_l: float, total_mmol_l: float, temperature_c: float = 25.0, ionic_strength_mol_l: float = 0.0
) -> float:
    """Return the pH of a water that exchanges no CO2 with the air, from alkalinity and total carbonate.

    Alkalinity rises steadily with pH, so there is one answer; negative alkalinity is that of a mineral acid.

    Raises:
        ValueError: if total carbonate is negative, or the pH would lie outside 0-14.

    >>> round(ph_closed(1.0, 1.0), 1)  # sodium bicarbonate, 0.001 mol/L
    8.3
    """
    if not (isfinite(total_mmol_l) and total_mmol_l >= 0.0):
        raise ValueError(f"total_mmol_l: {total_mmol_l!r} mmol/L is not an amount")

    def excess(ph: float) -> float:
        here = carbonate_of_total(ph, total_mmol_l, temperature_c, ionic_strength_mol_l)
        return here.alkalinity_meq_l - alkalinity_meq_l

    if not excess(0.0) < 0.0 < excess(14.0):
        raise ValueError(f"alkalinity_meq_l: no pH from 0 to 14 goes with {alkalinity_meq_l!r} meq/L")
    return float(brentq(excess, 0.0, 14.0, xtol=1e-13))


def ph_open(
    alkalinity_meq_l: float,
    temperature_c: float = 25.0,
    ionic_strength_mol_l: float = 0.0,
    co2_atm: float = AIR_CO2_ATM,
) -> float:
    """Return the pH of a water in equilibrium with the CO2 of the air: where it drifts to when it stands open.

    Raises:
        ValueError: if alkalinity is negative, or the pressure not above 0.

    >>> round(ph_open(0.0), 1)  # rain
    5.6
    """
    _check_alkalinity(alkalinity_meq_l)
    co2 = _co2_of_air_mmol_l(temperature_c, co2_atm)

    def excess(ph: float) -> float:
        here = carbonate_of_co2(ph, co2, temperature_c, ionic_strength_mol_l)
        return here.alkalinity_meq_l - alkalinity_meq_l

    return float(brentq(excess, 0.0, 14.0, xtol=1e-13))


def acid_need_meq_l(
    alkalinity_meq_l: float,
    ph: float,
    target_ph: float,
    *,
    open_to_air: bool = False,
    temperature_c: float = 25.0,
    ionic_strength_mol_l: float = 0.0,
) -> float:
    """Return the acid that brings a water to a target pH: the alkalinity it has less what it has there.

    Closed, total carbonate stays as it is: the need when acid is stirred in and pH read at once. Open to air, CO2
    leaves until it is that of the air: the need when the water then stands, aerated, for days. The first is the
    smaller; pH then creeps up as CO2 leaves, and what lies between the two may have to be added.

    Args:
        alkalinity_meq_l: of the water as it comes.
        ph: of the water as it comes.
        target_ph: what is wanted.
        open_to_air: see above.
        temperature_c: as `carbonate_of_co2`.
        ionic_strength_mol_l: as `carbonate_of_co2`.

    Raises:
        ValueError: if a pH is outside `PH_RANGE`, the target above the present pH (or, open to air, above where the
            water drifts to by itself), alkalinity negative, or as `carbonate_of_alkalinity`.
    """
    for name, value in (("ph", ph), ("target_ph", target_ph)):
        if not PH_RANGE[0] <= value <= PH_RANGE[1]:
            raise ValueError(f"{name}: {value!r} is not between {PH_RANGE[0]:g} and {PH_RANGE[1]:g}")
    if target_ph > ph:
        raise ValueError(f"target_ph: {target_ph!r} is above the present pH {ph!r}; acid cannot raise it")
    present = carbonate_of_alkalinity(ph, alkalinity_meq_l, temperature_c, ionic_strength_mol_l)
    if not open_to_air:
        there = carbonate_of_total(target_ph, present.total_mmol_l, temperature_c, ionic_strength_mol_l)
        return alkalinity_meq_l - there.alkalinity_meq_l
    air = _co2_of_air_mmol_l(temperature_c, AIR_CO2_ATM)
    need = alkalinity_meq_l - carbonate_of_co2(target_ph, air, temperature_c, ionic_strength_mol_l).alkalinity_meq_l
    if need < 0.0:
        raise ValueError(f"target_ph: {target_ph!r} is above the pH that this water takes by itself in the open")
    return need


def _co2_of_air_mmol_l(temperature_c: float, co2_atm: float) -> float:
    if not (isfinite(co2_atm) and co2_atm > 0.0):
        raise ValueError(f"co2_atm: {co2_atm!r} atm is not a pressure above 0")
    return 1000.0 * constants(temperature_c).henry * co2_atm


def _check_alkalinity(alkalinity_meq_l: float) -> None:
    if not (isfinite(alkalinity_meq_l) and alkalinity_meq_l >= 0.0):
        raise ValueError(f"alkalinity_meq_l: {alkalinity_meq_l!r} meq/L is not 0 or more")
