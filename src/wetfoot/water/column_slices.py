"""The medium of a nest cut into slices: what the transient column steps through."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import sqrt
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from wetfoot.water.nest import NestShape
from wetfoot.water.nest_column import root_share_above, section_function

Array = NDArray[np.float64]

CELLS = 110


class SlicedColumn(NamedTuple):
    """A column in slices, one around each node from the foot (first) to the top (last).

    Attributes:
        height_m: of the nodes. Falling heights make a column that is fed from its upper end.
        volume_m3: of the slices, half way to the next node.
        link_m: 1 / integral of dz / A between neighbouring nodes.
        root_share: share of the roots in each slice, 1 in all (or 0 throughout).
    """

    height_m: Array
    volume_m3: Array
    link_m: Array
    root_share: Array

    @property
    def rise_m(self) -> Array:
        """Height from each node to the next."""
        return np.diff(self.height_m)


def slice_column(
    section_m2: Callable[[float], float],
    ends_m: Sequence[float],
    cells: int = CELLS,
    root_share_above_m: Callable[[float], float] | None = None,
) -> SlicedColumn:
    """Return a column cut into equal intervals.

    Args:
        section_m2: cross-section by height, smooth between the ends.
        ends_m: foot, heights at which the section jumps, top: rising. Each part has its share of the intervals.
        cells: intervals in all, at least one per part.
        root_share_above_m: share of the roots above a height; None for a column without roots.

    Raises:
        ValueError: naming the argument and the value.
    """
    parts = np.diff(np.asarray(ends_m, dtype=float))
    if len(parts) == 0 or not (np.isfinite(parts).all() and (parts > 0.0).all()):
        raise ValueError(f"ends_m must be at least two rising heights, not {tuple(ends_m)}")
    if cells < 2 * len(parts):
        raise ValueError(f"cells must be at least {2 * len(parts)}, not {cells}")
    counts = np.maximum(np.rint(cells * parts / parts.sum()).astype(int), 1)
    pieces = [np.linspace(a, b, n + 1)[:-1] for a, b, n in zip(ends_m[:-1], ends_m[1:], counts, strict=True)]
    height = np.append(np.concatenate(pieces), ends_m[-1])
    middle = 0.5 * (height[1:] + height[:-1])
    section = np.vectorize(section_m2, otypes=[float])
    lower, upper = _integral(section, height[:-1], middle), _integral(section, middle, height[1:])
    if not (np.isfinite(lower + upper).all() and min(lower.min(), upper.min()) > 0.0):
        raise ValueError("section_m2 must be positive between the ends")
    volume = np.append(lower, 0.0) + np.append(0.0, upper)
    link = 1.0 / _integral(lambda z: 1.0 / section(z), height[:-1], height[1:])
    edges = np.concatenate([height[:1], middle, height[-1:]])
    above = np.zeros(len(edges)) if root_share_above_m is None else np.array([root_share_above_m(z) for z in edges])
    return SlicedColumn(height, volume, link, above[:-1] - above[1:])


def slice_nest(nest: NestShape, root_depth_m: float = 0.10, cells: int = CELLS) -> SlicedColumn:
    """Return the medium of a nest in slices, its roots spread evenly by volume over the top ``root_depth_m``."""
    crown = [nest.dome.height_m] if nest.dome else []
    ends = [0.0, *crown, nest.fill_height_m]
    return slice_column(section_function(nest), ends, cells, root_share_above(nest, root_depth_m))


def _integral(function: Callable[[Array], Array], low: Array, high: Array) -> Array:
    """Return integrals by Gauss' rule of three points, exact for polynomials up to the fifth degree."""
    half, middle = 0.5 * (high - low), 0.5 * (high + low)
    off = sqrt(0.6) * half
    return half * (5.0 * function(middle - off) + 8.0 * function(middle) + 5.0 * function(middle + off)) / 9.0
