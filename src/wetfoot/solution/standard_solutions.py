"""Published standard solutions: the salts they are made of, and the element levels that these give."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any, NamedTuple

from wetfoot.solution.salts import composition_mmol_l, elements_mg_l, load_salts

TARGETS = ("NO3-N", "NH4-N", "P", "K", "Ca", "Mg", "S", "Fe", "Mn", "Zn", "Cu", "B", "Mo")
"""What a standard solution sets levels for; sodium and chloride come as they come."""


class Standard(NamedTuple):
    """A standard solution: grams of each salt in a litre at full strength, and mg/L of each of `TARGETS`."""

    name: str
    grams_per_litre: Mapping[str, float]
    targets_mg_l: Mapping[str, float]
    source: str


@cache
def standard_solutions() -> Mapping[str, Standard]:
    """Return the standard solutions that are built in, by name."""
    rows = tomllib.loads(files("wetfoot.solution").joinpath("standard_solutions.toml").read_text("utf-8"))
    return MappingProxyType({name: _standard(name, row) for name, row in rows.items()})


def _standard(name: str, row: Mapping[str, Any]) -> Standard:
    grams = {salt: mmol * load_salts()[salt].molar_mass_g_mol / 1000.0 for salt, mmol in row["mmol_l"].items()}
    for salt, (element, mg_l) in row["trace_mg_l"].items():
        grams[salt] = mg_l / elements_mg_l(composition_mmol_l({salt: 1.0}))[element]
    found = elements_mg_l(composition_mmol_l(grams))
    targets = {element: found[element] for element in TARGETS}
    return Standard(name, MappingProxyType(grams), MappingProxyType(targets), row["source"])
