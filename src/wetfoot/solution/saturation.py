"""Which solids a solution, or a concentrate, would throw down, and how much.

The saturation index is log10 of the ion product over the solubility product: above 0 a solid can form. Activities are
those of `pitzer`. Two kinds of solids: sparingly soluble ones with a published solubility product, and the salts of
the bags, whose product is that of the same model in their saturated solution, so that published solubilities come out
as they are and the model only carries the effect of the other salts.

What it leaves out: phosphates and hydroxides of trace metals, salts of the chelates, pairs of calcium and magnesium
with phosphate (so that phosphates look a little less soluble than they are: the safe side).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from math import log10
from types import MappingProxyType
from typing import NamedTuple

from scipy.optimize import brentq

from wetfoot.solution.forms import State, state, state_of_molality
from wetfoot.solution.pitzer import activities, fitted_to_mol_kg
from wetfoot.solution.salts import load_salts
from wetfoot.solution.solubility import molality_mol_kg, saturated_mol_kg
from wetfoot.solution.species import load_species, molar_mass_g_mol

_KELVIN = 273.15
_BEYOND_FIT = 1.5  # saturated solutions up to this much stronger than the parameters were fitted to are still used


MIXED_CRYSTALS = (
    ("monopotassium phosphate", "monoammonium phosphate", 1),
    ("potassium sulfate", "ammonium sulfate", 2),
)
"""Salts that crystallise together (potassium and ammonium change places), and the metal ions in their formula."""

SALT_MARGIN = 0.15
"""How far below 0 the index of a bag's salt must stay for a stock to be called clear.

