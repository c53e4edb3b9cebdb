"""What to mix: how much of each stock for a fill or a refill, what it gives, and what the season needs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wetfoot.answers.trace import Answer, Number, State
from wetfoot.answers.water import SPREAD, in_ten
from wetfoot.plan.feeds import feeds_of
from wetfoot.plan.model import Plan
from wetfoot.quantities import LITRES_PER_GALLON, System, mass_kind, number_text, show, volume_kind
from wetfoot.season.ensemble import Ensemble
from wetfoot.season.feed import ELEMENTS
from wetfoot.solution.conductivity import EC_ERROR_FRACTION
from wetfoot.solution.dose import feed, strength_for_ec, what_one_stock_alone_shows
from wetfoot.solution.salts import elements_mg_l

EC_SOURCE = (
    "ion pairs (critical constants of NIST 46) and conductivity of ion mixtures (Onsager & Fuoss 1932); source water "
    f"by its analysis, or a usual one of its EC; good to about {100 * EC_ERROR_FRACTION:.0f} %, so the meter decides"
)

SALT_SOURCE = "salts followed ion by ion; uptake not in the ratio of supply (estimates, docs/season.md)"
BATCH_L: dict[System, float] = {"metric": 100.0, "US": 25.0 * LITRES_PER_GALLON}  # a drum to mix in: 100 L, or 25 gal


@dataclass(frozen=True)
class Mix:
    """The working solution and what goes into it.

    Attributes:
        strength: litres of stock A, and the same of B, in a litre of solution.
        elements_mg_l: what the working solution holds.
        only_a_ms_cm: EC if only A had been poured, a mistake that the meter shows; ``only_b_ms_cm`` likewise.
        first_fill_l: solution to fill every nest to its level and to wet the medium.
        stock_l: litres of each stock for the season: middle, low, high.
        salts_kg: kilograms of each salt for the season, in the middle run.
    """

    strength: float
    elements_mg_l: Mapping[str, float]
    only_a_ms_cm: float
    only_b_ms_cm: float
    first_fill_l: float
    stock_l: tuple[float, float, float]
    salts_kg: Mapping[str, float]
    answer: Answer


def mix(plan: Plan, ensemble: Ensemble) -> Mix:
    """Return what to mix for the plan's band of EC (that the stocks reach it is checked with the plan)."""
    solution = plan.solution
    source, stock_a, stock_b = feeds_of(solution)
    target = solution.target_ec_ms_cm
    strength = strength_for_ec(target, stock_a, stock_b, source)
    working = feed(strength, stock_a, stock_b, source)
    alone = what_one_stock_alone_shows(1.0 - 2.0 * strength, source, stock_a, stock_b, strength)
    first_fill = float((ensemble.expected.bench.set_l * ensemble.expected.bench.pots).sum()) + plan.tank.volume_l
    stock_l = [value + first_fill * strength for value in in_ten(ensemble.totals.stock_l)]
    salts = {
        name: sum(stock.get(name, 0.0) for stock in (solution.stock_a, solution.stock_b)) * stock_l[0] / 1000.0
        for name in sorted({*solution.stock_a, *solution.stock_b})
    }
    return Mix(
        strength,
        elements_mg_l(working),
        alone.only_a_ms_cm,
        alone.only_b_ms_cm,
        first_fill,
        (stock_l[0], stock_l[1], stock_l[2]),
        salts,
        _answer(plan, ensemble, strength, first_fill, stock_l),
    )


def _answer(plan: Plan, ensemble: Ensemble, strength: float, first_fill: float, stock_l: list[float]) -> Answer:
    system, target = plan.units, plan.solution.target_ec_ms_cm
    low_days = ensemble.totals.ec_low_days.max(axis=1)
    high_days = ensemble.totals.ec_high_days.max(axis=1)
    share_off = float(np.median(low_days + high_days)) / plan.crop.tops_cut_d
    state: State = "yes" if share_off < 0.1 else "watch" if share_off < 0.5 else "no"
    dose = show(strength * plan.tank.volume_l, "volume", system)
    batch_l = BATCH_L[system]
    in_batch = volume_kind(strength * batch_l, system)
    low_middle, high_middle = np.median(low_days), np.median(high_days)
    return Answer(
        "What do I mix, and does the EC hold?",
        state,
        f"{dose} of stock A and as much of stock B in a full tank give {show(target, 'conductivity')}. "
        f"In the pots the solution is below the band on {low_middle:.0f} days of the season in the middle run, "
        f"mostly after rain, and above it on {high_middle:.0f}.",
        (
            Number("stock A, and as much of B, for a full tank", strength * plan.tank.volume_l,
                   f"for {show(target, 'conductivity')}, the middle of the band", EC_SOURCE, kind="volume"),
            Number(f"stock A, and as much of B, per {show(batch_l, 'volume', system)}", strength * batch_l, "the same",
                   EC_SOURCE, kind=in_batch),
            Number("solution for the first filling", first_fill, "tank, free solution and wetted medium of every pot",
                   "nest geometry and retention curve", kind="volume"),
            Number("stock A, and as much of B, in the season", stock_l[0], "first filling, refills at every visit, "
                   "feeding of rained-out banks", f"season simulation; {SPREAD}", kind="volume", low=stock_l[1],
                   high=stock_l[2]),
            *_dissolved(ensemble),
            _days("days below the band", low_days),
            _days("days above the band", high_days),
        ),
    )  # fmt: skip


def _dissolved(ensemble: Ensemble) -> list[Number]:
    """Return what the crop takes, what runs to the ground, and what gathers in the pots."""
    totals, last = ensemble.totals, ensemble.elements_mg_l.values[:, -1]
    taken, lost = (ensemble.element_g(each) / 1000.0 for each in (totals.taken_up_mmol, totals.overflow_mmol))
    found = []
    for element in ("N", "P", "K"):
        at = ELEMENTS.index(element)
        for name, kg in ((f"{element} taken up by the bench", taken), (f"{element} lost by overflow", lost)):
            middle, low, high = in_ten(kg[:, at])
            found.append(Number(name, middle, "whole bench, season", f"{SALT_SOURCE}; {SPREAD}",
                                kind=mass_kind(middle), low=low, high=high))  # fmt: skip
    for element in ("Na", "Cl"):
        low, middle, high = (float(each) for each in last[:, :, ELEMENTS.index(element)].max(axis=1))
        found.append(Number(f"{element} in the pots at the end", middle, "free solution of the bank with most",
                            f"{SALT_SOURCE}; {SPREAD}", kind="concentration", low=low, high=high))  # fmt: skip
    return found


def _days(name: str, values: NDArray[np.float64]) -> Number:
    middle, low, high = in_ten(values)
    how = "end of day, free solution of the bank that is furthest out, while the supply is open"
    return Number(name, middle, how, f"season simulation; {SPREAD}", unit="days", low=low, high=high)


def element_rows(found: Mapping[str, float]) -> list[tuple[str, str]]:
    """Return the elements of a solution in mg/L, as rows to print, those that matter."""
    return [(name, f"{number_text(value)} mg/L") for name, value in found.items() if value >= 0.005]
