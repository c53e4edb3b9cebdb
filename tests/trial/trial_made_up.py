"""Invented trials that several tests lay out."""

from typing import Any

from wetfoot.trial.designs import Layout, draw
from wetfoot.trial.recipe import Factor, Recipe

GUTTER = Factor("gutter", ("no", "yes"), "boards")
PIECES = Factor("pieces", ("1", "2", "3", "4"))
POT = Factor("pot", ("std", "air"))


def recipe(*factors: Factor, **changes: Any) -> Recipe:
    return Recipe(
        **{"factors": factors or (GUTTER, PIECES, POT), "blocks": 4, "seed": "invented", "year": 2021, **changes}
    )


def layout(*factors: Factor, **changes: Any) -> Layout:
    return draw(recipe(*factors, **changes))