The model puts saturated mixtures of KNO3 and NH4H2PO4 at 0 C (IUPAC-NIST Solubility Data Series 66) at -0.13 for KNO3.
"""


@dataclass(frozen=True)
class Solid:
    """A solid: its formula, the ions in a mole of it with their crystal water, log10 of its product at a temperature.

    ``margin`` is how far below 0 its index must stay. ``likely`` is False for one that is far too slow to form to be a
    ground for refusal.
    """

    name: str
    formula: str
    ions: Mapping[str, float]
    water: float
    log_product: Callable[[float], float]
    source: str
    margin: float = 0.0
    likely: bool = True


class Saturation(NamedTuple):
    """A solid in a solution: saturation index, and g/L that would fall out until the index is 0."""

    solid: str
    saturation_index: float
    falls_out_g_l: float


def _gypsum(t: float) -> float:
    k = t + _KELVIN
    return 68.2401 - 3221.51 / k - 25.0627 * log10(k)


def _brushite(t: float) -> float:
    k = t + _KELVIN
    return (-8403.5 / k + 41.863 - 0.09678 * k) / 2.302585


def _calcite(t: float) -> float:
    k = t + _KELVIN
    return -171.9065 - 0.077993 * k + 2839.319 / k + 71.595 * log10(k)


def _apatite(t: float) -> float:
    k = t + _KELVIN
    return -8219.41 / k - 1.6657 - 0.098215 * k


_SPARING = (
    Solid("gypsum", "CaSO4.2H2O", {"Ca": 1, "SO4": 1}, 2, _gypsum,
          "Langmuir & Melchior (1985), Geochim. Cosmochim. Acta 49:2423, from memory: -4.58 at 25 C"),
    Solid("syngenite", "K2Ca(SO4)2.H2O", {"K": 2, "Ca": 1, "SO4": 2}, 1, lambda _: -7.448,
          "Harvie, Moller & Weare (1984), 25 C, from memory; used at every temperature"),
    Solid("picromerite", "K2Mg(SO4)2.6H2O", {"K": 2, "Mg": 1, "SO4": 2}, 6, lambda _: -4.328,
          "Harvie, Moller & Weare (1984), 25 C, from memory; used at every temperature"),
    Solid("calcium hydrogen phosphate", "CaHPO4.2H2O", {"Ca": 1, "HPO4": 1}, 2, _brushite,
          "Gregory, Moreno & Brown (1970), J. Res. NBS 74A:461, from memory: -6.59 at 25 C"),
    Solid("struvite", "MgNH4PO4.6H2O", {"Mg": 1, "NH4": 1, "PO4": 1}, 6, lambda _: -13.26,
          "Ohlinger et al. (1998), 25 C (project handbook); used at every temperature"),
    Solid("calcium carbonate", "CaCO3", {"Ca": 1, "CO3": 1}, 0, _calcite,
          "calcite: Plummer & Busenberg (1982), Geochim. Cosmochim. Acta 46:1011"),
    Solid("hydroxyapatite", "Ca5(PO4)3OH", {"Ca": 5, "PO4": 3, "OH": 1}, 0, _apatite,
          "McDowell, Gregory & Brown (1977), J. Res. NBS 81A:273, from memory: -58.5; every feed exceeds it, and it "
          "forms too slowly to count", likely=False),
)  # fmt: skip


@cache
def solids() -> Mapping[str, Solid]:
    """Return the solids that are looked for, by name: sparingly soluble ones, then the salts of the bags."""
    found = {solid.name: solid for solid in _SPARING}
    for salt in load_salts().values():
        if salt.solubility_g_100g and _has_parameters(salt.name):
            product = _log_product_of_salt(salt.name)
            source = "its solubility in salts.toml and the activities of that solution"
            found[salt.name] = Solid(salt.name, salt.formula, salt.releases, salt.water, product, source, SALT_MARGIN)
    return MappingProxyType(found)


def _has_parameters(name: str) -> bool:
    """Tell whether the model holds in a saturated solution at the cold end, where stocks come to grief."""
    salt = load_salts()[name]
    ions = sorted(salt.releases, key=lambda ion: -load_species()[ion].charge)
    return len(ions) == 2 and saturated_mol_kg(salt, 0.0) <= _BEYOND_FIT * fitted_to_mol_kg(ions[0], ions[1])


def _log_product_of_salt(name: str) -> Callable[[float], float]:
    @cache
    def log_product(temperature_c: float) -> float:
        salt = load_salts()[name]
        saturated = saturated_mol_kg(salt, temperature_c)
        molality = {ion: n * saturated for ion, n in salt.releases.items()}
        found = activities(molality, temperature_c)
        product = sum(n * log10(molality[ion] * found.coefficient[ion]) for ion, n in salt.releases.items())
        return product + salt.water * log10(found.water)

    return log_product


def saturation_index(solid: Solid, at: State, temperature_c: float) -> float:
    """Return log10 of the ion product over the solubility product; minus infinity if an ion is missing."""
    amounts = [(at.activity.get(ion, 0.0), n) for ion, n in solid.ions.items()]
    if any(a <= 0.0 for a, _ in amounts):
        return float("-inf")
    product = sum(n * log10(a) for a, n in amounts) + solid.water * log10(at.water_activity)
    return product - solid.log_product(temperature_c)


def saturation(
    composition: Mapping[str, float], temperature_c: float = 25.0, ph: float | None = None
) -> tuple[Saturation, ...]:
    """Return every solid whose ions are there, the most oversaturated first, each as if it formed alone.

    Args:
        composition: mmol/L of each species.
        temperature_c: 0 to 40; the model is best at 25.
        ph: as `state`.

    Raises:
        ValueError: as `state`.

    >>> found = saturation({"Ca": 20.0, "SO4": 20.0})[0]
    >>> found.solid, found.saturation_index > 0
    ('gypsum', True)
    """
    at = state(composition, temperature_c, ph)
    rows = []
    for name, (index, alone) in indices(at, temperature_c).items():
        solid, lost = solids()[name], 0.0
        if index > 0.0 and solid.likely:
            lost = _falls_out_g_l(solid, composition, temperature_c, at.ph, index - alone)
        rows.append(Saturation(name, index, lost))
    return tuple(sorted(rows, key=lambda row: -row.saturation_index))


def indices(at: State, temperature_c: float) -> dict[str, tuple[float, float]]:
    """Return by solid its saturation index, and that of its pure crystals; mixed crystals form sooner.

    `MIXED_CRYSTALS` are ideal solid solutions: the shares of their members, each 10^(index / metal ions in the
    formula), add up to 1 at saturation.
    """
    alone = {name: saturation_index(solid, at, temperature_c) for name, solid in solids().items()}
    found = {name: (index, index) for name, index in alone.items() if index > float("-inf")}
    for one, two, metals in MIXED_CRYSTALS:
        if one in found and two in found:
            mixed = metals * log10(10.0 ** (alone[one] / metals) + 10.0 ** (alone[two] / metals))
            found |= {name: (mixed, alone[name]) for name in (one, two)}
    return found


_COMES_FROM = {"HPO4": ("H2PO4", "HPO4"), "PO4": ("H2PO4", "HPO4"), "CO3": ("HCO3", "CO3"), "H2PO4": ("H2PO4", "HPO4")}


def sources_of(ion: str) -> tuple[str, ...]:
    """Return the species, as weighed, that an ion of a solid can come from."""
    return _COMES_FROM.get(ion, (ion,))


def _falls_out_g_l(
    solid: Solid, composition: Mapping[str, float], temperature_c: float, ph: float, sooner: float
) -> float:
    """Return g/L of a solid that brings its index to 0, at constant pH; ``sooner`` is what mixed crystals add to it."""
    held = {ion: sum(composition.get(s, 0.0) for s in sources_of(ion)) for ion in solid.ions if ion != "OH"}
    most = min(mmol / solid.ions[ion] for ion, mmol in held.items())

    def index(mmol: float) -> float:
        left = dict(composition)
        for ion in held:
            for source in sources_of(ion):
                if held[ion] > 0.0:
                    left[source] = left.get(source, 0.0) * (1.0 - mmol * solid.ions[ion] / held[ion])
        return (
            saturation_index(solid, state_of_molality(molality_mol_kg(left), temperature_c, ph), temperature_c) + sooner
        )

    mmol = brentq(index, 0.0, most * (1.0 - 1e-9), xtol=1e-9 * most, rtol=1e-9)
    return float(mmol) / 1000.0 * molar_mass_g_mol(solid.formula)


def ph_limit(composition: Mapping[str, float], temperature_c: float = 25.0, highest: float = 8.0) -> float:
    """Return the pH above which a phosphate or carbonate falls out; ``highest`` if none does below it.

    Args:
        composition: mmol/L of each species of a working solution.
        temperature_c: 0 to 40.
        highest: pH up to which it is looked for.

    Raises:
        ValueError: as `state`.
    """
    wanted = [solids()[name] for name in ("calcium hydrogen phosphate", "struvite", "calcium carbonate")]

    def worst(ph: float) -> float:
        at = state(composition, temperature_c, ph)
        return max(max(saturation_index(solid, at, temperature_c) for solid in wanted), -99.0)

    if worst(highest) <= 0.0:
        return highest
    return float(brentq(worst, 4.0, highest, xtol=1e-4)) if worst(4.0) < 0.0 else 4.0


def dissolves_g_l(solid_name: str, composition: Mapping[str, float], temperature_c: float = 25.0) -> float:
    """Return g/L of a sparingly soluble solid that dissolve in a solution, ions of its own already there included.

    Args:
        solid_name: a key of `solids` whose ions do not depend on pH.
        composition: mmol/L of each species before it dissolves.
        temperature_c: 0 to 40.

    Raises:
        ValueError: if it is saturated already, or as `state`.
    """
    solid = solids()[solid_name]

    def index(mmol: float) -> float:
        more = dict(composition)
        for ion, n in solid.ions.items():
            more[ion] = more.get(ion, 0.0) + n * mmol
        return saturation_index(solid, state(more, temperature_c), temperature_c)

    if index(1e-6) > 0.0:
        raise ValueError(f"composition: saturated with {solid_name} already")
    enough = 1e-3
    while index(enough) < 0.0:
        enough *= 2.0
    return float(brentq(index, 1e-6, enough)) / 1000.0 * molar_mass_g_mol(solid.formula)
