"""How long a tank takes to run out and to be filled."""

from __future__ import annotations

import itertools
import math

from scipy.integrate import quad
from scipy.optimize import brentq

from wetfoot.water.lines import (
    LAMINAR_LIMIT,
    M3_S_PER_L_H,
    pipe_loss_m,
    water_density_kg_m3,
    water_viscosity_pa_s,
)
from wetfoot.water.valve import DISCHARGE_COEFFICIENT, full_open_flow_l_h


def drain_h(
    area_m2: float, hole_m: float, from_m: float, to_m: float = 0.0, discharge: float = DISCHARGE_COEFFICIENT
) -> float:
    """Return the hours in which a cylinder drains through a round hole: 2 A (sqrt h1 - sqrt h2)/(Cd a sqrt(2g)).

    Torricelli's law integrated over the falling head (any handbook of hydraulics).

    Args:
        area_m2: area of the water in the tank.
        hole_m: diameter of the hole.
        from_m: head above the hole at the start.
        to_m: head at the end.
        discharge: Cd of the hole.

    Raises:
        ValueError: if a measure is not positive, or the end lies above the start.
    """
    _check(area_m2, hole_m, from_m, to_m)
    per_root = full_open_flow_l_h(hole_m, 1.0, discharge) * 1e-3
    return 2.0 * area_m2 * (math.sqrt(from_m) - math.sqrt(to_m)) / per_root


def head_after_m(
    area_m2: float, hole_m: float, from_m: float, hours: float, discharge: float = DISCHARGE_COEFFICIENT
) -> float:
    """Return the head on a hole after so many hours of draining, 0 once the tank is empty; the inverse of `drain_h`."""
    if hours < 0:
        raise ValueError(f"hours must be >= 0, not {hours}")
    whole = drain_h(area_m2, hole_m, from_m, 0.0, discharge)
    return from_m * max(0.0, 1.0 - hours / whole) ** 2


def drain_through_line_h(
    area_m2: float,
    hole_m: float,
    bore_m: float,
    length_m: float,
    from_m: float,
    to_m: float,
    temperature_c: float = 20.0,
    discharge: float = DISCHARGE_COEFFICIENT,
) -> float:
    """Return the hours in which a cylinder drains through a line with a hole or open valve at its end.

    The head is used up by both: h(Q) = (Q / (Cd a))^2 / (2 g) + line loss (Darcy-Weisbach, laminar below Re 2000).
    With t = A integral of dh/Q, integrated by parts over ln Q so that h(Q) need not be inverted inside.

    Args:
        area_m2: area of the water in the tank.
        hole_m: diameter of the hole or valve seat.
        bore_m, length_m: of the line.
        from_m, to_m: head above the hole at the start and the end; towards no head the flow in the line is laminar
            and the time has no end.
        temperature_c: of the water.
        discharge: Cd of the hole.

    Raises:
        ValueError: as `drain_h`, or if the line has no bore or a negative length.
    """
    _check(area_m2, hole_m, from_m, to_m)
    if bore_m <= 0 or length_m < 0:
        raise ValueError(f"bore_m must be > 0 and length_m >= 0, not {bore_m} and {length_m}")
    if length_m == 0:
        return drain_h(area_m2, hole_m, from_m, to_m, discharge)
    if to_m == 0:
        return math.inf
    per_root = full_open_flow_l_h(hole_m, 1.0, discharge)

    def head(flow_l_h: float) -> float:
        return (flow_l_h / per_root) ** 2 + pipe_loss_m(flow_l_h, bore_m, length_m, temperature_c=temperature_c)

    def flow(head_m: float) -> float:
        most = per_root * math.sqrt(head_m)
        return float(brentq(lambda q: head(q) - head_m, 0.0, most, xtol=1e-12 * most, rtol=1e-14))

    fast, slow = flow(from_m), flow(to_m)
    kink = _laminar_limit_l_h(bore_m, temperature_c)
    parts = [slow, *([kink] if slow < kink < fast else []), fast]
    inner = sum(
        float(quad(lambda x: head(math.exp(x)) * math.exp(-x), math.log(a), math.log(b), epsrel=1e-11)[0])
        for a, b in itertools.pairwise(parts)
    )
    return 1e3 * area_m2 * (from_m / fast - to_m / slow + inner)


def refill_h(
    area_m2: float,
    hole_m: float,
    bore_m: float,
    length_m: float,
    source_m: float,
    from_m: float,
    to_m: float,
    temperature_c: float = 20.0,
) -> float:
    """Return the hours in which a tank is filled from below, from a source that stays at its height.

    The head is the source's height less the level, so it is the draining of that head; the last of it never comes
    through a line.

    Args:
        area_m2: area of the water in the tank that is filled.
        hole_m: diameter of the inlet.
        bore_m, length_m: of the line; length 0 for none.
        source_m: height of the source's water above the tank's floor.
        from_m, to_m: depth in the tank at the start and the end.
        temperature_c: of the water.

    Raises:
        ValueError: if the source lies below the depth to reach, or as `drain_through_line_h`.
    """
    if not 0 <= from_m <= to_m <= source_m:
        raise ValueError(f"from_m, to_m, source_m must rise from 0, not {from_m}, {to_m}, {source_m}")
    heads = source_m - from_m, source_m - to_m
    return drain_through_line_h(area_m2, hole_m, bore_m, length_m, *heads, temperature_c=temperature_c)


def fill_h(litres: float, hose_l_h: float, draw_l_h: float = 0.0) -> float:
    """Return the hours in which a hose fills so many litres while the bench draws; infinite if it draws as much."""
    if litres < 0 or hose_l_h < 0 or draw_l_h < 0:
        raise ValueError(f"litres, hose_l_h, draw_l_h must be >= 0, not {litres}, {hose_l_h}, {draw_l_h}")
    return litres / (hose_l_h - draw_l_h) if hose_l_h > draw_l_h else math.inf


def shortest_stay_h(litres: float, seat_m: float, head_m: float) -> float:
    """Return how long a tank lasts at least whatever breaks behind a float valve: litres over its full-open flow.

    The head is kept as it is at the start, so the true time is longer.
    """
    flow = full_open_flow_l_h(seat_m, head_m)
    return litres / flow if flow > 0 else math.inf


def _check(area_m2: float, hole_m: float, from_m: float, to_m: float) -> None:
    if not (area_m2 > 0 and hole_m > 0):
        raise ValueError(f"area_m2 and hole_m must be > 0, not {area_m2} and {hole_m}")
    if not 0 <= to_m <= from_m:
        raise ValueError(f"to_m must lie between 0 and from_m, not {to_m} with from_m {from_m}")


def _laminar_limit_l_h(bore_m: float, temperature_c: float) -> float:
    """Return the flow at which a tube's flow ceases to be laminar."""
    nu = water_viscosity_pa_s(temperature_c) / water_density_kg_m3(temperature_c)
    return LAMINAR_LIMIT * nu * math.pi * bore_m / 4.0 / M3_S_PER_L_H
