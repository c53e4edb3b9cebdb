"""What is dissolved, ion by ion: what the season follows, what a solution conducts, what the crop takes of it.

The season follows each nutrient and ballast ion, and alkalinity in the place of bicarbonate: bicarbonate less free
acid, which may be negative. What a plant takes in equivalents of cations above anions it pays for with protons, which
use up alkalinity, and the other way round (Marschner, Mineral Nutrition of Higher Plants, ch. 2, from memory).
"""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from wetfoot.plan.feeds import Feeds, feeds_of
from wetfoot.plan.model import Plan
from wetfoot.solution.conductivity import ec_ms_cm
from wetfoot.solution.dose import ec_curve, feed, strength_for_ec
from wetfoot.solution.salts import Composition, equivalents_meq_l, load_species, molar_mass_g_mol

Array = NDArray[np.float64]
Waters = tuple[tuple[tuple[str, float], ...], ...]

MAIN = ("NO3", "NH4", "H2PO4", "K", "Ca", "Mg", "SO4", "Na", "Cl")
ALKALINITY = "HCO3"
# What the season follows in the place of other species, with the same charge; urea as what it turns into in days.
_FOLLOWED_AS = {
    "HPO4": {"H2PO4": 1.0, ALKALINITY: 1.0},
    "CO3": {ALKALINITY: 2.0},
    "OH": {ALKALINITY: 1.0},
    "H": {ALKALINITY: -1.0},
    "B(OH)4": {"B(OH)3": 1.0, ALKALINITY: 1.0},
    "urea": {"NH4": 2.0, ALKALINITY: 2.0},
}
ELEMENTS = ("N", "P", "K", "Ca", "Mg", "S", "Na", "Cl")

# What a crop of ginger takes from a hectare, in kg: the middles of N 70-110, P 15-25, K 100-150 (project handbook,
# from memory). A field trial of 38.8 t/ha found N 99, P 25, K 244 in the rhizomes (thesis, University of Agricultural
# Sciences, Bangalore, 2009, abstract). Only their ratio counts here.
DEMAND_KG_HA = {"N": 90.0, "P": 20.0, "K": 125.0}
# Na and Cl taken with a litre drunk, over those in a litre: estimates for crops that shut them out.
BALLAST_UPTAKE = {"Na": 0.1, "Cl": 0.2}
LEAST_RATIO, MOST_RATIO = 0.3, 1.5
SMALL_MMOL_L = 0.05


class Feed(NamedTuple):
    """The plan's waters as the season follows them; arrays by species, the last of which is alkalinity.

    Attributes:
        species: their names.
        charge: of each.
        conductance_ms_cm: what a mmol/L more of each adds to the EC of the solution that the tank is mixed to.
        acid_ms_cm: the same of a mmol/L of negative alkalinity.
        source_mmol_l: the source water.
        target_mmol_l: what the tank is mixed to.
        pair_mmol: what a litre of stock A and one of B bring together.
        elements_mg: mg of each of `ELEMENTS` in a mmol, shape (elements, species).
    """

    species: tuple[str, ...]
    charge: Array
    conductance_ms_cm: Array
    acid_ms_cm: float
    source_mmol_l: Array
    target_mmol_l: Array
    pair_mmol: Array
    elements_mg: Array

    def plain_ms_cm(self, mmol_l: Array) -> Array:
        """Return the plain sum of what each ion conducts, as hindered by the others as in the feed; species last."""
        acid = np.minimum(mmol_l[..., -1], 0.0)
        return np.asarray(mmol_l @ self.conductance_ms_cm - acid * (self.conductance_ms_cm[-1] + self.acid_ms_cm))

    def composition(self, mmol_l: Array) -> dict[str, float]:
        """Return one solution as the conductivity model wants it."""
        found = {name: float(amount) for name, amount in zip(self.species, mmol_l, strict=True) if amount > 0}
        return found | ({"H": -float(mmol_l[-1])} if mmol_l[-1] < 0 else {})

    def mixed_mmol_l(self, strength: float) -> Array:
        """Return source water with so many litres of each stock in a litre."""
        return (1.0 - 2.0 * strength) * self.source_mmol_l + strength * self.pair_mmol


