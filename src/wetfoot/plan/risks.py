"""What is possible in a plan but risky: each warning says what will happen to the crop, and what would help."""

from __future__ import annotations

from collections.abc import Iterator

from wetfoot.plan.feeds import source_of
from wetfoot.plan.model import Bank, Nest, Plan
from wetfoot.quantities import show
from wetfoot.solution.conductivity import ec_ms_cm
from wetfoot.solution.salts import composition_mmol_l, elements_mg_l, mix
from wetfoot.water.nest import medium_section_m2

LARGEST_CLEAN_BANK = 10  # pots that share one health: a sound default from the expected loss to one infected piece
NAMED_BANKS = 6
MOST_EC_GAP_FRACTION, MOST_EC_GAP_MS_CM = 0.15, 0.05  # between analysis and meter: common practice, no source
USUAL_MONTHS = (8.0, 9.5)
USUAL_STORAGE_D = (42, 120)
# What a crop shows first when an element runs out: common practice, no source.
SIGNS = {
    "N": "leaves pale from below",
    "P": "growth stalls, leaves dull",
    "K": "leaf edges brown, rhizomes small",
    "Ca": "shoot tips die",
    "Mg": "old leaves yellow between the veins",
    "S": "young leaves pale",
    "Fe": "young leaves yellow between green veins",
    "Mn": "young leaves mottled",
    "B": "growing tips crack",
}


def risks(plan: Plan) -> tuple[str, ...]:
    """Return the warnings about a plan that can be built."""
    found = [words for name, nest in plan.nests.items() for words in _nest(plan, name, nest)]
    return (*found, *_banks(plan), *_solution(plan), *_analysis(plan), *_feed(plan), *_season(plan))


def _nest(plan: Plan, name: str, nest: Nest) -> Iterator[str]:
    spare = nest.overflow_height_m - nest.set_level_m
    if spare < 0.01:
        yield (
            f"Nest {name!r}: the overflow is only {_depth(plan, spare)} above the set level; a float that closes a "
            "little late spills feed all season. 1 to 2.5 cm is common."
        )
    if spare > 0.03:
        yield (
            f"Nest {name!r}: rain can raise the solution {_depth(plan, spare)} above the set level before it spills; "
            "roots low in the pot then stand without air for days. 1 to 2.5 cm is common."
        )
    if not 0.03 <= nest.set_level_m <= 0.08:
        yield (
            f"Nest {name!r}: a level of {_depth(plan, nest.set_level_m)} is unusual; about 5 cm wets most media to "
            "the top and leaves them air. Try it on a few pots first."
        )
    foot, whole = medium_section_m2(nest.shape, [0.0, nest.fill_height_m])
    if foot < 0.15 * whole:
        yield (
            f"Nest {name!r}: the dome leaves a foot of {show(float(foot), 'area', plan.units)} for water to rise "
            "through, under a seventh of the pot's width; the top may stay dry on hot days. A smaller dome helps."
        )


def _banks(plan: Plan) -> Iterator[str]:
    """Yield each risk once, with the banks that run it."""
    shared: dict[str, list[str]] = {}
    for bank in plan.banks:
        for words in _bank(plan, bank):
            shared.setdefault(words, []).append(bank.name)
    for words, names in shared.items():
        more = f" and {len(names) - NAMED_BANKS} more" if len(names) > NAMED_BANKS else ""
        yield f"Bank{'s' if len(names) > 1 else ''} {', '.join(names[:NAMED_BANKS])}{more}: {words}"


