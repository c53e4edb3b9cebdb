"""The two stocks: what to weigh for target levels, which barrel it goes into, and whether it stays dissolved.

Calcium and iron chelates go into stock A, sulfates, phosphates, carbonates, borates and molybdates into B; what neither
calcium precipitates nor precipitates calcium (nitrates, chlorides, urea) goes where it stays dissolved in the cold.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite, sqrt
from types import MappingProxyType

from scipy.optimize import brentq

from wetfoot.solution.recipe import grams_for_targets
from wetfoot.solution.salts import Composition, Salt, composition_mmol_l, mix
from wetfoot.solution.stock_checks import PH_WORKING, StockReport, check_stocks, worst_margin

Grams = Mapping[str, float]

CALCIUM_PARTNERS = frozenset({"SO4", "H2PO4", "HPO4", "CO3", "HCO3", "MoO4", "B(OH)3", "B(OH)4"})
"""Ions that calcium throws down in a concentrate, boric acid with them since raising pH makes it borate."""

CHELATES = frozenset({"FeEDTA", "FeDTPA", "FeEDDHA"})
_STRONGEST = 1000.0
_WEAKEST = 3.0
_SHARE_TOLERANCE = 0.01
_EASE = 0.1  # room to spare, in log10, before a salt is kept whole in one barrel


@dataclass(frozen=True)
class StockDesign:
    """What to weigh, in grams per litre of each stock, and what it comes to.

    Attributes:
        grams_per_litre: of each salt in a litre of working solution.
        stock_a_g_l: grams of each salt in a litre of stock A.
        stock_b_g_l: the same of stock B.
        fold: a litre of each stock makes this many litres.
        target_mg_l: what was asked for.
        deviation: (reached - target) / target by element; absolute mg/L where the target is 0.
        max_fold: highest fold at which both stocks stay clear; 0 if none does, `_STRONGEST` at most.
        cost_per_m3: of working solution, in the unit of the prices; None unless every salt used has one.
        report: what the checks found; ``report.refusals`` is empty if the stocks can be made.
    """

    grams_per_litre: Grams
    stock_a_g_l: Grams
    stock_b_g_l: Grams
    fold: float
    target_mg_l: Mapping[str, float]
    deviation: Mapping[str, float]
    max_fold: float
    cost_per_m3: float | None
    report: StockReport


def barrel_of(salt: Salt) -> str:
    """Return the stock a salt belongs to by its ions: "A", "B", "either", or "neither" if it holds both sides.

    >>> from wetfoot.solution.salts import load_salts
    >>> [barrel_of(load_salts()[name]) for name in ("calcium nitrate tetrahydrate", "boric acid", "urea")]
    ['A', 'B', 'either']
    """
    ions = {ion for ion, moles in salt.releases.items() if moles > 0.0}
    with_calcium, against = "Ca" in ions, bool(ions & CALCIUM_PARTNERS)
    if with_calcium and against:
        return "neither"
    if with_calcium or (ions & CHELATES and not against):
        return "A"
    return "B" if against else "either"


def design_stocks(
    target_mg_l: Mapping[str, float],
    source: Composition,
    shelf: Mapping[str, Salt],
    fold: float,
    *,
    coldest_c: float = 5.0,
    price_per_kg: Mapping[str, float] = MappingProxyType({}),
    weights: Mapping[str, float] = MappingProxyType({}),
    stock_water: Composition | None = None,
    ph: float = PH_WORKING,
) -> StockDesign:
    """Return the stocks that come closest to target levels with what is on the shelf.

    Args:
        target_mg_l: mg/L in the working solution by element ("N" in all, or by its forms); elements that are not named
            are free. 0 asks for none.
        source: the water's composition in mmol/L; {} for rain.
        shelf: salts at hand by name; the only ones used.
        fold: a litre of each stock makes this many litres: from 3 to 1000.
        coldest_c: coldest night of the stocks, 0 to 40.
        price_per_kg: by salt; decides between recipes that reach the same levels (mass decides without).
        weights: of elements' relative deviations; 1 where not given.
        stock_water: what the stocks are made up with, if not the same water.
        ph: at which the working solution is checked.

    Raises:
        ValueError: for bad input, and for elements that nothing on the shelf supplies, with what would.
    """
    _check_number("fold", fold, _WEAKEST, _STRONGEST)
    _check_number("coldest_c", coldest_c, 0.0, 40.0)
    if unfit := [name for name, salt in shelf.items() if barrel_of(salt) == "neither"]:
        raise ValueError(f"shelf: {', '.join(unfit)} hold calcium beside sulfate or phosphate: fit for no concentrate")
    water = dict(source) if stock_water is None else dict(stock_water)
    brought = mix([(fold - 2.0, source), (2.0, water)])
    grams = grams_for_targets(target_mg_l, brought, shelf, price_per_kg, weights)
    parts = split(grams, shelf, water, fold, coldest_c)
    report = check_stocks(*parts, source, coldest_c, fold=fold, products=shelf, stock_water=stock_water, ph=ph)
    deviation = {
        e: report.reached_mg_l[e] / t - 1.0 if t > 0.0 else report.reached_mg_l[e] for e, t in target_mg_l.items()
    }
    strongest = max_fold(grams, shelf, water, coldest_c)
    return StockDesign(grams, *parts, fold, dict(target_mg_l), deviation, strongest, _cost(grams, price_per_kg), report)


def split(
    grams: Grams, shelf: Mapping[str, Salt], water: Composition, fold: float, coldest_c: float
) -> tuple[dict[str, float], dict[str, float]]:
    """Return grams per litre of stock A and of stock B.

    Salts that may go into either are kept whole in A if that leaves room to spare, else whole in B, else parted so that
    both barrels are equally far from saturation at the coldest night.

    Args:
        grams: of each salt in a litre of working solution.
        shelf: the salts by name.
        water: what the stocks are made up with.
        fold: a litre of each stock makes this many litres.
        coldest_c: coldest night.
    """
    return _parts(grams, shelf, fold, _share_in_a(grams, shelf, water, fold, coldest_c)[0])


def _parts(
    grams: Grams, shelf: Mapping[str, Salt], fold: float, share: float
) -> tuple[dict[str, float], dict[str, float]]:
    into_a = {n: {"A": 1.0, "B": 0.0, "either": share}[barrel_of(shelf[n])] for n in grams}
    a = {n: fold * g * into_a[n] for n, g in grams.items() if into_a[n] > 0.0}
    b = {n: fold * g * (1.0 - into_a[n]) for n, g in grams.items() if into_a[n] < 1.0}
    return a, b


def _share_in_a(
    grams: Grams, shelf: Mapping[str, Salt], water: Composition, fold: float, coldest_c: float
) -> tuple[float, float]:
    """Return the share in A of salts that may go into either, and the margin of the worse barrel then."""

    def margins(share: float) -> tuple[float, float]:
        a, b = (worst_margin(stock, shelf, water, coldest_c) for stock in _parts(grams, shelf, fold, share))
        return a, b

    in_a = margins(1.0)
    if max(in_a) < -_EASE or in_a[0] <= in_a[1] or all(barrel_of(shelf[n]) != "either" for n in grams):
        return 1.0, max(in_a)
    in_b = margins(0.0)
    if max(in_b) < -_EASE or in_b[0] >= in_b[1]:
        return 0.0, max(in_b)
    share = float(brentq(lambda x: margins(x)[0] - margins(x)[1], 0.0, 1.0, xtol=_SHARE_TOLERANCE))
    return share, max(margins(share))


def max_fold(grams: Grams, shelf: Mapping[str, Salt], water: Composition, coldest_c: float) -> float:
    """Return the highest fold at which both stocks stay clear, to 1 %; 0 if none from 3, at most 1000.

    Args: as `split`.
    """

    def margin(fold: float) -> float:
        return _share_in_a(grams, shelf, water, fold, coldest_c)[1]

    low, high = _WEAKEST, _STRONGEST
    if margin(low) > 0.0:
        return 0.0
    if margin(high) <= 0.0:
        return high
    while high > 1.01 * low:
        middle = sqrt(low * high)
        low, high = (middle, high) if margin(middle) <= 0.0 else (low, middle)
    return low


def _cost(grams: Grams, price_per_kg: Mapping[str, float]) -> float | None:
    if not grams or any(name not in price_per_kg for name in grams):
        return None
    return sum(g * price_per_kg[name] for name, g in grams.items())  # g/L are kg/m3


def _check_number(name: str, value: float, low: float, high: float) -> None:
    if not (isfinite(value) and low <= value <= high):
        raise ValueError(f"{name}: {value!r} is not between {low:g} and {high:g}")


def compositions_mmol_l(design: StockDesign, shelf: Mapping[str, Salt]) -> tuple[dict[str, float], dict[str, float]]:
    """Return what the salts of stocks A and B dissolve into, in mmol/L, their water left out."""
    return composition_mmol_l(design.stock_a_g_l, shelf), composition_mmol_l(design.stock_b_g_l, shelf)
