"""Water retention of growing media (van Genuchten 1980), their wetting history, and the library of media."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Literal, get_args

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import hyp2f1

CM_WATER_PER_KPA = 10.1972

WettingHistory = Literal["wetted from above once", "never wetted", "dried out once"]
WETTING_HISTORIES: tuple[WettingHistory, ...] = get_args(WettingHistory)
WETTING_ALPHA_RATIO = 2.0  # alpha of the wetting branch over that of the drying branch


@dataclass(frozen=True)
class Medium:
    """A growing medium: retention parameters, and conductivity at 1 kPa, each with where it comes from.

    Attributes:
        residual, saturated: water content as volume fractions.
        alpha_per_m, n: van Genuchten's parameters of the branch the medium is on.
        k1_cm_d: conductivity at 1 kPa on the drying branch.
        source: where the retention comes from.
        k1_factor: ``k1_cm_d`` may be this many times smaller or larger.
        k1_source: where the conductivity comes from.
        alpha_ratio: alpha over that of the drying branch: 1 on the drying branch.
    """

    name: str
    residual: float
    saturated: float
    alpha_per_m: float
    n: float
    k1_cm_d: float
    source: str
    k1_factor: float = 3.0
    k1_source: str = "estimate"
    alpha_ratio: float = 1.0

    @property
    def k1_range_cm_d(self) -> tuple[float, float]:
        """The least and the largest conductivity at 1 kPa that the medium may have."""
        return self.k1_cm_d / self.k1_factor, self.k1_cm_d * self.k1_factor


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
                row["k1_factor"],
                row["k1_source"],
            )
            for name, row in raw.items()
        }
    )


def wetting_branch(medium: Medium) -> Medium:
    """Return the medium as it is when water only ever came from below: alpha doubled, K(theta) kept.

    A proposal: alpha about twice that of the drying branch (Kool & Parker 1987, Water Resour. Res. 23:105, for soils,
    from memory); no measurement of potting media stands behind it.

    Raises:
        ValueError: the medium is on its wetting branch already.
    """
    if medium.alpha_ratio != 1.0:
        raise ValueError(f"medium {medium.name!r} is on its wetting branch already")
    return replace(medium, alpha_per_m=medium.alpha_per_m * WETTING_ALPHA_RATIO, alpha_ratio=WETTING_ALPHA_RATIO)


def as_wetted(medium: Medium, history: WettingHistory) -> Medium:
    """Return the medium on the branch that its wetting history leaves it on.

    Wetted from above once: the drying branch. Never wetted, or dried out once: the wetting branch, the cautious
    end of the curves in between (a proposal, see `wetting_branch`).

    Raises:
        ValueError: a history that is not one of `WETTING_HISTORIES`.
    """
    if history not in WETTING_HISTORIES:
        raise ValueError(f"history must be one of {', '.join(map(repr, WETTING_HISTORIES))}, not {history!r}")
    return medium if history == "wetted from above once" else wetting_branch(medium)


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


def suction_of_saturation_m(effective_saturation: float, medium: Medium) -> float:
    """Return the suction in metres of water at an effective saturation (above 0, to 1): the inverse of `saturation`."""
    if not 0.0 < effective_saturation <= 1.0:
        raise ValueError(f"effective_saturation must be above 0 and at most 1, not {effective_saturation}")
    m = 1.0 - 1.0 / medium.n
    return float((effective_saturation ** (-1.0 / m) - 1.0) ** (1.0 / medium.n) / medium.alpha_per_m)


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
