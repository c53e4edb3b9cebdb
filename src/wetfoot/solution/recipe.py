"""Grams of salts for target levels: bounded least squares, the cheapest of what fits equally well."""

from __future__ import annotations

from collections.abc import Mapping
from math import isfinite

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog, nnls

from wetfoot.solution.salts import (
    ELEMENTS,
    NITROGEN_FORMS,
    Composition,
    Salt,
    composition_mmol_l,
    elements_mg_l,
    load_salts,
)

Array = NDArray[np.float64]

NONE_WANTED_MG_L = 10.0
"""What counts as much as missing a level altogether, of an element of which none is wanted: our choice, no source."""

_TRACE = 1e-7  # of what a salt brings at most, over the target: rounding of the solver


def grams_for_targets(
    target_mg_l: Mapping[str, float],
    brought: Composition,
    shelf: Mapping[str, Salt],
    price_per_kg: Mapping[str, float],
    weights: Mapping[str, float],
) -> dict[str, float]:
    """Return grams of each salt in a litre of working solution.

    Minimises the weighted squares of (reached - target) / target over masses >= 0; forms of nitrogen are measured
    against all the nitrogen that is asked for. Levels of the best fit are unique, masses need not be: of those that
    reach them, the cheapest is taken (the lightest without prices).

    Args:
        target_mg_l: by element or form of nitrogen.
        brought: what the water brings, mmol/L.
        shelf: salts by name.
        price_per_kg: by salt; salts without one are taken to cost the dearest.
        weights: by element.

    Raises:
        ValueError: for bad input, and for elements that nothing on the shelf supplies, with what would.
    """
    _check(target_mg_l, shelf, price_per_kg, weights)
    water = elements_mg_l(brought)
    _check_supply(target_mg_l, water, shelf)
    wanted, names = list(target_mg_l), list(shelf)
    brings = [elements_mg_l(composition_mmol_l({name: 1.0}, shelf)) for name in names]
    scale = np.array([weights.get(e, 1.0) / _scale_mg_l(e, target_mg_l) for e in wanted])
    matrix = scale[:, None] * np.array([[row[e] for row in brings] for e in wanted])
    gap = scale * np.array([target_mg_l[e] - water[e] for e in wanted])
    useful = matrix.any(axis=0)
    matrix, names = matrix[:, useful], [name for name, used in zip(names, useful, strict=True) if used]
    size = np.linalg.norm(matrix, axis=0)
    fitted, _ = nnls(matrix / size, gap, maxiter=50 * len(names))
    best = _cheapest(matrix / size, fitted, _cost_per_gram(names, price_per_kg) / size)
    return {name: float(x / s) for name, x, s in zip(names, best, size, strict=True) if x > _TRACE}


def _cheapest(matrix: Array, fitted: Array, cost: Array) -> Array:
    """Return the cheapest amounts that give what the fitted ones give, polished on the salts that it picks."""
    levels = matrix @ fitted
    found = linprog(cost / cost.max(), A_eq=matrix, b_eq=levels, bounds=(0.0, None), method="highs")
    if found.status != 0 or found.x is None:
        return fitted
    picked = np.asarray(found.x, dtype=float) > _TRACE
    exact = np.zeros_like(fitted)
    if picked.any():
        exact[picked], _ = nnls(matrix[:, picked], levels, maxiter=50 * matrix.shape[1])
    return exact if np.abs(matrix @ exact - levels).max() < 1e-8 else fitted


def _cost_per_gram(names: list[str], price_per_kg: Mapping[str, float]) -> Array:
    dearest = max((price_per_kg[name] for name in names if name in price_per_kg), default=1.0)
    least = 1e-6 * dearest if dearest > 0.0 else 1.0  # what is free is still not to be wasted
    return np.array([max(price_per_kg.get(name, dearest), least) for name in names])


def _scale_mg_l(element: str, target_mg_l: Mapping[str, float]) -> float:
    if element in NITROGEN_FORMS:
        nitrogen = sum(target_mg_l.get(form, 0.0) for form in NITROGEN_FORMS)
        return max(nitrogen, target_mg_l.get("N", 0.0)) or NONE_WANTED_MG_L
    return target_mg_l[element] or NONE_WANTED_MG_L


def _check(
    target_mg_l: Mapping[str, float],
    shelf: Mapping[str, Salt],
    price_per_kg: Mapping[str, float],
    weights: Mapping[str, float],
) -> None:
    known = (*ELEMENTS, *NITROGEN_FORMS)
    problems = [f"target_mg_l: {e!r} is not one of {', '.join(known)}" for e in target_mg_l if e not in known]
    for name, table in (("target_mg_l", target_mg_l), ("price_per_kg", price_per_kg), ("weights", weights)):
        wrong = [(key, value) for key, value in table.items() if not (isfinite(value) and value >= 0.0)]
        problems += [f"{name}: {value!r} for {key} is not 0 or more" for key, value in wrong]
    if not any(value > 0.0 for value in target_mg_l.values()):
        problems.append("target_mg_l: asks for nothing")
    if not shelf:
        problems.append("shelf: holds no salt")
    if any(weight == 0.0 for weight in weights.values()):
        problems.append("weights: must be above 0; leave an element out of the targets instead")
    if problems:
        raise ValueError("; ".join(problems))


def _check_supply(target_mg_l: Mapping[str, float], water: Mapping[str, float], shelf: Mapping[str, Salt]) -> None:
    missing = [
        f"{e} {target:g} mg/L: no salt on the shelf holds {e}; {_suppliers(e)} would"
        for e, target in target_mg_l.items()
        if target > water[e] and not any(_holds(salt, e) for salt in shelf.values())
    ]
    if missing:
        raise ValueError("shelf: " + "; ".join(missing))


def _holds(salt: Salt, element: str) -> bool:
    return elements_mg_l(salt.releases)[element] > 0.0


def _suppliers(element: str) -> str:
    return ", ".join(name for name, salt in load_salts().items() if _holds(salt, element))
