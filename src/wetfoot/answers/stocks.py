"""What to weigh for the two stocks: worked out from target levels, source water, shelf and coldest night."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from wetfoot import __version__
from wetfoot.answers.solution import EC_SOURCE
from wetfoot.answers.trace import Answer, Number, State
from wetfoot.errors import Problem, WetfootError, refuse
from wetfoot.plan import history
from wetfoot.plan.feeds import products_of, shelf_of, source_of, target_of
from wetfoot.plan.file import changed_text, plan_from_text, plan_path, read_plan_text
from wetfoot.plan.model import Plan, Recipe
from wetfoot.quantities import number_text, show
from wetfoot.solution.conductivity import EC_ERROR_FRACTION
from wetfoot.solution.salts import load_salts
from wetfoot.solution.standard_solutions import standard_solutions
from wetfoot.solution.stocks import StockDesign, design_stocks

RECIPE_SOURCE = (
    "bounded least squares on relative deviations, source water counted; salts by formula or label (CIAAW weights)"
)
CLEAR_SOURCE = "Pitzer activities and published solubilities, checked at the coldest night and at 25 °C"
CLOSE_FRACTION = 0.05
QUESTION = "What do I weigh for the two stocks?"


@dataclass(frozen=True)
class Stocks:
    """The two stocks that were worked out.

    Attributes:
        plan: what they were worked out for.
        design: grams per litre, levels reached, checks.
        target_name: the standard solution, or 'your own levels'.
        answer: the words and numbers.
    """

    plan: Plan
    design: StockDesign
    target_name: str
    answer: Answer

    def rows(self) -> list[list[str]]:
        """Return each salt to weigh as a row: stock, salt, grams a litre, grams for the plan's barrel."""
        barrel = self.plan.solution.barrel_l
        parts = (("A", self.design.stock_a_g_l), ("B", self.design.stock_b_g_l))
        return [
            [stock, name, f"{number_text(grams)} g/L", f"{number_text(grams * barrel)} g"]
            for stock, salts in parts
            for name, grams in sorted(salts.items(), key=lambda item: -item[1])
        ]

    def record(self) -> dict[str, Any]:
        """Return the stocks for machines: answer, units, trace, warnings."""
        design, system = self.design, self.plan.units
        amounts = {
            "stock_a_g_l": dict(design.stock_a_g_l),
            "stock_b_g_l": dict(design.stock_b_g_l),
            "fold": design.fold,
            "max_fold": design.max_fold,
            "target_mg_l": dict(design.target_mg_l),
            "reached_mg_l": dict(design.report.reached_mg_l),
            "ec_ms_cm": design.report.ec_ms_cm,
            "cost_per_m3": design.cost_per_m3,
        }
        trace = {"plan": self.plan.title, "target": self.target_name, "wetfoot": __version__}
        answer = {**self.answer.record(system), **amounts}
        return {"answer": answer, "units": system, "trace": trace, "warnings": list(self.answer.warnings)}


def stocks(plan: Plan, target: str = "", fold: float | None = None) -> Stocks:
    """Return the stocks for the plan's recipe, its source water and its shelf.

    Args:
        plan: the plan.
        target: a standard solution instead of the recipe's target.
        fold: litres that a litre of each stock makes, instead of the recipe's.

    Raises:
        WetfootError: without a recipe, for elements that nothing on the shelf supplies, and for stocks that would not
            stay dissolved, with the salts to part.
    """
    recipe = plan.solution.recipe or Recipe(target=target or "")
    if target:
        recipe = recipe.model_copy(update={"target": target})
    if fold is not None:
        recipe = recipe.model_copy(update={"fold": fold})
    planned = plan.model_copy(update={"solution": plan.solution.model_copy(update={"recipe": recipe})})
    shelf = shelf_of(planned)
    if not shelf:
        fix = "name the salts you have under solution.recipe.shelf, or give them a price under costs.salts_per_kg"
        raise refuse("solution.recipe.shelf", "there is nothing on the shelf", "names of salts", fix)
    try:
        levels = target_of(planned)
    except KeyError:
        allowed = f"{', '.join(standard_solutions())}, or levels in mg/L under solution.recipe"
        what = f"no standard solution is called {recipe.target!r}" if recipe.target else "the plan has no recipe"
        raise refuse("--target", what, allowed, "name one") from None
    try:
        design = design_stocks(
            levels,
            source_of(plan.solution),
            shelf,
            recipe.fold,
            coldest_c=max(plan.solution.coldest_c, 0.0),
            price_per_kg=plan.costs.salts_per_kg,
        )
    except ValueError as error:
        fix = "put such a salt on the shelf, or take the element out of the target"
        raise refuse("solution.recipe", str(error), "levels that the shelf can supply", fix) from error
    _refuse_what_settles(planned, design)
    name = recipe.target if isinstance(recipe.target, str) else "your own levels"
    return Stocks(planned, design, name, _answer(planned, design, name))


