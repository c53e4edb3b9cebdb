"""The waters and salts that a plan describes: source water, the two stocks, blends of one's own, the shelf."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from wetfoot.plan.model import Plan, Solution
from wetfoot.solution.dose import source_water_from_ec
from wetfoot.solution.labels import salt_from_label
from wetfoot.solution.salts import Composition, Salt, composition_mmol_l, load_salts
from wetfoot.solution.standard_solutions import standard_solutions
from wetfoot.solution.water_analysis import source_water_from_analysis


class Feeds(NamedTuple):
    """Source water and the stocks that go into it, mmol/L of each species."""

    source: Composition
    stock_a: Composition
    stock_b: Composition


def feeds_of(solution: Solution) -> Feeds:
    """Return the waters of a plan that passed its checks."""
    products = products_of(solution)
    return Feeds(
        source_of(solution),
        composition_mmol_l(solution.stock_a, products),
        composition_mmol_l(solution.stock_b, products),
    )


def source_of(solution: Solution) -> Composition:
    """Return the source water by its analysis, or a usual water of its EC where there is none.

    Raises:
        ValueError: if the analysis cannot be used.
    """
    if solution.source_water:
        return source_water_from_analysis(solution.source_water).composition
    return source_water_from_ec(solution.source_ec_ms_cm)


def products_of(solution: Solution) -> dict[str, Salt]:
    """Return the plan's own blends, by their labels.

    Raises:
        ValueError: for a label that cannot be.
    """
    return {
        name: salt_from_label(name, {key: 100.0 * share for key, share in label.items()})
        for name, label in solution.products.items()
    }


def shelf_of(plan: Plan) -> dict[str, Salt]:
    """Return the salts at hand for the recipe: those it names, or all that have a price or stand in a stock."""
    solution = plan.solution
    known = {**load_salts(), **products_of(solution)}
    priced = dict.fromkeys((*plan.costs.salts_per_kg, *solution.stock_a, *solution.stock_b))
    names = solution.recipe.shelf if solution.recipe and solution.recipe.shelf else tuple(priced)
    return {name: known[name] for name in names if name in known}


def target_of(plan: Plan) -> Mapping[str, float]:
    """Return mg/L of each element that the recipe asks for.

    Raises:
        KeyError: if there is no recipe, or no standard solution of that name.
    """
    recipe = plan.solution.recipe
    if recipe is None:
        raise KeyError("recipe")
    return standard_solutions()[recipe.target].targets_mg_l if isinstance(recipe.target, str) else recipe.target
