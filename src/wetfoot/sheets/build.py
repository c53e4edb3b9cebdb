"""The sheet to build from: nests and bench to scale, sizes, and what to check with a level and a ruler."""

from __future__ import annotations

from typing import Any

from wetfoot.answers.dossier import Dossier
from wetfoot.answers.leaks import fault_rows, guard_rows
from wetfoot.answers.water import changes
from wetfoot.answers.wicking import level_rows
from wetfoot.drawing.bench import DRAWN_BANKS, bench_svg
from wetfoot.drawing.nest import nest_svg
from wetfoot.plan.model import Bank, Plan
from wetfoot.quantities import number_text, show
from wetfoot.sheets.press import LONGEST_CELL, Sheet, short
from wetfoot.sheets.summary import number_named, worst_bank

WRAPS = {"none": "none", "white": "white wrap", "shade": "shade"}


def build(dossier: Dossier) -> Sheet:
    """Return the sheet to build from."""
    plan, system = dossier.plan, dossier.plan.units
    drawings = {f"nest {place}": nest_svg(plan, name, system) for place, name in enumerate(dossier.nests)}
    says = {
        "nests": [
            {
                "name": name,
                "drawing": f"nest {place}",
                "numbers": [[number.name, number.text(system)] for number in numbers],
                "levels": level_rows(plan, dossier.wicking[name]),
            }
            for place, (name, numbers) in enumerate(dossier.nests.items())
        ],
        "tank": _tank(plan),
        "plumbing": [_plumbing_row(plan, bank) for bank in plan.banks],
        "boards": [_board_row(plan, bank) for bank in plan.banks],
        "ruler": [_ruler_row(dossier, index) for index in range(len(plan.banks))],
        "checks": _checks(plan, list(dossier.nests)),
        "shims": dossier.shims,
        "changes": _changes(dossier),
        "changed": short(plan.banks[worst_bank(dossier)].name, LONGEST_CELL),
        "faults": fault_rows(plan, dossier.leaks),
        "guards": guard_rows(plan, dossier.leaks),
        "visit": f"{plan.visits.every_d} days",
    }
    return Sheet("build.typ", "Build sheet", says, {"bench": _bench_drawing(dossier), **drawings})


def _bench_drawing(dossier: Dossier) -> str:
    """Return the bench, the bank that is worst off first where not all are drawn, so that the weak point is seen."""
    plan, levels = dossier.plan, dossier.levels.banks
    order = list(range(len(plan.banks)))
    if len(order) > DRAWN_BANKS:
        weakest = worst_bank(dossier)
        order = [weakest, *(bank for bank in order if bank != weakest)]
    shown = plan.model_copy(update={"banks": tuple(plan.banks[bank] for bank in order)})
    return bench_svg(shown, plan.units, [levels[bank] for bank in order])


def _tank(plan: Plan) -> list[list[str]]:
    tank, line, system = plan.tank, plan.supply_line, plan.units
    return [
        ["tank, full", show(tank.volume_l, "volume", system)],
        ["depth of water in the full tank", show(tank.water_depth_m, "distance", system)],
        ["tank's floor above the ground", show(tank.base_height_m, "distance", system)],
        ["stays below the outlet", show(tank.unusable_l, "volume", system)],
        ["supply line, inside", show(line.bore_m, "bore", system)],
        ["supply line, length", show(line.length_m, "distance", system)],
    ]


def _plumbing_row(plan: Plan, bank: Bank) -> list[str]:
    system = plan.units
    return [
        short(bank.name, LONGEST_CELL),
        short(bank.nest, LONGEST_CELL // 2),
        f"{bank.pots}",
        show(bank.lateral_bore_m, "bore", system),
        show(bank.lateral_length_m, "distance", system),
        show(bank.microtube_bore_m, "bore", system),
        show(bank.microtube_length_m, "distance", system),
        show(bank.valve_seat_m, "bore", system),
        show(bank.float_diameter_m, "bore", system),
        f"{number_text(bank.lever_ratio)} to 1",
    ]


def _board_row(plan: Plan, bank: Bank) -> list[str]:
    system, level = plan.units, plan.nests[bank.nest].set_level_m
    return [
        short(bank.name, LONGEST_CELL),
        show(bank.board_height_m, "distance", system),
        show(bank.board_slope * bank.lateral_length_m, "bore", system),
        show(bank.board_height_m + level, "distance", system),
        show(bank.ground_per_pot_m2, "area", system),
        show(bank.gutter_fraction, "fraction", system),
        WRAPS[bank.wrap],
    ]


def _ruler_row(dossier: Dossier, index: int) -> list[str]:
    plan, system = dossier.plan, dossier.plan.units
    bank, answer, levels = plan.banks[index], dossier.water[1 + index], dossier.levels.banks[index]
    level = plan.nests[bank.nest].set_level_m
    sag = number_named(answer, "sag in float, lateral and microtube")
    rise = number_named(answer, "rise of level from full to empty tank")
    return [
        short(bank.name, LONGEST_CELL),
        show(level - float(levels.board_m[0]), "depth", system),
        show(level - float(levels.board_m[-1]), "depth", system),
        show(float(levels.depth_m[0]), "depth", system),
        show(float(levels.depth_m[-1]), "depth", system),
        sag.text(system),
        rise.text(system),
    ]


def _changes(dossier: Dossier) -> list[list[str]]:
    """Return what single changes do to the bank that is worst off."""
    system = dossier.plan.units
    return [
        [
            change.what,
            show(change.lowest_m, "depth", system),
            show(change.deepest_m, "depth", system),
            str(change.dry_pots),
            str(change.overflowing_pots),
        ]
        for change in changes(dossier.peak, worst_bank(dossier))
    ]


def _checks(plan: Plan, nests: list[str]) -> dict[str, Any]:
    system, tank = plan.units, plan.tank
    per_nest = []
    for name in nests:
        nest = plan.nests[name]
        of = f" of nest {name}" if len(nests) > 1 else ""
        level, hole, top = (
            show(height, "depth", system) for height in (nest.set_level_m, nest.overflow_height_m, nest.fill_height_m)
        )
        per_nest.append(
            f"Ruler inside each basin{of}: mark the set level at {level} and drill the overflow with its lower edge at "
            f"{hole}; fill the pot with medium to {top}. All three above the inside bottom of the basin."
        )
    return {
        "level": [
            f"Tank: pad level both ways, floor {show(tank.base_height_m, 'distance', system)} above the ground, full "
            "bearing under the whole floor.",
            "Boards: level across; along, they rise from the sump by what the table says, not more. A basin that "
            "stands askew is read at its middle.",
            "Sumps: with the float shut, the water stands at the height that the table gives above the ground.",
        ],
        "ruler": [
            *per_nest,
            "Before any pot is planted: fill, wait until nothing runs, measure the depth in the near and the far pot "
            "of each bank. At rest it is the set level, less the board's rise in the far pot.",
            "Fill every lateral until no air comes from the last microtube: an air lock starves the pots behind it.",
            "Pour water into a basin until it spills: it leaves by the overflow and by nothing else.",
        ],
    }
