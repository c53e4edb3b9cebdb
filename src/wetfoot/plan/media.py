"""The growing media of a plan: those that come with the program, and the user's own, fitted to their tables."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

from wetfoot.plan.model import Nest, OwnMedium, Plan
from wetfoot.water.fitting import Fit, fit_medium
from wetfoot.water.medium import Medium, as_wetted, load_media


def media_of(plan: Plan) -> Mapping[str, Medium]:
    """Return the media that the plan may name, each as it drains."""
    return {**load_media(), **{name: own_fit(name, own).medium for name, own in plan.media.items()}}


def nest_medium(plan: Plan, nest: Nest) -> Medium:
    """Return the medium of a nest as it holds water after the way in which it was wetted."""
    return as_wetted(media_of(plan)[nest.medium], nest.wetting)


@lru_cache(maxsize=64)
def own_fit(name: str, own: OwnMedium) -> Fit:
    """Return the curve fitted to the user's table, with its residuals and errors.

    Raises:
        ValueError: naming every row of the table that cannot be (the plan's checks tell them before).
    """
    return fit_medium(name, own.suction_kpa, own.water, own.k1_cm_d, k1_source=own.source)
