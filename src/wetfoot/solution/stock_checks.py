"""Whether two stocks stay dissolved in the cold, and what the working solution made of them holds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite, log10
from types import MappingProxyType
from typing import NamedTuple

from wetfoot.solution.conductivity import ec_ms_cm
from wetfoot.solution.forms import state
from wetfoot.solution.pitzer import IONIC_STRENGTH_LIMIT_MOL_KG
from wetfoot.solution.salts import (
    Composition,
    Salt,
    composition_mmol_l,
    elements_mg_l,
    equivalents_meq_l,
    load_salts,
    mix,
    net_charge_meq_l,
)
from wetfoot.solution.saturation import SALT_MARGIN, Solid, indices, ph_limit, saturation, solids, sources_of
from wetfoot.solution.solubility import LEAST_WATER_KG_L, saturated_mol_kg, water_kg_l

WARM_C = 25.0
"""Stocks are checked at the coldest night and here, where the model is best: some solids dissolve less in warmth."""

PH_WORKING = 6.0
"""pH at which the working solution is checked: the middle of 5.8-6.2 (project handbook)."""

_TOO_STRONG = 99.0


class Refusal(NamedTuple):
    """Why a solution cannot stand: where, which solid, its index, g/L that could fall out, at which temperature.

    ``from_water`` tells that one of its ions comes with the water alone. ``part`` are groups of salts to keep in
    different stocks; a single group is to be made weaker or kept warmer.
    """

    where: str
    solid: str
    saturation_index: float
    falls_out_g_l: float
    at_c: float
    part: tuple[tuple[str, ...], ...]
    from_water: bool
    what: str


@dataclass(frozen=True)
class StockReport:
    """What two stocks are and give; compositions in mmol/L with the water they are made up with.

    Attributes:
        stock_a_mmol_l: composition of stock A; ``stock_b_mmol_l``, ``working_mmol_l`` likewise.
        source_share: litres of source water in a litre of working solution, the water of the stocks included if it is
            the same.
        reached_mg_l: element levels of the working solution, forms of nitrogen included.
        cations_meq_l: equivalents of cations; ``net_charge_meq_l`` is what anions lack of them: 0 but for rounding.
        ec_ms_cm: EC of the working solution at 25 C.
        n_to_k: nitrogen over potassium by mass; None without potassium.
        ph_limit: pH above which phosphate or carbonate falls out of the working solution at 25 C (8 if none below).
        refusals: why it cannot be made so; empty if it can.
        cloudy: what falls out of a stock with an ion that only its water brings: no more than the water holds. The
            stock turns cloudy and can be used; rain water, or acid first, prevents it.
    """

    stock_a_mmol_l: Composition
    stock_b_mmol_l: Composition
    working_mmol_l: Composition
    source_share: float
    reached_mg_l: Mapping[str, float]
    cations_meq_l: float
    net_charge_meq_l: float
    ec_ms_cm: float
    n_to_k: float | None
    ph_limit: float
    refusals: tuple[Refusal, ...]
    cloudy: tuple[Refusal, ...]


def check_stocks(
    stock_a: Mapping[str, float],
    stock_b: Mapping[str, float],
    source: Composition,
    coldest_c: float,
    *,
    fold: float,
    products: Mapping[str, Salt] = MappingProxyType({}),
    stock_water: Composition | None = None,
    ph: float = PH_WORKING,
) -> StockReport:
    """Return what two stocks give at working strength, and why they cannot stand if they cannot.

    Args:
        stock_a: grams of each salt in a litre of stock A.
        stock_b: the same of stock B.
        source: the water's composition in mmol/L.
        coldest_c: coldest night of the stocks, 0 to 40.
        fold: a litre of each makes this many litres of working solution.
        products: one's own salts beside the built-in ones.
        stock_water: what the stocks are made up with, if not the same water.
        ph: at which the working solution is checked.

    Raises:
        ValueError: for bad input.
    """
    for name, value, low, high in (
        ("fold", fold, 2.0, 1e4),
        ("coldest_c", coldest_c, 0.0, 40.0),
        ("ph", ph, 2.0, 11.0),
    ):
        if not (isfinite(value) and low <= value <= high):
            raise ValueError(f"{name}: {value!r} is not between {low:g} and {high:g}")
    water = dict(source) if stock_water is None else dict(stock_water)
    a, b = (_with_water(stock, products, water) for stock in (stock_a, stock_b))
    working = mix([(fold - 2.0, source), (1.0, a), (1.0, b)])
    of_stocks = [
        *_refusals_of_stock("stock A", stock_a, products, a, coldest_c),
        *_refusals_of_stock("stock B", stock_b, products, b, coldest_c),
    ]
    of_working = _refusals_of_working({**stock_a, **stock_b}, products, working, coldest_c, ph)
    cloudy = tuple(found for found in of_stocks if found.from_water)
    refusals = (*(found for found in of_stocks if not found.from_water), *of_working)
    reached = elements_mg_l(working)
    return StockReport(
        a, b, working,
        1.0 if stock_water is None else 1.0 - 2.0 / fold,
        reached, equivalents_meq_l(working), net_charge_meq_l(working), ec_ms_cm(working),
        reached["N"] / reached["K"] if reached["K"] > 0.0 else None,
        ph_limit(working), refusals, cloudy,
    )  # fmt: skip


def worst_margin(
    stock: Mapping[str, float], products: Mapping[str, Salt], water: Composition, coldest_c: float
) -> float:
    """Return by how much, in log10, a stock is over what stays clear but for its water; below 0 it can be made.

    Args:
        stock: grams of each salt in a litre.
        products: one's own salts beside the built-in ones.
        water: what it is made up with, mmol/L.
        coldest_c: coldest night.
    """
    composition = _with_water(stock, products, water)
    if water_kg_l(composition) < LEAST_WATER_KG_L:
        return _TOO_STRONG
    over = [_share_dissolved(stock, products, composition, coldest_c)]
    for temperature_c in {coldest_c, max(coldest_c, WARM_C)}:
        try:
            at = state(composition, temperature_c)
        except ValueError:  # the amounts are sound: it is too strong
            return _TOO_STRONG
        over.append(log10(max(at.ionic_strength_mol_kg, 1e-9) / IONIC_STRENGTH_LIMIT_MOL_KG))
        found = indices(at, temperature_c)
        judged = [solids()[name] for name in found if solids()[name].likely]
        judged = [solid for solid in judged if _is_of_salts(solid, stock, products)]
        over += [found[solid.name][0] + solid.margin for solid in judged]
    return max(over)


def _with_water(stock: Mapping[str, float], products: Mapping[str, Salt], water: Composition) -> dict[str, float]:
    total = composition_mmol_l(stock, products)
    for ion, mmol in water.items():
        total[ion] = total.get(ion, 0.0) + mmol
    return total


def _share_dissolved(
    stock: Mapping[str, float], products: Mapping[str, Salt], composition: Composition, coldest_c: float
) -> float:
    """Return log10 of the most that any one salt takes up of its own solubility, less `SALT_MARGIN`."""
    shares = [share for _, share in _own_shares(stock, products, composition, coldest_c)]
    return max((log10(share) + SALT_MARGIN for share in shares if share > 0.0), default=-_TOO_STRONG)


def _own_shares(
    stock: Mapping[str, float], products: Mapping[str, Salt], composition: Composition, coldest_c: float
) -> list[tuple[str, float]]:
    salts, water = {**load_salts(), **products}, water_kg_l(composition)
    known = [(name, grams, salts[name]) for name, grams in stock.items() if salts[name].solubility_g_100g]
    return [
        (name, grams * salt.purity / salt.molar_mass_g_mol / water / saturated_mol_kg(salt, coldest_c))
        for name, grams, salt in known
    ]


def _refusals_of_stock(
    where: str, stock: Mapping[str, float], products: Mapping[str, Salt], composition: Composition, coldest_c: float
) -> list[Refusal]:
    if water_kg_l(composition) < LEAST_WATER_KG_L:
        what = f"{where} is too strong: a litre has no room for water to dissolve so much; make it weaker"
        return [Refusal(where, "any", _TOO_STRONG, 0.0, coldest_c, (tuple(stock),), False, what)]
    worst: dict[str, Refusal] = {}
    for name, share in _own_shares(stock, products, composition, coldest_c):
        index = log10(share) if share > 0.0 else -_TOO_STRONG
        if index > -SALT_MARGIN:
            lost = max(0.0, stock[name] * (1.0 - 1.0 / share))
            worst[name] = _refusal(where, name, index, lost, coldest_c, ((name,),))
    for temperature_c in sorted({coldest_c, max(coldest_c, WARM_C)}):
        try:
            found = saturation(composition, temperature_c)
        except ValueError as error:
            what = f"{where} is too strong to be judged: {error}"
            return [Refusal(where, "any", _TOO_STRONG, 0.0, temperature_c, (tuple(stock),), False, what)]
        for row in found:
            solid = solids()[row.solid]
            if (
                solid.likely
                and row.saturation_index > -solid.margin
                and row.saturation_index > _index_of(worst.get(row.solid))
            ):
                part = _to_part(solid, stock, products)
                alien = not _is_of_salts(solid, stock, products)
                worst[row.solid] = _refusal(
                    where, row.solid, row.saturation_index, row.falls_out_g_l, temperature_c, part, alien
                )
    return sorted(worst.values(), key=lambda refusal: -refusal.saturation_index)


def _index_of(refusal: Refusal | None) -> float:
    return refusal.saturation_index if refusal else -_TOO_STRONG


def _refusals_of_working(
    stocks: Mapping[str, float], products: Mapping[str, Salt], working: Composition, coldest_c: float, ph: float
) -> list[Refusal]:
    refusals: dict[str, Refusal] = {}
    for temperature_c in sorted({coldest_c, max(coldest_c, WARM_C)}):
        for row in saturation(working, temperature_c, ph):
            solid = solids()[row.solid]
            if solid.likely and row.saturation_index > max(-solid.margin, _index_of(refusals.get(row.solid))):
                part = _to_part(solid, stocks, products)
                refusals[row.solid] = _refusal(
                    "working solution", row.solid, row.saturation_index, row.falls_out_g_l, temperature_c, part
                )
    return list(refusals.values())


def _is_of_salts(solid: Solid, stock: Mapping[str, float], products: Mapping[str, Salt]) -> bool:
    """Tell whether every ion of a solid is brought by a salt that was weighed in (hydroxide is always there)."""
    salts = {**load_salts(), **products}
    brought = {ion for name, grams in stock.items() if grams > 0.0 for ion in salts[name].releases}
    return all(ion == "OH" or brought & set(sources_of(ion)) for ion in solid.ions)


def _to_part(solid: Solid, stock: Mapping[str, float], products: Mapping[str, Salt]) -> tuple[tuple[str, ...], ...]:
    """Return the salts that bring each ion of a solid; a single group if one of them is in every group."""
    salts = {**load_salts(), **products}
    groups = []
    for ion in solid.ions:
        names = tuple(
            n for n in stock if stock[n] > 0.0 and any(salts[n].releases.get(s, 0.0) for s in sources_of(ion))
        )
        if names and names not in groups:
            groups.append(names)
    if groups and set.intersection(*(set(group) for group in groups)):
        return (tuple(dict.fromkeys(name for group in groups for name in group)),)
    return tuple(groups)


def _refusal(
    where: str,
    solid: str,
    index: float,
    lost: float,
    at_c: float,
    part: tuple[tuple[str, ...], ...],
    alien: bool = False,
) -> Refusal:
    over = f"{lost:.3g} g/L could fall out" if lost > 0.0 else "too near saturation to stay clear"
    if where == "working solution":
        cure = "lower its pH or strength, or use other water"
    elif alien:
        cure = "make it up with rain water, or neutralise the water's bicarbonate with acid first"
    elif len(part) > 1:
        cure = "part " + " from ".join(" and ".join(group) for group in part)
    else:
        names = ", ".join(part[0]) if part else solid
        cure = f"make the stock weaker, keep it warmer, or move part of {names} to the other stock"
    return Refusal(where, solid, index, lost, at_c, part, alien, f"{where}: {solid} at {at_c:g} C, {over}; {cure}")
