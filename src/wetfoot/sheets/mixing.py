"""The sheet for the mixing table: the two stocks, the dose, what the meter shows, the season's need."""

from __future__ import annotations

from collections.abc import Mapping

from wetfoot.answers.dossier import Dossier
from wetfoot.answers.solution import BATCH_L, element_rows
from wetfoot.quantities import LITRES_PER_GALLON, System, convert, mass_kind, number_text, show
from wetfoot.sheets.press import Sheet
from wetfoot.sheets.summary import number_named
from wetfoot.solution.conductivity import EC_ERROR_FRACTION

BESIDE = ("Salts and acids", "Drinking water")  # the cautions that stand beside the mixing
NEED = ("solution for the first filling", "stock A, and as much of B, in the season")
LEAST_OUNCES = 0.1  # below it grams are weighed
SMALLEST_WEIGHED_G = 1.0  # what a kitchen scale still tells: common practice, no source

# Common practice, no source: calcium stays away from sulfate and phosphate, and small amounts do not get lost.
ORDER = (
    "Use clean water, lukewarm if you can, and a plastic barrel for each stock. Fill it to two thirds.",
    "Add the salts in the order of the table, the next one only when the last is gone. Calcium nitrate makes the "
    "water cold: give it time.",
    "Dissolve each salt of less than an ounce (28 g) in a cup of warm water first, and pour that in.",
    "Fill up with water to the mark, stir, close. Label it A or B with the date; keep it dark, cool and locked.",
    "Into the tank: water first, then A, stir, then B, stir. Wait, measure EC, and only then correct.",
)


def mixing(dossier: Dossier) -> Sheet:
    """Return the sheet for the mixing table."""
    plan, mix, system = dossier.plan, dossier.mix, dossier.plan.units
    solution = plan.solution
    target, highest = solution.target_ec_ms_cm, solution.ec_high_ms_cm
    amounts = [grams for stock in (solution.stock_a, solution.stock_b) for grams in stock.values() if grams > 0]
    says = {
        "barrel": f"{number_text(barrel_l(system) / LITRES_PER_GALLON)} gal" if system == "US" else "10 L",
        "stocks": [
            {"name": "Stock A", "salts": stock_rows(solution.stock_a, system)},
            {"name": "Stock B", "salts": stock_rows(solution.stock_b, system)},
        ],
        "ounces": system == "US",
        "order": [*ORDER, *_small_amounts(min(amounts) * barrel_l(system) if amounts else SMALLEST_WEIGHED_G)],
        "doses": dose_rows(mix.strength, plan.tank.volume_l, system),
        "meter": [
            ["to keep in tank and pots", f"{number_text(solution.ec_low_ms_cm)} to {show(highest, 'conductivity')}"],
            ["tank, both stocks in", f"{show(target, 'conductivity')}, give or take {100 * EC_ERROR_FRACTION:.0f} %"],
            ["if only A went in", show(mix.only_a_ms_cm, "conductivity")],
            ["if only B went in", show(mix.only_b_ms_cm, "conductivity")],
            ["the water before feed", show(solution.source_ec_ms_cm, "conductivity")],
        ],
        "elements": [list(row) for row in element_rows(mix.elements_mg_l)],
        "need": [[name, number_named(mix.answer, name).text(system)] for name in NEED],
        "salts": [[name, show(kg, mass_kind(kg, system), system)] for name, kg in mix.salts_kg.items()],
        "cautions": [[each.title, each.words] for each in dossier.cautions if each.title in BESIDE],
    }  # fmt: skip
    return Sheet("mixing.typ", "Mixing sheet", says)


def barrel_l(system: System) -> float:
    """Return the litres of the barrel that a stock is made up in: 10 L, or 2.5 US gallons."""
    return 2.5 * LITRES_PER_GALLON if system == "US" else 10.0


def stock_rows(stock: Mapping[str, float], system: System) -> list[list[str]]:
    """Return the salts of a stock in the order of weighing: place, name, g/L, g a barrel and, in US units, oz."""
    found = []
    for place, (name, grams) in enumerate(sorted(stock.items(), key=lambda item: -item[1]), start=1):
        barrel_g = grams * barrel_l(system)
        ounces = float(convert(barrel_g / 1000.0, "small_mass", "US"))
        in_us = [number_text(ounces) if ounces >= LEAST_OUNCES else ""] if system == "US" else []
        found.append([f"{place}", name, number_text(grams), number_text(barrel_g), *in_us])
    return found


def dose_rows(strength: float, tank_l: float, system: System) -> list[list[str]]:
    """Return how much solution is made, and how much of each stock goes into it; the full tank last."""
    step_l = BATCH_L[system]
    made = [step_l * times for times in (0.1, 0.5, 1, 2, 3, 5, 7.5, 10) if step_l * times < 0.99 * tank_l]
    doses = [[show(litres, "volume", system), _dose(strength * litres, system)] for litres in made]
    return [*doses, [f"full tank, {show(tank_l, 'volume', system)}", _dose(strength * tank_l, system)]]


def _dose(litres: float, system: System) -> str:
    """Return a dose as it is measured: in millilitres or fluid ounces, large ones in litres or gallons too."""
    small = show(litres, "small_volume", system)
    large = LITRES_PER_GALLON if system == "US" else 1.0
    return small if litres < large else f"{show(litres, 'volume', system)} ({small})"


def _small_amounts(least_g: float) -> list[str]:
    if least_g >= SMALLEST_WEIGHED_G:
        return []
    times = 10 if least_g >= SMALLEST_WEIGHED_G / 10.0 else 100
    take = {10: "100 mL", 100: "10 mL"}[times]
    return [
        f"What is too little for your scale: weigh {times} times as much into 1 L of warm water, let it dissolve, and "
        f"use {take} of that."
    ]
