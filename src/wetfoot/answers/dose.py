"""What to pour into the tank today: stocks A and B, water, or first something out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from wetfoot import __version__
from wetfoot.answers.solution import EC_SOURCE
from wetfoot.answers.trace import Answer, Number
from wetfoot.errors import refuse
from wetfoot.plan.feeds import Feeds, feeds_of
from wetfoot.plan.model import Plan
from wetfoot.quantities import mass_kind, show, volume_kind
from wetfoot.solution.conductivity import EC_ERROR_FRACTION, ec_at_25, ec_ms_cm
from wetfoot.solution.dose import (
    composition_at_ec,
    dilution_to_target,
    dose_into_tank,
    what_one_stock_alone_shows,
)
from wetfoot.solution.salts import Composition, elements_mg_l, mix

HIGHEST_EC_MS_CM = 10.0
QUESTION = "What do I pour into the tank now?"
CLOSE_FRACTION = 0.02  # nearer to the target than a meter can tell: common practice, no source
_ROUNDS = 60
MAIN_ELEMENTS = ("N", "P", "K", "Ca", "Mg", "S", "Na", "Cl", "Fe")
BOTH_STOCKS = "Water first, then A, stir, then B, stir; never A and B together undiluted. Measure before you correct."
DRAINED = "What is drained is fertiliser: lead it to ground that can use it, by the local rules on nutrient discharge."


@dataclass(frozen=True)
class Dose:
    """What goes into the tank and out of it.

    Attributes:
        stock_l: litres of A, and the same of B.
        water_l: litres of source water.
        drained_l: litres to let out first.
        before_ms_cm: EC before stocks go in, with the water that is added anyway.
        after_ms_cm: EC at the end.
        elements_mg_l: what the tank holds at the end.
    """

    plan: Plan
    stock_l: float
    water_l: float
    drained_l: float
    before_ms_cm: float
    after_ms_cm: float
    elements_mg_l: Mapping[str, float]
    answer: Answer

    def record(self) -> dict[str, Any]:
        """Return the dose for machines: answer, units, trace, warnings."""
        system = self.plan.units
        amounts = {
            "stock_a_l": self.stock_l,
            "stock_b_l": self.stock_l,
            "water_l": self.water_l,
            "drained_l": self.drained_l,
            "ec_after_ms_cm": self.after_ms_cm,
            "elements_mg_l": dict(self.elements_mg_l),
        }
        trace = {"plan": self.plan.title, "wetfoot": __version__}
        answer = {**self.answer.record(system), **amounts}
        return {"answer": answer, "units": system, "trace": trace, "warnings": list(self.answer.warnings)}


def dose(
    plan: Plan,
    tank_l: float,
    measured_ms_cm: float,
    temperature_c: float | None = None,
    added_l: float = 0.0,
    target_ms_cm: float | None = None,
) -> Dose:
    """Return what to pour so that the tank comes to its target.

    Args:
        plan: the plan.
        tank_l: what is in the tank now.
        measured_ms_cm: its EC, as the meter shows it.
        temperature_c: of the solution, if the meter does not correct for it; else None.
        added_l: source water that goes in before the stocks.
        target_ms_cm: wanted EC at 25 C; the middle of the plan's band if not given.

    Raises:
        WetfootError: for amounts that cannot be, each named.
    """
    target = plan.solution.target_ec_ms_cm if target_ms_cm is None else target_ms_cm
    _check(plan, tank_l, measured_ms_cm, added_l, target)
    feeds = feeds_of(plan.solution)
    now = _at_25(measured_ms_cm, temperature_c)
    try:
        present = composition_at_ec(now, feeds.stock_a, feeds.stock_b, feeds.source)
    except ValueError:
        fix = "measure again; if it stays, drain the tank and fill it anew"
        what = f"{show(now, 'conductivity')} at 25 °C is more than these stocks can give"
        raise refuse("--ec", what, "the EC of a tank with these stocks", fix) from None
    if tank_l + added_l <= 0:
        raise refuse("--tank", "the tank is empty and no water goes in", "some water", "say --add how much goes in")
    mixed = mix([(tank_l, present), (added_l, feeds.source)])
    before, litres = ec_ms_cm(mixed), tank_l + added_l
    if before > target * (1.0 + CLOSE_FRACTION):
        return _thinned(plan, feeds, mixed, litres, target)
    if before >= target * (1.0 - CLOSE_FRACTION):
        return _left_alone(plan, mixed, before, target)
    return _fed(plan, feeds, tank_l, present, added_l, target)


def _at_25(measured_ms_cm: float, temperature_c: float | None) -> float:
    if temperature_c is None:
        return measured_ms_cm
    try:
        return ec_at_25(measured_ms_cm, temperature_c)
    except ValueError as error:
        raise refuse("--temperature", str(error), "0 to 60 degC", "measure the solution in the tank") from None


def _check(plan: Plan, tank_l: float, ec: float, added_l: float, target: float) -> None:
    system, full = plan.units, plan.tank.volume_l
    if not 0.0 <= tank_l <= full * 1.001:
        what = f"{show(tank_l, 'volume', system)} cannot be in the tank"
        raise refuse("--tank", what, f"0 to {show(full, 'volume', system)}", "read the tank's scale again")
    if not 0.0 <= added_l <= (full - tank_l) * 1.001 + 1e-9:
        left = show(max(full - tank_l, 0.0), "volume", system)
        what = f"{show(added_l, 'volume', system)} of water do not fit"
        raise refuse("--add", what, f"0 to {left}, what is left of the tank", "add less, or use --fill")
    if not 0.0 <= ec <= HIGHEST_EC_MS_CM:
        what = f"{show(ec, 'conductivity')} is not the EC of a tank"
        fix = f"is it microsiemens? {ec:g} uS/cm is {ec / 1000.0:g} mS/cm" if ec > 0 else "measure again"
        raise refuse("--ec", what, "0 to 10 mS/cm", fix)
    source = plan.solution.source_ec_ms_cm
    if not source < target <= HIGHEST_EC_MS_CM:
        what = f"the target of {show(target, 'conductivity')} is not above the source water's"
        raise refuse("--target", what, f"above {show(source, 'conductivity')}, up to 10 mS/cm", "raise it")


def _fed(plan: Plan, feeds: Feeds, tank_l: float, present: Composition, added_l: float, target: float) -> Dose:
    system = plan.units
    water_l, each = _water_and_stock(plan, feeds, tank_l, present, added_l, target)
    litres = tank_l + water_l
    mixed = mix([(tank_l, present), (water_l, feeds.source)])
    after = mix([(litres, mixed), (each, feeds.stock_a), (each, feeds.stock_b)])
    alone = what_one_stock_alone_shows(litres, mixed, feeds.stock_a, feeds.stock_b, each)
    over_l = litres + 2.0 * each - plan.tank.volume_l
    over = (
        f"With the stocks the tank would hold {show(over_l, 'volume', system)} more than fits: let that much out first."
    )
    kind, before, end = volume_kind(each, system), ec_ms_cm(mixed), ec_ms_cm(after)
    water = f"Add {show(water_l, 'volume', system)} of source water. Then pour" if water_l > 0 else "Pour"
    words = (
        f"{water} {show(each, kind, system)} of stock A and as much of stock B into "
        f"{show(litres, 'volume', system)}: EC goes from {show(before, 'conductivity')} to "
        f"{show(end, 'conductivity')}. If the meter then shows about {show(alone.only_a_ms_cm, 'conductivity')}, "
        f"only A went in; about {show(alone.only_b_ms_cm, 'conductivity')}, only B."
    )
    how = f"{show(litres, 'volume', system)} at {show(before, 'conductivity')}, to {show(target, 'conductivity')}"
    low, high = each * (1.0 - EC_ERROR_FRACTION), each * (1.0 + EC_ERROR_FRACTION)
    numbers = (
        Number("source water", water_l, "so that water and stocks fit the tank", "sum of volumes", kind="volume"),
        Number("stock A, and as much of B", each, how, EC_SOURCE, kind=kind, low=low, high=high),
        Number("EC before the stocks", before, "tank and added source water", EC_SOURCE, kind="conductivity"),
        Number("EC after", end, "both stocks in", EC_SOURCE, kind="conductivity"),
        Number("EC if only A went in", alone.only_a_ms_cm, "stock B forgotten", EC_SOURCE, kind="conductivity"),
        Number("EC if only B went in", alone.only_b_ms_cm, "stock A forgotten", EC_SOURCE, kind="conductivity"),
        *_elements(after),
    )
    warnings = (over, BOTH_STOCKS) if over_l > 0.001 * plan.tank.volume_l else (BOTH_STOCKS,)
    answer = Answer(QUESTION, "yes", words, numbers, warnings)
    return Dose(plan, each, water_l, 0.0, before, end, elements_mg_l(after), answer)


def _water_and_stock(
    plan: Plan, feeds: Feeds, tank_l: float, present: Composition, added_l: float, target: float
) -> tuple[float, float]:
    """Return the source water and each stock; less water than asked where the stocks would not fit any more."""
    water_l = added_l
    for _ in range(_ROUNDS):
        mixed = mix([(tank_l, present), (water_l, feeds.source)])
        try:
            each = dose_into_tank(tank_l + water_l, mixed, feeds.stock_a, feeds.stock_b, target, feeds.source)
        except ValueError as error:
            raise refuse("--target", str(error), "an EC that the two stocks reach", "lower it") from None
        fits = min(added_l, max(plan.tank.volume_l - tank_l - 2.0 * each, 0.0))
        if abs(fits - water_l) < 1e-9 * plan.tank.volume_l:
            break
        water_l = fits
    return water_l, each


def _thinned(plan: Plan, feeds: Feeds, mixed: Composition, litres: float, target: float) -> Dose:
    """Thin a tank that is too strong; what does not fit must go out first."""
    system, before, full = plan.units, ec_ms_cm(mixed), plan.tank.volume_l
    water_l, drained_l = dilution_to_target(litres, mixed, feeds.source, target), 0.0
    if litres + water_l > full:
        share = water_l / (litres + water_l)
        water_l, drained_l = share * full, litres - (1.0 - share) * full
    after = mix([(litres - drained_l, mixed), (water_l, feeds.source)])
    water = show(water_l, "volume", system)
    words = f"The tank has {show(before, 'conductivity')}, above the target. Pour in no stock: add {water} of water"
    how = f"{show(litres, 'volume', system)} at {show(before, 'conductivity')}, to {show(target, 'conductivity')}"
    numbers = [
        Number("source water", water_l, how, EC_SOURCE, kind="volume"),
        Number("EC after", ec_ms_cm(after), "water in", EC_SOURCE, kind="conductivity"),
    ]
    warnings: tuple[str, ...] = ()
    if drained_l > 0.0:
        words += f", and first let out {show(drained_l, 'volume', system)}, for the tank holds no more"
        warnings = (DRAINED,)
        numbers.insert(0, Number("solution to let out first", drained_l, "so that the water fits", EC_SOURCE,
                                 kind="volume"))  # fmt: skip
        numbers += [
            Number(f"{name} thrown away", kg, "what is let out times what it holds", EC_SOURCE,
                   kind=mass_kind(kg, system))
            for name in ("N", "P", "K")
            if (kg := drained_l * elements_mg_l(mixed)[name] / 1e6) > 0.0
        ]  # fmt: skip
    answer = Answer(QUESTION, "watch", words + ".", (*numbers, *_elements(after)), warnings)
    return Dose(plan, 0.0, water_l, drained_l, before, ec_ms_cm(after), elements_mg_l(after), answer)


def _left_alone(plan: Plan, mixed: Composition, before: float, target: float) -> Dose:
    words = (
        f"Nothing: the tank has {show(before, 'conductivity')}, as near to the target of "
        f"{show(target, 'conductivity')} as a meter can tell."
    )
    numbers = (Number("EC now", before, "tank and added source water", EC_SOURCE, kind="conductivity"),)
    answer = Answer(QUESTION, "yes", words, (*numbers, *_elements(mixed)))
    return Dose(plan, 0.0, 0.0, 0.0, before, before, elements_mg_l(mixed), answer)


def _elements(after: Composition) -> tuple[Number, ...]:
    how = "taken for a tank of this EC: source water fed with equal stocks (uptake may have shifted it)"
    found = elements_mg_l(after)
    return tuple(
        Number(f"{name} after", found[name], how, EC_SOURCE, kind="concentration")
        for name in MAIN_ELEMENTS
        if found[name] >= 0.05
    )
