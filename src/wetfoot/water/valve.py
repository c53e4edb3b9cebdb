"""The float valve that holds a sump's level, and how much it passes from a tank whose level falls."""

from __future__ import annotations

import math
from collections.abc import Sequence

from scipy.optimize import brentq

from wetfoot.water.lines import GRAVITY_M_S2, M3_S_PER_L_H, pipe_loss_m

DISCHARGE_COEFFICIENT = 0.6


def full_open_flow_l_h(seat_m: float, head_m: float, discharge: float = DISCHARGE_COEFFICIENT) -> float:
    """Return the flow through a wide-open valve seat: Cd A sqrt(2 g h), 0 without head.

    Torricelli's law with the coefficient of a sharp-edged orifice, about 0.6 (any handbook of hydraulics).
    """
    if head_m <= 0:
        return 0.0
    area_m2 = math.pi * seat_m**2 / 4.0
    return discharge * area_m2 * math.sqrt(2.0 * GRAVITY_M_S2 * head_m) / M3_S_PER_L_H


def proportional_band_m(seat_m: float, lever_ratio: float) -> float:
    """Return the fall of the float from shut to wide open: lever ratio times a quarter of the seat.

    A disc lifted by a quarter of the seat's diameter passes as much as the seat itself (pi D D/4 = pi D^2/4);
    taking that as wide open is our estimate.
    """
    return lever_ratio * seat_m / 4.0


def closing_shift_m_per_m(seat_m: float, float_diameter_m: float, lever_ratio: float) -> float:
    """Return how far the closing level moves with each metre of supply head: seat area over float area and ratio."""
    return (seat_m / float_diameter_m) ** 2 / lever_ratio


def shared_line_flows_l_h(
    seats_m: Sequence[float], heads_m: Sequence[float], line_bore_m: float, line_length_m: float
) -> list[float]:
    """Return what each wide-open valve passes when all draw through one supply line at once.

    The loss in the line is that of the sum of the flows (Darcy-Weisbach); one unknown, found by bracketing.

    Args:
        seats_m: seat diameters, one a valve.
        heads_m: height of the tank's water above each valve.
        line_bore_m: inside diameter of the supply line.
        line_length_m: its length.
    """

    def flows(loss_m: float) -> list[float]:
        return [full_open_flow_l_h(seat, head - loss_m) for seat, head in zip(seats_m, heads_m, strict=True)]

    most = max(heads_m, default=0.0)
    if most <= 0 or line_length_m == 0:
        return flows(0.0)
    loss = brentq(lambda x: pipe_loss_m(sum(flows(x)), line_bore_m, line_length_m) - x, 0.0, most, xtol=1e-9)
    return flows(float(loss))
