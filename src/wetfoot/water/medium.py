"""Water retention of growing media (van Genuchten 1980), and the library of media that come with the program."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import hyp2f1

CM_WATER_PER_KPA = 10.1972


@dataclass(frozen=True)
class Medium:
    """A growing medium: retention parameters, and conductivity at 1 kPa with where it comes from.

    ``residual`` and ``saturated`` are volume fractions; ``alpha_per_m`` and ``n`` are van Genuchten's.
    """

    name: str
    residual: float
    saturated: float
    alpha_per_m: float
    n: float
    k1_cm_d: float
    source: str


@cache
def load_media() -> Mapping[str, Medium]:
    """Return the media that come with the program, by name."""
    raw = tomllib.loads(files("wetfoot.water").joinpath("media.toml").read_text("utf-8"))
    return MappingProxyType(
        {
            name: Medium(
                name,
                row["tr"],
                row["ts"],
                row["alpha_per_cm"] * 100.0,
                row["n"],
                row["k1_cm_d"],
                row["source"],
            )
            for name, row in raw.items()
        }
    )


def saturation(suction_m: ArrayLike, medium: Medium) -> NDArray[np.float64]:
    """Return the effective saturation Se (0 to 1) at a suction in metres of water (0 below the water line).

    van Genuchten (1980), Soil Sci. Soc. Am. J. 44:892, eq. 3, with m = 1 - 1/n.
    """
    suction = np.maximum(np.asarray(suction_m, dtype=float), 0.0)
    m = 1.0 - 1.0 / medium.n
    return np.asarray((1.0 + (medium.alpha_per_m * suction) ** medium.n) ** -m)


def water_content(suction_m: ArrayLike, medium: Medium) -> NDArray[np.float64]:
    """Return the volume fraction of water at a suction in metres of water."""
    return medium.residual + (medium.saturated - medium.residual) * saturation(suction_m, medium)


def saturation_moments_m(height_m: ArrayLike, medium: Medium) -> NDArray[np.float64]:
    """Return the integrals of y^k Se(y) from 0 to ``height_m``, for k = 0, 1, 2; shape (3, ...).

    Closed form by Gauss's hypergeometric function: y^(k+1)/(k+1) 2F1(m, (k+1)/n; 1 + (k+1)/n; -(alpha y)^n),
    the Euler integral (DLMF 15.6.1) after the substitution t = (y'/y)^n.
    """
    y = np.asarray(height_m, dtype=float)
    m = 1.0 - 1.0 / medium.n
    argument = -((medium.alpha_per_m * y) ** medium.n)
    return np.stack(
        [y ** (k + 1) / (k + 1) * hyp2f1(m, (k + 1) / medium.n, 1 + (k + 1) / medium.n, argument) for k in range(3)]
    )
