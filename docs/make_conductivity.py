"""Write the tables of docs/conductivity.md from the model and docs/conductances.toml; a test fails when stale."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

from wetfoot.solution.conductivity import ec_at_25, ec_ms_cm
from wetfoot.solution.salts import Composition, equivalents_meq_l, load_species

DOCS = Path(__file__).parent
PUBLISHED: dict[str, Any] = tomllib.loads((DOCS / "conductances.toml").read_text("utf-8"))
TEMPERATURES_C = (10, 15, 20, 30, 35)
PARTS = (1.0, 0.5, 0.25)
# Mean composition of feeds in mmol/L: project handbook, solution.md section 1 (the primary texts are named there).
FEEDS: dict[str, Composition] = {
    "Hoagland & Arnon 1950, no 1": {"K": 6, "Ca": 5, "Mg": 2, "NO3": 15, "H2PO4": 1, "SO4": 2},
    "Hoagland & Arnon 1950, no 2": {"K": 6, "Ca": 4, "Mg": 2, "NH4": 1, "NO3": 14, "H2PO4": 1, "SO4": 2},
    "Steiner 1984": {"K": 7, "Ca": 4.5, "Mg": 2, "NO3": 12, "H2PO4": 1, "SO4": 3.5},
}


def diluted(feed: Composition, part: float) -> dict[str, float]:
    """Return a composition at a part of its strength."""
    return {ion: mmol_l * part for ion, mmol_l in feed.items()}


def computed(salt: dict[str, Any], normal: float) -> float:
    """Return the model's equivalent conductance in S cm2/eq at eq/L of a salt."""
    return ec_ms_cm(diluted(salt["ions"], 1000.0 * normal)) / normal


def ions(salt: str) -> Composition:
    """Return the moles of each ion in an equivalent of a salt."""
    return next(row["ions"] for row in PUBLISHED["salt"] if row["name"] == salt)


def linear_error(salt: str, temperature_c: float, normal: float = 0.02) -> float:
    """Return the relative error at 25 C of a reading taken at another temperature and brought there linearly."""
    divalent = any(abs(load_species()[ion].charge) == 2 for ion in ions(salt))
    moles = normal / (2.0 if divalent else 1.0)
    there, here = (_measured(salt, t, moles / 0.997) for t in (temperature_c, 25.0))
    return ec_at_25(there, temperature_c) / here - 1.0


def _measured(salt: str, temperature_c: float, molal: float) -> float:
    limit, fall, b = PUBLISHED["temperature"][salt]
    root = molal**0.5
    lowered = [c2 * temperature_c**2 + c1 * temperature_c + c0 for c2, c1, c0 in (limit, fall)]
    return float(lowered[0] - lowered[1] * root / (1.0 + b * root))


def salts_table() -> str:
    """Return a row for each salt and concentration: published, computed, error, source."""
    head = "| salt | eq/L | published | computed | error | use | source |\n|---|---|---|---|---|---|---|"
    rows = [
        f"| {salt['name']} | {normal:g} | {published:.2f} | {computed(salt, normal):.2f} "
        f"| {computed(salt, normal) / published - 1:+.1%} | {salt['use']} | {salt['source']} |"
        for salt in PUBLISHED["salt"]
        for normal, published in salt["rows"]
    ]
    return "\n".join([head, *rows])


def feeds_table() -> str:
    """Return the EC of the standard feeds at full, half and quarter strength."""
    head = "| solution | cations, meq/L | EC full, mS/cm | half | quarter |\n|---|---|---|---|---|"
    rows = [
        f"| {name} | {equivalents_meq_l(feed):g} | "
        + " | ".join(f"{ec_ms_cm(diluted(feed, part)):.2f}" for part in PARTS)
        + " |"
        for name, feed in FEEDS.items()
    ]
    return "\n".join([head, *rows])


def temperature_table() -> str:
    """Return the error of linear compensation at 0.02 eq/L by salt and temperature."""
    head = "| salt | " + " | ".join(f"{t} °C" for t in TEMPERATURES_C) + " |\n|---|" + "---|" * len(TEMPERATURES_C)
    rows = [
        f"| {salt} | " + " | ".join(f"{linear_error(salt, t):+.1%}" for t in TEMPERATURES_C) + " |"
        for salt in PUBLISHED["temperature"]
    ]
    return "\n".join([head, *rows])


def page() -> str:
    """Return docs/conductivity.md with fresh tables between its marks."""
    text = (DOCS / "conductivity.md").read_text("utf-8")
    for mark, table in (("salts", salts_table()), ("feeds", feeds_table()), ("temperature", temperature_table())):
        start, end = f"<!-- {mark}: generated -->\n", "<!-- end -->"
        before, _, rest = text.partition(start)
        text = before + start + table + "\n" + end + rest.partition(end)[2]
    return text


if __name__ == "__main__":
    (DOCS / "conductivity.md").write_text(page(), "utf-8")
