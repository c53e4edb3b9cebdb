"""How much acid brings the source water to a pH: information with its cautions, not a recipe."""

from __future__ import annotations

from wetfoot.answers.trace import Answer, Number
from wetfoot.errors import refuse
from wetfoot.plan.feeds import source_of
from wetfoot.plan.model import Plan
from wetfoot.quantities import number_text
from wetfoot.solution.acids import ACIDS, acid_dose
from wetfoot.solution.alkalinity import acid_need_meq_l
from wetfoot.solution.conductivity import ec_ms_cm
from wetfoot.solution.salts import load_species

ACID_SOURCE = (
    "carbonate equilibrium with activity coefficients (Plummer & Busenberg 1982); densities of the acids from "
    "handbooks, from memory; closed: acid stirred in; open: after days in air"
)
CAUTIONS = (
    "Acid into water, never water into acid. Goggles, gloves, apron, and water at hand to rinse with. Never together "
    "with hypochlorite (bleach): it gives off chlorine.",
    "Measure the alkalinity first (a kit will do), dose by halves, stir, measure pH, and stop early: stocks lower pH "
    "too. Local rules and the product's label come first.",
)


def acid(plan: Plan, target_ph: float = 6.0, water_ph: float = 7.8) -> Answer:
    """Return what of each acid 1,000 L of the source water would take.

    Args:
        plan: the plan; its water's analysis, or a usual water of its EC.
        target_ph: the pH that is wanted.
        water_ph: the pH of the water as it comes.

    Raises:
        WetfootError: for a pH that cannot be asked for.
    """
    source = source_of(plan.solution)
    charges = {"HCO3": 1.0, "CO3": 2.0, "OH": 1.0}
    alkalinity = sum(source.get(name, 0.0) * each for name, each in charges.items())
    strength = sum(m * load_species()[name].charge ** 2 for name, m in source.items()) / 2000.0
    try:
        closed = acid_need_meq_l(alkalinity, water_ph, target_ph, ionic_strength_mol_l=strength)
        standing = acid_need_meq_l(alkalinity, water_ph, target_ph, open_to_air=True, ionic_strength_mol_l=strength)
    except ValueError as error:
        raise refuse("--ph", str(error), "a pH from 4 to the water's own", "correct the two values") from error
    measured = "by its analysis" if plan.solution.source_water else "a guess from its EC: have it measured"
    words = (
        f"The water holds {number_text(alkalinity)} meq/L of alkalinity ({measured}). To pH {target_ph:g} it takes "
        f"{number_text(closed)} meq/L of acid at once, up to {number_text(standing)} in days, as carbon dioxide leaves."
    )
    numbers = [
        Number("alkalinity", alkalinity, f"source water, {number_text(ec_ms_cm(source))} mS/cm", ACID_SOURCE,
               unit="meq/L"),
        Number("acid to the target", closed, f"from pH {water_ph:g} to {target_ph:g}", ACID_SOURCE, unit="meq/L",
               low=min(closed, standing), high=max(closed, standing)),
    ]  # fmt: skip
    for name, grade in ACIDS.items():
        dose = acid_dose(grade, closed, target_ph, ionic_strength_mol_l=strength)
        how = f"for 1,000 L, at once; brings {number_text(dose.nutrient_mg_l)} mg/L of {dose.nutrient}"
        numbers.append(Number(f"{name}, for 1,000 L", dose.ml_per_m3 / 1000.0, how, ACID_SOURCE, kind="small_volume"))
    return Answer("How much acid would this water take?", "watch", words, tuple(numbers), CAUTIONS)