def _bank(plan: Plan, bank: Bank) -> Iterator[str]:
    rise = abs(bank.board_slope) * bank.lateral_length_m
    if rise > 0.2 * plan.nests[bank.nest].set_level_m:
        higher = "shallower" if bank.board_slope > 0 else "deeper"
        yield (
            f"the board's slope makes the last pot {_depth(plan, rise)} {higher} than the first; "
            "its plants will lag or its roots rot. Level the board, or shim the pots."
        )
    if bank.pots > LARGEST_CLEAN_BANK:
        yield (
            f"{bank.pots} pots share one water, so one infected piece can cost all of them. "
            f"Banks of 5 to {LARGEST_CLEAN_BANK} pots cost a valve more and lose far less."
        )
    if bank.ground_per_pot_m2 < plan.crop.canopy_area_m2:
        yield (
            f"each pot has {show(bank.ground_per_pot_m2, 'area', plan.units)} of ground, its full "
            f"canopy covers {show(plan.crop.canopy_area_m2, 'area', plan.units)}; shaded leaves yield less."
        )
    if bank.microtube_bore_m < 0.003:
        yield (
            "microtubes under 3 mm let pots sag by centimetres at noon and clog easily; "
            "the far pots will be short of water on hot days."
        )
    if bank.gutter_fraction == 0:
        yield (
            "without gutters all rain falls into the pots and washes feed out through the overflow; "
            "leaves pale after wet weeks. Taking away about a third is common."
        )


def _solution(plan: Plan) -> Iterator[str]:
    solution = plan.solution
    if solution.ec_high_ms_cm > 3.0:
        yield f"An EC of {solution.ec_high_ms_cm:g} mS/cm scorches leaf tips and checks growth."
    if solution.ec_low_ms_cm < 1.0:
        yield f"An EC of {solution.ec_low_ms_cm:g} mS/cm underfeeds a full-grown pot; rhizomes stay small."
    if solution.source_ec_ms_cm > 0.75:
        yield (
            f"Source water of {solution.source_ec_ms_cm:g} mS/cm brings salts that the crop leaves behind; they gather "
            "in medium and tank. Have it analysed, and flush between crops."
        )


def _analysis(plan: Plan) -> Iterator[str]:
    """Warn of an analysis that does not fit the meter: one of the two is of another water, or of another time."""
    if not plan.solution.source_water:
        return
    typed, computed = plan.solution.source_ec_ms_cm, ec_ms_cm(source_of(plan.solution))
    if abs(computed - typed) > max(MOST_EC_GAP_FRACTION * typed, MOST_EC_GAP_MS_CM):
        yield (
            f"The water analysis gives {show(computed, 'conductivity')}, but source_ec says "
            f"{show(typed, 'conductivity')}: one of them is of another water or another month. Doses follow the "
            "analysis; feed comes out too strong or too weak by the difference. Measure the water once more."
        )


def _feed(plan: Plan) -> Iterator[str]:
    """Warn of elements that the two stocks lack."""
    salts = plan.solution.stock_a, plan.solution.stock_b
    held = elements_mg_l(mix([(1.0, composition_mmol_l(stock)) for stock in salts]))
    lacks = [f"{element} ({sign})" for element, sign in SIGNS.items() if held[element] <= 0.0]
    if lacks:
        yield f"The stocks hold no {', no '.join(lacks)}; source water and fresh medium cover it for some weeks only."


def _season(plan: Plan) -> Iterator[str]:
    crop, goal = plan.crop, plan.goal
    months = crop.season_d / 30.44
    if not USUAL_MONTHS[0] <= months <= USUAL_MONTHS[1]:
        effect = "rhizomes are lifted small" if months < USUAL_MONTHS[0] else "old rhizomes sprout or rot in wet pots"
        yield f"The season is {months:.1f} months long; eight to nine are common: {effect}."
    stored = (goal.field_planting - crop.harvest).days
    if not USUAL_STORAGE_D[0] <= stored <= USUAL_STORAGE_D[1]:
        effect = (
            "still dormant seed comes up late and uneven" if stored < USUAL_STORAGE_D[0] else "seed shrivels and rots"
        )
        yield f"{stored} days lie between lifting and planting the field; six to seventeen weeks are usual: {effect}."
    if not 0.03 <= goal.piece_mass_kg <= 0.08:
        yield f"Pieces of {show(goal.piece_mass_kg, 'small_mass', plan.units)} are unusual; 30 to 80 g come up well."
    if plan.visits.every_d > 14:
        yield f"A visit every {plan.visits.every_d} days finds a leak or a stuck float when the tank is long empty."


def _depth(plan: Plan, value_m: float) -> str:
    return show(value_m, "depth", plan.units)
