"""How much of stocks A and B into how much water for a target EC, and what EC a strength or a mistake shows.

Equal volumes of the two stocks throughout. EC is not linear in dilution, so every question is solved on the
conductivity model; its error (`EC_ERROR_FRACTION`) is the error of every answer here, and the meter decides.
"""

from __future__ import annotations

from collections.abc import Callable
from math import isfinite
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from wetfoot.solution.conductivity import ec_ms_cm
from wetfoot.solution.salts import Composition, equivalents_meq_l, mix
from wetfoot.solution.speciation import IONIC_STRENGTH_LIMIT_MOL_L, ionic_strength_mol_l

PURE_WATER: Composition = {}

# Shares of cation and anion equivalents in the mean river water of the world, potassium counted as sodium and
# nitrate left out: Livingstone (1963), USGS Professional Paper 440-G (from memory, mg/L: Ca 15, Mg 4.1, Na
# 6.3, K 2.3, HCO3 58.4, SO4 11.2, Cl 7.8), rounded. In mmol per meq of cations.
_RIVER_WATER: Composition = {
    "Ca": 0.53 / 2,
    "Mg": 0.24 / 2,
    "Na": 0.23,
    "HCO3": 0.68,
    "SO4": 0.16 / 2,
    "Cl": 0.16,
}


class OneStockAlone(NamedTuple):
    """EC in mS/cm after stock A alone, stock B alone, or both as intended."""

    only_a_ms_cm: float
    only_b_ms_cm: float
    both_ms_cm: float


def source_water_from_ec(ec: float) -> dict[str, float]:
    """Return an assumed composition of source water whose EC alone is known: an estimate, not an analysis.

    A calcium-magnesium-sodium bicarbonate water in the proportions of mean river water (Livingstone 1963),
    scaled until the model gives this EC. Water near the sea, softened water and rain differ.

    Args:
        ec: EC at 25 C in mS/cm; 0 gives pure water.

    Raises:
        ValueError: if ``ec`` is negative or that of brine.
    """
    _check_amount("ec", ec, "mS/cm")
    if ec == 0.0:
        return dict(PURE_WATER)
    most = IONIC_STRENGTH_LIMIT_MOL_L / ionic_strength_mol_l(_RIVER_WATER)
    if ec > ec_ms_cm(scaled(_RIVER_WATER, most)):
        raise ValueError(f"ec: {ec!r} mS/cm is not that of source water")
    return scaled(_RIVER_WATER, _root(lambda factor: ec_ms_cm(scaled(_RIVER_WATER, factor)) - ec, most))


def scaled(composition: Composition, factor: float) -> dict[str, float]:
    """Return a composition with every amount times a factor: 0.5 is equal parts with pure water."""
    return {name: mmol_l * factor for name, mmol_l in composition.items()}


def feed(strength: float, stock_a: Composition, stock_b: Composition, source: Composition) -> dict[str, float]:
    """Return the composition of a litre with ``strength`` litres of each stock, the rest source water."""
    return mix([(1.0 - 2.0 * strength, source), (strength, stock_a), (strength, stock_b)])


def strength_for_ec(target_ec_ms_cm: float, stock_a: Composition, stock_b: Composition, source: Composition) -> float:
    """Return the litres of each stock in a litre of finished solution.

    Args:
        target_ec_ms_cm: wanted EC at 25 C.
        stock_a: mmol/L in concentrate A.
        stock_b: mmol/L in concentrate B.
        source: mmol/L in the water they go into.

    Returns:
        Litres of A, and the same of B, per litre of solution; 0 to 0.5.

    Raises:
        ValueError: if the target is below the source water's EC, or beyond what the stocks reach.
    """
    _check_amount("target_ec_ms_cm", target_ec_ms_cm, "mS/cm")
    start = ec_ms_cm(source)
    if target_ec_ms_cm < start:
        raise ValueError(
            f"target_ec_ms_cm: {target_ec_ms_cm:g} mS/cm is below the {start:.3g} mS/cm of the water alone"
        )
    most = _most_strength(stock_a, stock_b, source)
    reach = ec_ms_cm(feed(most, stock_a, stock_b, source))
    if target_ec_ms_cm > reach:
        raise ValueError(f"target_ec_ms_cm: {target_ec_ms_cm:g} mS/cm is beyond {reach:.3g} mS/cm, the most here")
    return _root(lambda x: ec_ms_cm(feed(x, stock_a, stock_b, source)) - target_ec_ms_cm, most)