def _refuse_what_settles(plan: Plan, design: StockDesign) -> None:
    if not design.report.refusals:
        return
    weaker = (
        f"at most {number_text(design.max_fold, 2)}-fold stays dissolved" if design.max_fold >= 3 else "part the salts"
    )
    raise WetfootError(
        [
            Problem(
                f"{refusal.where} at {design.fold:g}-fold",
                refusal.what,
                f"what stays dissolved at {show(plan.solution.coldest_c, 'temperature', plan.units)}",
                "keep apart: " + " from ".join(", ".join(group) for group in refusal.part)
                if len(refusal.part) > 1
                else weaker,
            )
            for refusal in design.report.refusals
        ]
    )


def _answer(plan: Plan, design: StockDesign, name: str) -> Answer:
    system, report, costs = plan.units, design.report, plan.costs
    off = {element: each for element, each in design.deviation.items() if abs(each) > CLOSE_FRACTION}
    state: State = "watch" if off else "yes"
    barrel = show(plan.solution.barrel_l, "volume", system)
    strongest = f"{number_text(design.max_fold, 2)}-fold"
    words = (
        f"For {name} at {design.fold:g}-fold, in barrels of {barrel}: a litre of each stock makes {design.fold:g} "
        f"litres of {show(report.ec_ms_cm, 'conductivity')}. Both stay dissolved at "
        f"{show(plan.solution.coldest_c, 'temperature', system)}; up to {strongest} would."
    )
    if off:
        words += " Off the target by more than 5 %: " + ", ".join(f"{e} {100 * d:+.0f} %" for e, d in off.items()) + "."
    numbers = [
        Number("EC at working strength", report.ec_ms_cm, "both stocks in the source water", EC_SOURCE,
               kind="conductivity", low=report.ec_ms_cm * (1 - EC_ERROR_FRACTION),
               high=report.ec_ms_cm * (1 + EC_ERROR_FRACTION)),
        Number("strength", report.cations_meq_l, "sum of cations, as of anions", RECIPE_SOURCE, unit="meq/L"),
        Number("strongest that stays dissolved", design.max_fold, "both stocks at the coldest night", CLEAR_SOURCE,
               unit="fold"),
        Number("pH above which phosphate or lime falls out", report.ph_limit, "working solution at 25 °C", CLEAR_SOURCE,
               unit="pH"),
        *_levels(design),
    ]  # fmt: skip
    if report.n_to_k is not None:
        numbers.append(Number("nitrogen to potassium", report.n_to_k, "by mass", RECIPE_SOURCE, unit="to 1"))
    if design.cost_per_m3 is not None:
        cost = design.cost_per_m3
        numbers.append(
            Number("cost of 1,000 L of solution", cost, "prices of the plan", RECIPE_SOURCE, unit=costs.currency)
        )
    cloudy = [f"{each.what[0].upper()}{each.what[1:]}: with this water the stock turns cloudy; rain water, or acid "
              "first, prevents it." for each in report.cloudy]  # fmt: skip
    return Answer(QUESTION, state, words, tuple(numbers), (*cloudy, *_assumed(plan, design)))


def _levels(design: StockDesign) -> list[Number]:
    """Return each element with its target; the forms of nitrogen beside it."""
    found = []
    for element, reached in design.report.reached_mg_l.items():
        target = design.target_mg_l.get(element)
        if reached < 0.0005 and not target:
            continue
        how = (
            "source water alone or with the salts of others" if target is None else f"target {number_text(target)} mg/L"
        )
        found.append(Number(element, reached, how, RECIPE_SOURCE, kind="concentration"))
    return found


def _assumed(plan: Plan, design: StockDesign) -> tuple[str, ...]:
    """Return what had to be assumed about blends by their label."""
    known = {**load_salts(), **products_of(plan.solution)}
    return tuple(f"{name}: {known[name].note}." for name in design.grams_per_litre if name in plan.solution.products)


def write_stocks(found: Stocks, folder: Path) -> Path:
    """Put the stocks into the plan's file in place of those that stand there, and return the file.

    What stood there before is kept, and the plan's page can put it back.

    Raises:
        WetfootError: if the plan cannot be built with them.
    """
    path = plan_path(folder)
    text = changed_text(
        read_plan_text(folder),
        {
            "solution.stock_a": _in_plan(found.design.stock_a_g_l),
            "solution.stock_b": _in_plan(found.design.stock_b_g_l),
        },
    )
    plan_from_text(text, path.parent)
    history.save(folder, text)
    return path


def _in_plan(grams: Mapping[str, float]) -> dict[str, str]:
    return {name: f"{value:.4g} g/L" for name, value in grams.items()}
