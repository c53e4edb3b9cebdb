"""The sheet for the mixing table: stocks in the order to dissolve, dose, meter, labels for the barrels."""

from __future__ import annotations

from collections.abc import Mapping
from hashlib import sha256

from wetfoot.answers.dossier import Dossier
from wetfoot.answers.solution import BATCH_L, element_rows
from wetfoot.drawing.qr import qr_drawing
from wetfoot.plan.feeds import products_of
from wetfoot.plan.model import Plan
from wetfoot.quantities import LITRES_PER_GALLON, System, convert, mass_kind, number_text, show
from wetfoot.sheets.press import LONGEST_HEAD, Sheet, short
from wetfoot.sheets.summary import number_named
from wetfoot.solution.conductivity import EC_ERROR_FRACTION
from wetfoot.solution.dissolving import Step, dissolving_order

BESIDE = ("Salts and acids", "Drinking water")  # the cautions that stand beside the mixing
NEED = ("solution for the first filling", "stock A, and as much of B, in the season")
LEAST_OUNCES = 0.1  # below it grams are weighed
SMALLEST_WEIGHED_G = 1.0  # what a kitchen scale still tells: common practice, no source
LEAST_TOLD_G_L = 1.0  # in a QR code: with more in it phones would not read it off a barrel
FIRST_FILL = 2.0 / 3.0  # of the barrel, before the salts: common practice, no source


def mixing(dossier: Dossier) -> Sheet:
    """Return the sheet for the mixing table."""
    plan, mix, system = dossier.plan, dossier.mix, dossier.plan.units
    solution = plan.solution
    target, highest = solution.target_ec_ms_cm, solution.ec_high_ms_cm
    parts = {"A": solution.stock_a, "B": solution.stock_b}
    steps = {name: dissolving_order(stock, products_of(solution)) for name, stock in parts.items()}
    amounts = [grams for stock in parts.values() for grams in stock.values() if grams > 0]
    barrel = show(solution.barrel_l, "volume", system)
    says = {
        "barrel": barrel,
        "stocks": [
            {"name": f"Stock {name}", "salts": stock_rows(steps[name], parts[name], solution.barrel_l, system)}
            for name in parts
        ],
        "reasons": _reasons([*steps["A"], *steps["B"]]),
        "ounces": system == "US",
        "order": [*_order(solution.barrel_l, system), *_small_amounts(min(amounts) * solution.barrel_l)],
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
        "labels": [
            {
                "stock": name,
                "batch": batch_code(plan, name),
                "told": f"1 part and as much of the other to {number_text(1.0 / mix.strength - 2.0)} parts of water",
                "barrel": barrel,
            }
            for name in parts
        ],
    }  # fmt: skip
    codes = {f"label {name}": qr_drawing(label_text(plan, name, stock)) for name, stock in parts.items()}
    return Sheet("mixing.typ", "Mixing sheet", says, codes)


def _order(barrel_l: float, system: System) -> tuple[str, ...]:
    """Return the steps of making up a barrel; common practice, no source, where the reasons are not chemistry."""
    first, all_of_it = show(barrel_l * FIRST_FILL, "volume", system), show(barrel_l, "volume", system)
    return (
        f"A plastic barrel for each stock, with a mark at {all_of_it}. Fill in {first} of clean water, lukewarm if you "
        "can.",
        "Weigh each salt twice. Add them in the order of the table, the next only when the last is gone; tick it off. "
        "Calcium nitrate and potassium nitrate make the water cold: give it time.",
        "Dissolve each salt of less than an ounce (28 g) in a cup of warm water first, and pour that in.",
        f"Fill up with water to the mark of {all_of_it}, stir, close. Stick the label on with date and name; keep it "
        "dark, cool and locked.",
        "Into the tank: water first, then A, stir, then B, stir. Wait, measure EC, and only then correct.",
    )


def stock_rows(steps: tuple[Step, ...], stock: Mapping[str, float], barrel_l: float, system: System) -> list[list[str]]:
    """Return the salts of a stock in the order to dissolve: place, name, g/L, g a barrel and, in US units, oz."""
    found = []
    for place, step in enumerate(steps, start=1):
        grams = stock[step.name]
        ounces = float(convert(grams * barrel_l / 1000.0, "small_mass", "US"))
        in_us = [number_text(ounces) if ounces >= LEAST_OUNCES else ""] if system == "US" else []
        found.append([f"{place}", step.name, number_text(grams), number_text(grams * barrel_l), *in_us])
    return found


def _reasons(steps: list[Step]) -> list[list[str]]:
    """Return each reason once, with the salts that it is about, in the order of dissolving."""
    found: dict[str, list[str]] = {}
    for step in steps:
        if step.name not in found.setdefault(step.reason, []):
            found[step.reason].append(step.name)
    return [[", ".join(names), reason] for reason, names in found.items()]


def batch_code(plan: Plan, stock: str) -> str:
    """Return the code of what a stock is made of: the same salts in the same barrel have the same code."""
    salts = plan.solution.stock_a if stock == "A" else plan.solution.stock_b
    said = repr((stock, sorted(salts.items()), plan.solution.barrel_l))
    return f"{stock}-{sha256(said.encode()).hexdigest()[:6].upper()}"


def label_text(plan: Plan, stock: str, salts: Mapping[str, float]) -> str:
    """Return what the QR code of a barrel says: which stock of which plan, and what is in a litre of it."""
    main = [f"{name} {number_text(grams)} g/L" for name, grams in salts.items() if grams >= LEAST_TOLD_G_L]
    more = ", traces" if len(main) < len(salts) else ""
    return f"Stock {stock} {batch_code(plan, stock)}, {short(plan.title, LONGEST_HEAD)}: {', '.join(main)}{more}"[:300]


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
        f"use {take} of that; throw nothing of the rest away, it keeps."
    ]