def dose_into_tank(
    volume_l: float,
    present: Composition,
    stock_a: Composition,
    stock_b: Composition,
    target_ec_ms_cm: float,
    source: Composition = PURE_WATER,
) -> float:
    """Return the litres of A, and the same of B, to add to a tank so that it comes to the target EC.

    Args:
        volume_l: what is in the tank now.
        present: its composition, mmol/L.
        stock_a: mmol/L in concentrate A.
        stock_b: mmol/L in concentrate B.
        target_ec_ms_cm: wanted EC at 25 C.
        source: water at hand, for the advice when the tank is too strong already; pure water if not given.

    Raises:
        ValueError: if the tank is above the target (the message says how much water brings it down), or the
            stocks do not reach it.
    """
    _check_volume(volume_l)
    now = ec_ms_cm(present)
    if target_ec_ms_cm < now:
        raise ValueError(
            f"target_ec_ms_cm: the tank has {now:.3g} mS/cm, above the target of {target_ec_ms_cm:g}; "
            + _water_advice(volume_l, present, source, target_ec_ms_cm)
        )
    strength = strength_for_ec(target_ec_ms_cm, stock_a, stock_b, present)
    if strength >= 0.5:
        raise ValueError(f"target_ec_ms_cm: {target_ec_ms_cm:g} mS/cm is that of the undiluted stocks")
    return volume_l * strength / (1.0 - 2.0 * strength)


def _water_advice(volume_l: float, present: Composition, source: Composition, target: float) -> str:
    name = "source water" if source else "pure water"
    try:
        return f"add {dilution_to_target(volume_l, present, source, target):.4g} L of {name} instead"
    except ValueError:
        return f"{name} cannot bring it down"


def dilution_to_target(volume_l: float, present: Composition, source: Composition, target_ec_ms_cm: float) -> float:
    """Return the litres of source water to add to a tank that is too strong.

    Raises:
        ValueError: if the target is not above the source water's EC, or above that of the tank.
    """
    _check_volume(volume_l)
    low, high = ec_ms_cm(source), ec_ms_cm(present)
    if not low < target_ec_ms_cm <= high:
        raise ValueError(
            f"target_ec_ms_cm: {target_ec_ms_cm!r} mS/cm must be above {low:.3g} (source water) "
            f"and not above {high:.3g} (the tank)"
        )
    share = _root(lambda f: ec_ms_cm(mix([(1.0 - f, present), (f, source)])) - target_ec_ms_cm, 1.0)
    if share >= 1.0:
        raise ValueError(f"target_ec_ms_cm: {target_ec_ms_cm!r} mS/cm is that of the source water")
    return volume_l * share / (1.0 - share)


def composition_at_ec(ec: float, stock_a: Composition, stock_b: Composition, source: Composition) -> dict[str, float]:
    """Return the composition taken for a tank of which only the EC is known.

    Source water fed with equal stocks up to this EC; below the source water's EC, that water thinned with rain.

    Args:
        ec: EC at 25 C in mS/cm.
        stock_a: mmol/L in concentrate A.
        stock_b: mmol/L in concentrate B.
        source: mmol/L in the source water.

    Raises:
        ValueError: if ``ec`` is negative or beyond what the stocks reach.
    """
    _check_amount("ec", ec, "mS/cm")
    if ec < ec_ms_cm(source):
        return scaled(source, _root(lambda factor: ec_ms_cm(scaled(source, factor)) - ec, 1.0))
    return feed(strength_for_ec(ec, stock_a, stock_b, source), stock_a, stock_b, source)


