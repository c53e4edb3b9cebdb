"""What is impossible in a plan's stocks: unknown salts, wrong labels, what would settle out, a small barrel."""

from __future__ import annotations

from collections.abc import Iterator

from wetfoot.errors import Problem
from wetfoot.plan.bench_checks import choice, known
from wetfoot.plan.feeds import feeds_of, products_of
from wetfoot.plan.model import Plan, Solution
from wetfoot.quantities import show
from wetfoot.solution.dose import strength_for_ec
from wetfoot.solution.labels import salt_from_label
from wetfoot.solution.salts import load_salts
from wetfoot.solution.standard_solutions import standard_solutions
from wetfoot.solution.stock_checks import check_stocks

LEAST_FOLD, MOST_FOLD = 3.0, 1000.0


def stock_problems(plan: Plan) -> Iterator[Problem]:
    """Yield everything that makes a plan's stocks impossible, also of a plan that could only be read in part."""
    solution = plan.solution
    found = [*_products(solution), *_recipe(plan), *_names(solution, "stock_a"), *_names(solution, "stock_b")]
    yield from found
    if found or not _all_known(solution):
        return
    try:
        feeds = feeds_of(solution)
    except ValueError:
        return  # the source water's analysis, which has a check of its own
    try:
        strength = strength_for_ec(solution.target_ec_ms_cm, feeds.stock_a, feeds.stock_b, feeds.source)
    except ValueError as error:
        fix = "make the stocks stronger (100 times the working strength is common) or lower the band"
        yield Problem("solution", str(error), "a band that the two stocks reach", fix)
        return
    yield from _settling(solution, strength)
    yield from _barrel(plan, strength)


def _products(solution: Solution) -> Iterator[Problem]:
    for name, label in (solution.products or {}).items():
        where = f"solution.products.{name}"
        if name in load_salts():
            yield Problem(where, f"{name!r} is a salt that comes with the program", "a name of its own", "rename it")
            continue
        try:
            salt_from_label(name, {key: 100.0 * share for key, share in label.items()})
        except ValueError as error:
            allowed = "percent of mass as the label prints them, with the forms of nitrogen"
            yield Problem(where, str(error).removeprefix("label: "), allowed, "copy the label once more")


def _names(solution: Solution, stock: str) -> Iterator[Problem]:
    salts: dict[str, float] | None = getattr(solution, stock)
    there = [*load_salts(), *(solution.products or {})]
    yield from (choice(f"solution.{stock}.{name}", name, there) for name in salts or {} if name not in there)
    if salts == {}:
        fix = "write the grams of each salt per litre"
        yield Problem(f"solution.{stock}", "the stock is empty", "at least one salt", fix)


def _recipe(plan: Plan) -> Iterator[Problem]:
    recipe = plan.solution.recipe
    if recipe is None:
        return
    if isinstance(recipe.target, str) and recipe.target not in standard_solutions():
        yield choice("solution.recipe.target", recipe.target, list(standard_solutions()))
    there = [*load_salts(), *(plan.solution.products or {})]
    yield from (choice("solution.recipe.shelf", name, there) for name in recipe.shelf or () if name not in there)


def _all_known(solution: Solution) -> bool:
    salts = {**(solution.stock_a or {}), **(solution.stock_b or {})}
    source, low, high = solution.source_ec_ms_cm, solution.ec_low_ms_cm, solution.ec_high_ms_cm
    if not known(source, low, high, *salts.values()) or not solution.stock_a or not solution.stock_b:
        return False
    return source < low < high


def _settling(solution: Solution, strength: float) -> Iterator[Problem]:
    """Yield what would settle out of a concentrate at the coldest night, with the salts to part."""
    if strength <= 0 or not LEAST_FOLD <= 1.0 / strength <= MOST_FOLD or not known(solution.coldest_c):
        return
    report = check_stocks(
        solution.stock_a,
        solution.stock_b,
        feeds_of(solution).source,
        max(solution.coldest_c, 0.0),
        fold=1.0 / strength,
        products=products_of(solution),
    )
    for refusal in report.refusals:
        where = {"stock A": "solution.stock_a", "stock B": "solution.stock_b"}.get(refusal.where, "solution")
        if len(refusal.part) > 1:
            allowed = "calcium salts in one stock, sulfates and phosphates in the other"
            fix = "keep apart: " + " from ".join(", ".join(group) for group in refusal.part)
        else:
            allowed = f"what stays dissolved at {show(refusal.at_c, 'temperature')}"
            fix = "make the stock weaker, or keep it warmer"
        yield Problem(where, refusal.what, allowed, fix)


def _barrel(plan: Plan, strength: float) -> Iterator[Problem]:
    if not known(plan.solution.barrel_l, plan.tank.volume_l):
        return
    dose_l, system = strength * plan.tank.volume_l, plan.units or "metric"
    if dose_l > plan.solution.barrel_l:
        yield Problem(
            "solution.barrel",
            f"a full tank takes {show(dose_l, 'volume', system)} of each stock, the barrel holds "
            f"{show(plan.solution.barrel_l, 'volume', system)}",
            f"{show(dose_l, 'volume', system)} or more",
            "take a larger barrel, or make the stocks stronger",
        )
