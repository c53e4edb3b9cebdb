"""Water content and conductivity against suction as one table of cubics: a column costs the same for any medium."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from wetfoot.water.conductivity_curve import WETTEST_SUCTION_M, conductivity_m_d
from wetfoot.water.medium import Medium, water_content

Array = NDArray[np.float64]
Curve = Callable[[Array], Array]

# Pieces double in length with every doubling of suction, from HALVINGS below the unit to DOUBLINGS above it. The piece
# of a suction is found without a logarithm, from the exponent and the leading bits of the number itself (IEEE 754:
# 52 bits of mantissa, bias 1023).
PIECE_BITS = 7
PER_OCTAVE = 2**PIECE_BITS
HALVINGS, DOUBLINGS = 10, 20
PIECE_SHIFT = 52 - PIECE_BITS
PIECE_BELOW = ((1023 - HALVINGS) << PIECE_BITS) - 1  # so that the first piece, from 0 on, is number 0


class Curves(NamedTuple):
    """What a medium holds and lets through, against suction in units of ``unit_m``.

    ``pieces`` has shape (pieces, 9): where the piece begins, then the coefficients of two cubics from there:
    water content as a volume fraction, and conductivity in metres per day.
    """

    pieces: Array
    unit_m: float

    @property
    def driest_m(self) -> float:
        """The suction at which the table ends."""
        return self.unit_m * 2.0**DOUBLINGS

    @property
    def steepest_m(self) -> float:
        """The suction at which water content falls most steeply."""
        slope = self.pieces[:, 2]
        return float(self.pieces[np.argmin(slope), 0]) * self.unit_m


def tabulate_curves(water_content_at: Curve, conductivity_at: Curve, unit_m: float = 0.01) -> Curves:
    """Return the table of two curves, each a function of an array of suctions in metres.

    Interpolates at four points per piece, ends included; a kink of the curves at ``unit_m`` falls between two
    pieces. Below ``unit_m`` / 1024 the curves are taken as straight.

    Raises:
        ValueError: a unit that is not positive, a water content that rises with suction, a conductivity that is not
            positive, or values that are not finite.
    """
    if not (math.isfinite(unit_m) and unit_m > 0.0):
        raise ValueError(f"unit_m must be positive, not {unit_m}")
    octaves = 2.0 ** np.arange(-HALVINGS, DOUBLINGS)[:, None] * (1.0 + np.arange(PER_OCTAVE) / PER_OCTAVE)
    edges = np.concatenate([[0.0], octaves.ravel(), [2.0**DOUBLINGS]])
    thirds = np.arange(4) / 3.0
    width = np.diff(edges)[:, None]
    suction_m = (edges[:-1, None] + width * thirds) * unit_m
    water, conductivity = water_content_at(suction_m), conductivity_at(suction_m)
    _check(water, conductivity)
    to_coefficients = np.linalg.inv(np.vander(thirds, 4, increasing=True)).T
    pieces = np.empty((len(width), 9))
    pieces[:, 0] = edges[:-1]
    for first, values in ((1, water), (5, conductivity)):
        values[0] = values[0, 0] + (values[0, 3] - values[0, 0]) * thirds
        pieces[:, first : first + 4] = values @ to_coefficients / width ** np.arange(4)
    return Curves(pieces, unit_m)


def _check(water: Array, conductivity: Array) -> None:
    if not (np.isfinite(water).all() and np.isfinite(conductivity).all()):
        raise ValueError("water_content_at and conductivity_at must be finite at every suction")
    if (np.diff(water, axis=1) > 1e-14).any():
        raise ValueError("water_content_at must not rise with suction")
    if (conductivity < 0.0).any():
        raise ValueError("conductivity_at must not be negative")


@lru_cache(maxsize=32)
def medium_curves(medium: Medium) -> Curves:
    """Return the table of a medium's own curves (see `medium.water_content` and `conductivity_m_d`)."""
    return tabulate_curves(
        lambda suction_m: water_content(suction_m, medium),
        lambda suction_m: conductivity_m_d(suction_m, medium),
        WETTEST_SUCTION_M / medium.alpha_ratio,
    )


def exponential_curves(residual: float, saturated: float, alpha_per_m: float, saturated_m_d: float) -> Curves:
    """Return the table of a soil whose water content and conductivity both fall as exp(-alpha suction).

    Gardner (1958), Soil Sci. 85:228; with it the equation is linear and has exact solutions (Srivastava & Yeh 1991,
    Water Resour. Res. 27:753), which is what this soil is for.
    """
    return tabulate_curves(
        lambda suction_m: residual + (saturated - residual) * np.exp(-alpha_per_m * suction_m),
        lambda suction_m: saturated_m_d * np.exp(-alpha_per_m * suction_m),
    )


def curve_values(curves: Curves, suction_m: Array) -> tuple[Array, Array]:
    """Return water content and conductivity (metres per day) at suctions in metres; shapes as given."""
    scaled = np.maximum(np.asarray(suction_m, dtype=float) / curves.unit_m, 0.0)
    row = np.clip((scaled.view(np.int64) >> PIECE_SHIFT) - PIECE_BELOW, 0, len(curves.pieces) - 1)
    piece = curves.pieces[row]
    past = scaled - piece[..., 0]
    return _cubic(piece[..., 1:5], past), _cubic(piece[..., 5:9], past)


def _cubic(coefficients: Array, x: Array) -> Array:
    c0, c1, c2, c3 = np.moveaxis(coefficients, -1, 0)
    return np.asarray(c0 + x * (c1 + x * (c2 + x * c3)))