def what_one_stock_alone_shows(
    volume_l: float, present: Composition, stock_a: Composition, stock_b: Composition, litres_each: float
) -> OneStockAlone:
    """Return the EC after a dose if only A, or only B, was poured: a common mistake that the meter can show.

    Args:
        volume_l: what is in the tank before the dose.
        present: its composition, mmol/L.
        stock_a: mmol/L in concentrate A.
        stock_b: mmol/L in concentrate B.
        litres_each: the dose of each stock.
    """
    _check_volume(volume_l)
    _check_amount("litres_each", litres_each, "L")
    water, a, b = (volume_l, present), (litres_each, stock_a), (litres_each, stock_b)
    return OneStockAlone(*(ec_ms_cm(mix(parts)) for parts in ([water, a], [water, b], [water, a, b])))


def ec_curve(
    stock_a: Composition,
    stock_b: Composition,
    source: Composition,
    n: int = 129,
    top_ec_ms_cm: float = 12.0,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return EC against strength in meq/L of cations, both rising, for a simulation that tracks meq/L.

    From 0 to the source water the source is diluted with pure water (rain); from there stocks are added, up
    to ``top_ec_ms_cm`` or as far as the stocks reach. The source water is one of the points.

    Args:
        stock_a: mmol/L in concentrate A.
        stock_b: mmol/L in concentrate B.
        source: mmol/L in the water they go into.
        n: points, 16 or more.
        top_ec_ms_cm: where to end; six times a usual feed by default.

    Returns:
        meq/L and EC in mS/cm at 25 C, each of shape (n,).

    Raises:
        ValueError: if the source is above ``top_ec_ms_cm``, or adding stocks does not raise strength and EC.
    """
    if n < 16:
        raise ValueError(f"n: {n!r} points are too few, 16 or more")
    below = n // 8 if equivalents_meq_l(source) > 0 else 0
    top = _top_strength(top_ec_ms_cm, stock_a, stock_b, source)
    rain = [scaled(source, factor) for factor in np.linspace(0.0, 1.0, below, endpoint=False)]
    fed = [feed(x, stock_a, stock_b, source) for x in np.linspace(0.0, top, n - below)]
    meq_l = np.array([equivalents_meq_l(water) for water in rain + fed])
    ec = np.array([ec_ms_cm(water) for water in rain + fed])
    if not (np.all(np.diff(meq_l) > 0) and np.all(np.diff(ec) > 0)):
        raise ValueError("stock_a, stock_b: adding them to this source water does not raise its strength and EC")
    return meq_l, ec


def _top_strength(top_ec: float, stock_a: Composition, stock_b: Composition, source: Composition) -> float:
    most = _most_strength(stock_a, stock_b, source)
    if ec_ms_cm(feed(most, stock_a, stock_b, source)) <= top_ec:
        return most
    return strength_for_ec(top_ec, stock_a, stock_b, source)


def _most_strength(stock_a: Composition, stock_b: Composition, source: Composition) -> float:
    """Return the strength of the undiluted stocks, or where the conductivity model ends."""
    low = ionic_strength_mol_l(source)
    per_litre_each = ionic_strength_mol_l(stock_a) + ionic_strength_mol_l(stock_b) - 2.0 * low
    if low + 0.5 * per_litre_each <= IONIC_STRENGTH_LIMIT_MOL_L:
        return 0.5
    return (IONIC_STRENGTH_LIMIT_MOL_L - low) / per_litre_each


def _root(excess: Callable[[float], float], upper: float) -> float:
    return float(brentq(excess, 0.0, upper, xtol=1e-14 * max(upper, 1.0), rtol=1e-14))


def _check_volume(volume_l: float) -> None:
    if not (isfinite(volume_l) and volume_l > 0):
        raise ValueError(f"volume_l: {volume_l!r} L must be above 0")


def _check_amount(name: str, value: float, unit: str) -> None:
    if not (isfinite(value) and value >= 0):
        raise ValueError(f"{name}: {value!r} {unit} must be 0 or more")