class EcScale(NamedTuple):
    """EC against the plain sum of what its ions conduct, both in mS/cm and rising: exact on the plan's own feed."""

    plain_ms_cm: Array
    ec_ms_cm: Array

    def ec(self, plain_ms_cm: Array | float) -> Array:
        """Return the EC of a plain sum, at most that of the table's end."""
        return np.asarray(np.interp(plain_ms_cm, self.plain_ms_cm, self.ec_ms_cm))

    def plain(self, ec_ms_cm: float) -> float:
        """Return the plain sum at an EC."""
        return float(np.interp(ec_ms_cm, self.ec_ms_cm, self.plain_ms_cm))


def followed(composition: Composition) -> dict[str, float]:
    """Return a composition in the species that the season follows, of the same charge."""
    total: dict[str, float] = {}
    for name, mmol_l in composition.items():
        for species, moles in _FOLLOWED_AS.get(name, {name: 1.0}).items():
            total[species] = total.get(species, 0.0) + moles * mmol_l
    return total


def feed_of(plan: Plan) -> Feed:
    """Return the plan's source water and stocks, species by species: the main ones, and others where there are some."""
    return _feed(_fixed(feeds_of(plan.solution)), plan.solution.target_ec_ms_cm)


def _fixed(feeds: Feeds) -> Waters:
    return tuple(tuple(sorted(water.items())) for water in feeds)


@lru_cache(maxsize=64)  # comparing many changes of a bench asks for the same waters again and again
def _feed(waters_of_plan: Waters, target_ec_ms_cm: float) -> Feed:
    source, stock_a, stock_b = (followed(dict(water)) for water in waters_of_plan)
    present = {name for water in (source, stock_a, stock_b) for name, mmol_l in water.items() if mmol_l}
    names = (*MAIN, *sorted(present - {*MAIN, ALKALINITY}), ALKALINITY)
    waters = [_for_model(water) for water in (stock_a, stock_b, source)]
    strength = strength_for_ec(target_ec_ms_cm, *waters)
    target = followed(feed(strength, *waters))
    return Feed(
        species=names,
        charge=np.array([float(load_species()[name].charge) for name in names]),
        conductance_ms_cm=np.array([_conductance_ms_cm(name, target) for name in names]),
        acid_ms_cm=_conductance_ms_cm("H", {**target, ALKALINITY: 0.0}),
        source_mmol_l=_vector(source, names),
        target_mmol_l=_vector(target, names),
        pair_mmol=_vector(stock_a, names) + _vector(stock_b, names),
        elements_mg=np.array([[_mg(element, name) for name in names] for element in ELEMENTS]),
    )


def _conductance_ms_cm(species: str, water: Composition) -> float:
    """Return by how much the EC of a water rises with a mmol/L of a species, from a small step of the full model."""
    more = {**water, species: water.get(species, 0.0) + SMALL_MMOL_L}
    return (ec_ms_cm(_for_model(more)) - ec_ms_cm(_for_model(water))) / SMALL_MMOL_L


def _vector(composition: Composition, names: tuple[str, ...]) -> Array:
    return np.array([composition.get(name, 0.0) for name in names])


def _mg(element: str, species: str) -> float:
    """Return the mg of an element in a mmol of a species, nitrogen in all its forms."""
    given = load_species()[species].nutrients.items()
    return molar_mass_g_mol(element) * sum(n for name, n in given if name.removesuffix("-N")[:2] == element or
                                           (element == "N" and name.endswith("-N")))  # fmt: skip


def ec_scale(plan: Plan) -> EcScale:
    """Return the scale of EC along the plan's own feed: rain and source water, then more and more of both stocks."""
    return _scale(_fixed(feeds_of(plan.solution)), plan.solution.target_ec_ms_cm)


