"""Loss of head in tubes that water runs through by gravity, and the level that it leaves in each pot of a bank."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

GRAVITY_M_S2 = 9.80665
M3_S_PER_L_H = 1.0e-3 / 3600.0
LAMINAR_LIMIT = 2000.0


def water_density_kg_m3(temperature_c: float) -> float:
    """Return the density of water between 0 and 40 C.

    Tanaka et al. 2001, Metrologia 38:301, eq. 1.
    """
    t = temperature_c
    return 999.974950 * (1.0 - (t - 3.983035) ** 2 * (t + 301.797) / (522528.9 * (t + 69.34881)))


def water_viscosity_pa_s(temperature_c: float) -> float:
    """Return the dynamic viscosity of water between 0 and 40 C.

    Kestin, Sokolov & Wakeham 1978, J. Phys. Chem. Ref. Data 7:941, with 1.002 mPa s at 20 C.
    """
    x = 20.0 - temperature_c
    exponent = x / (temperature_c + 96.0) * (1.2364 - 1.37e-3 * x + 5.7e-6 * x**2)
    return 1.002e-3 * math.pow(10.0, exponent)


def laminar_loss_m_per_l_h(bore_m: float, length_m: float, temperature_c: float = 20.0) -> float:
    """Return the head lost per litre an hour in a tube with laminar flow.

    Hagen-Poiseuille: h = 128 mu L Q / (pi rho g D^4). Holds below a Reynolds number of about 2000.

    Raises:
        ValueError: if the bore is not positive or the length is negative.
    """
    if bore_m <= 0 or length_m < 0:
        raise ValueError(f"bore_m must be > 0 and length_m >= 0, not {bore_m} and {length_m}")
    mu_over_rho_g = water_viscosity_pa_s(temperature_c) / (water_density_kg_m3(temperature_c) * GRAVITY_M_S2)
    return 128.0 * mu_over_rho_g * length_m * M3_S_PER_L_H / (math.pi * bore_m**4)


def churchill_friction_factor(reynolds: float, relative_roughness: float) -> float:
    """Return the Darcy friction factor for any Reynolds number above 0.

    64/Re below 2000; above, Churchill 1977, Chem. Eng. 84(24):91.
    """
    if reynolds < LAMINAR_LIMIT:
        return 64.0 / reynolds
    a = (2.457 * math.log(1.0 / ((7.0 / reynolds) ** 0.9 + 0.27 * relative_roughness))) ** 16
    b = (37530.0 / reynolds) ** 16
    return float(8.0 * ((8.0 / reynolds) ** 12 + (a + b) ** -1.5) ** (1.0 / 12.0))


def pipe_loss_m(
    flow_l_h: float, bore_m: float, length_m: float, roughness_m: float = 1.5e-6, temperature_c: float = 20.0
) -> float:
    """Return the head lost in a full pipe: Darcy-Weisbach, f L v^2 / (2 g D).

    The default roughness is that of drawn plastic tube (0.0015 mm, from memory, any handbook of hydraulics).
    """
    if flow_l_h <= 0 or length_m == 0:
        return 0.0
    velocity = flow_l_h * M3_S_PER_L_H / (math.pi * bore_m**2 / 4.0)
    nu = water_viscosity_pa_s(temperature_c) / water_density_kg_m3(temperature_c)
    f = churchill_friction_factor(velocity * bore_m / nu, roughness_m / bore_m)
    return f * length_m / bore_m * velocity**2 / (2.0 * GRAVITY_M_S2)


def bank_loss_m_per_l_h(
    pots: int,
    lateral_bore_m: float,
    lateral_length_m: float,
    microtube_bore_m: float,
    microtube_length_m: float,
    temperature_c: float = 20.0,
) -> NDArray[np.float64]:
    """Return, for each pot from the sump outwards, the head lost per litre an hour drawn by every pot alike.

    Pots evenly spaced along the lateral, laminar flow throughout: between pot i-1 and pot i the lateral carries
    the draw of all pots from i on, so that the far pot loses R L (M + 1) / 2 in the lateral (superposition of
    Hagen-Poiseuille losses). Shape (pots,).

    Raises:
        ValueError: if there is no pot, or as `laminar_loss_m_per_l_h`.
    """
    if pots < 1:
        raise ValueError(f"pots must be at least 1, not {pots}")
    reach = laminar_loss_m_per_l_h(lateral_bore_m, lateral_length_m / pots, temperature_c)
    tube = laminar_loss_m_per_l_h(microtube_bore_m, microtube_length_m, temperature_c)
    carried = np.arange(pots, 0, -1)
    return np.asarray(tube + reach * np.cumsum(carried), dtype=float)