@lru_cache(maxsize=64)
def _scale(waters_of_plan: Waters, target_ec_ms_cm: float) -> EcScale:
    known = _feed(waters_of_plan, target_ec_ms_cm)
    source, stock_a, stock_b = (_for_model(followed(dict(water))) for water in waters_of_plan)
    meq_l, ec = ec_curve(stock_a, stock_b, source)
    # the plain sum is a straight line in strength from pure to source water, and another from there on
    low, meq_source = equivalents_meq_l(source), equivalents_meq_l(feed(0.0, stock_a, stock_b, source))
    top = (meq_l[-1] - low) / (equivalents_meq_l(stock_a) + equivalents_meq_l(stock_b) - 2.0 * low)
    knees = [float(known.plain_ms_cm(known.mixed_mmol_l(x))) for x in (0.0, float(top))]
    return EcScale(np.interp(meq_l, [0.0, meq_source, meq_l[-1]], [0.0, *knees]), ec)


def _for_model(composition: Composition) -> dict[str, float]:
    """Return a composition with negative alkalinity as free acid."""
    alkalinity = composition.get(ALKALINITY, 0.0)
    return {**composition, **({ALKALINITY: 0.0, "H": -alkalinity} if alkalinity < 0 else {})}


def uptake_ratios(known: Feed, fed_mmol_l: Array, fraction: float) -> Array:
    """Return what a litre drunk takes of each species over what a litre of the water in the medium holds.

    N, P and K are taken from the feed in the ratio of ginger's demand (`DEMAND_KG_HA`), in all ``fraction`` of their
    moles; calcium and magnesium fill up the nutrient cations, sulfate the anions, to ``fraction`` of their
    equivalents, for want of published figures for ginger. Na and Cl are hardly taken. Ratios stay within 0.3 and 1.5
    (0.3 of a species that the crop needs less of than it drinks). Alkalinity has none: it closes the charge.

    The ratio is that of an uptake concentration (Sonneveld & Voogt 2009, Plant Nutrition of Greenhouse Crops, from
    memory) at the feed's strength; in proportion to what is there at other strengths, so that a crop takes more from
    a solution in which an ion piles up, and little from one that rain has washed out.

    Args:
        known: the feed's species.
        fed_mmol_l: the solution that the tank is mixed to.
        fraction: the salts taken up with the water, of those in it.
    """
    fed = dict(zip(known.species, fed_mmol_l.tolist(), strict=True))
    nitrogen, phosphorus, potassium = fed["NO3"] + fed["NH4"], fed["H2PO4"], fed["K"]
    demand = {name: kg / molar_mass_g_mol(name) for name, kg in DEMAND_KG_HA.items()}
    scale = fraction * (nitrogen + phosphorus + potassium) / sum(demand.values())
    taken = {"N": scale * demand["N"], "P": scale * demand["P"], "K": scale * demand["K"]}
    of_n = _ratio(taken["N"], nitrogen, fraction)
    of_p, of_k = _ratio(taken["P"], phosphorus, fraction), _ratio(taken["K"], potassium, fraction)
    cations = fraction * (potassium + fed["NH4"] + 2.0 * (fed["Ca"] + fed["Mg"]))
    anions = fraction * (fed["NO3"] + phosphorus + 2.0 * fed["SO4"])
    left_cations = cations - of_k * potassium - of_n * fed["NH4"]
    left_anions = anions - of_n * fed["NO3"] - of_p * phosphorus
    of_bases = _ratio(left_cations, 2.0 * (fed["Ca"] + fed["Mg"]), fraction)
    ratios = {"NO3": of_n, "NH4": of_n, "H2PO4": of_p, "K": of_k, "Ca": of_bases, "Mg": of_bases}
    ratios |= {"SO4": _ratio(left_anions, 2.0 * fed["SO4"], fraction), **BALLAST_UPTAKE, ALKALINITY: 0.0}
    return np.array([ratios.get(name, fraction) for name in known.species])


def _ratio(taken: float, there: float, fraction: float) -> float:
    return min(max(taken / there, LEAST_RATIO), MOST_RATIO) if there > 0 else fraction
