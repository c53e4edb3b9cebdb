"""What is impossible in nests and banks: vessels that do not fit, levels that cannot be, water without a fall."""

from __future__ import annotations

from collections.abc import Iterator
from difflib import get_close_matches

from wetfoot.errors import Problem
from wetfoot.plan.model import Bank, Nest, OwnMedium, Plan, Tank
from wetfoot.quantities import show
from wetfoot.water.fitting import table_problems
from wetfoot.water.medium import load_media
from wetfoot.water.nest import radius_m

LEAST_RING_M = 0.005


def known(*values: object) -> bool:
    """Return whether all values could be read."""
    return all(value is not None for value in values)


def choice(where: str, value: str, choices: list[str]) -> Problem:
    """Return the problem of a name that is not among those that are known."""
    near = get_close_matches(value, choices, n=1, cutoff=0.4)
    fix = f"did you mean {near[0]!r}?" if near else "choose one of those"
    return Problem(where, f"{value!r} is not known", ", ".join(repr(name) for name in choices), fix)


def nest_problems(plan: Plan, nest: Nest, where: str) -> Iterator[Problem]:
    """Yield what makes a nest impossible."""
    names = [*load_media(), *(plan.media or {})]
    if known(nest.medium) and nest.medium not in names:
        yield choice(f"{where}.medium", nest.medium, names)
    for check in (_pot_in_basin, _dome_in_pot, _fill, _overflow):
        yield from check(nest, where)


def medium_problems(own: OwnMedium, name: str) -> Iterator[Problem]:
    """Yield what is wrong with the table of a user's own medium, row by row."""
    if name in load_media():
        what = "this name is that of a medium that comes with the program"
        yield Problem(f"media.{name}", what, "a name of its own", "rename it")
    if not known(own.suction_kpa, own.water):
        return
    for words in table_problems(own.suction_kpa, own.water):
        allowed = "at least four rows, suction rising, water content falling between 0 and 100 %"
        yield Problem(f"media.{name}", words, allowed, "correct that row")


def _complete(vessel: object) -> bool:
    fields = ("bottom_diameter_m", "top_diameter_m", "height_m")
    return vessel is not None and known(*(getattr(vessel, field) for field in fields))


def _pot_in_basin(nest: Nest, where: str) -> Iterator[Problem]:
    if not (_complete(nest.basin) and _complete(nest.pot) and known(nest.wall_m)):
        return
    basin, pot = nest.basin.frustum, nest.pot.frustum
    rim = min(basin.height_m, pot.height_m)
    for height, part in ((0.0, "bottom"), (rim, "rim")):
        room = float(radius_m(basin, height) - radius_m(pot, height)) - nest.wall_m
        if room <= 0:
            outside = 2.0 * (float(radius_m(pot, height)) + nest.wall_m)
            inside = 2.0 * float(radius_m(basin, height))
            yield Problem(
                f"{where}.pot",
                f"the pot's {part} is {_cm(outside)} wide outside, its basin {_cm(inside)} inside: it does not fit",
                "a pot narrower than its basin at every height",
                "choose a wider basin or a narrower pot (or a thinner wall, if the wall is wrong)",
            )
            return


def _dome_in_pot(nest: Nest, where: str) -> Iterator[Problem]:
    if not (_complete(nest.dome) and _complete(nest.pot) and known(nest.wall_m)):
        return
    assert nest.dome is not None
    dome, pot = nest.dome.upside_down, nest.pot.frustum
    for height in (0.0, min(dome.height_m, pot.height_m)):
        ring = float(radius_m(pot, height) - radius_m(dome, height)) - nest.wall_m
        if ring < LEAST_RING_M:
            yield Problem(
                f"{where}.dome",
                f"between dome and pot only {_cm(max(ring, 0.0))} is left at {_cm(height)}: nothing can wick there",
                f"a ring of at least {_cm(LEAST_RING_M)}",
                "choose a smaller dome or none",
            )
            return


def _fill(nest: Nest, where: str) -> Iterator[Problem]:
    fill = nest.fill_height_m
    if not known(fill):
        return
    if _complete(nest.pot) and fill > nest.pot.height_m:
        yield Problem(
            f"{where}.fill_height",
            f"medium filled to {_cm(fill)} stands above the pot's rim at {_cm(nest.pot.height_m)}",
            f"up to {_cm(nest.pot.height_m)}",
            "lower the fill or use a taller pot",
        )
    if _complete(nest.dome) and nest.dome and nest.dome.height_m >= fill:
        yield Problem(
            f"{where}.dome",
            f"the dome, {_cm(nest.dome.height_m)} tall, is not covered by medium filled to {_cm(fill)}",
            f"a dome lower than {_cm(fill)}",
            "use a lower dome or fill higher",
        )
    if known(nest.set_level_m) and nest.set_level_m >= fill:
        yield Problem(
            f"{where}.set_level",
            f"a level of {_cm(nest.set_level_m)} drowns medium filled to {_cm(fill)}: roots and seed would rot",
            f"below {_cm(fill)}; about 5 cm is common",
            "lower the set level",
        )


def _overflow(nest: Nest, where: str) -> Iterator[Problem]:
    level, overflow = nest.set_level_m, nest.overflow_height_m
    if known(level) and level <= 0:
        yield Problem(f"{where}.set_level", "a level of 0 wets nothing", "above 0 cm", "set about 5 cm")
    if known(level, overflow) and overflow <= level:
        yield Problem(
            f"{where}.overflow_height",
            f"the overflow at {_cm(overflow)} is not above the set level of {_cm(level)}: the tank would run out there",
            f"above {_cm(level)}; 1 to 2.5 cm above it is common",
            "drill the hole higher or lower the set level",
        )
    if known(overflow, nest.fill_height_m) and overflow >= nest.fill_height_m:
        yield Problem(
            f"{where}.overflow_height",
            f"the overflow at {_cm(overflow)} is not below the top of the medium at {_cm(nest.fill_height_m)}: "
            "rain would drown the crop before any spills",
            f"below {_cm(nest.fill_height_m)}",
            "drill the hole lower",
        )
    if known(overflow) and _complete(nest.basin) and overflow >= nest.basin.height_m:
        yield Problem(
            f"{where}.overflow_height",
            f"the overflow at {_cm(overflow)} is not below the basin's rim at {_cm(nest.basin.height_m)}",
            f"below {_cm(nest.basin.height_m)}",
            "drill the hole lower or use a taller basin",
        )


def bank_problems(plan: Plan, bank: Bank, where: str) -> Iterator[Problem]:
    """Yield what makes a bank impossible."""
    if known(bank.nest) and bank.nest not in (plan.nests or {}):
        yield choice(f"{where}.nest", bank.nest, list(plan.nests or {}))
    if known(bank.microtube_bore_m, bank.lateral_bore_m) and bank.microtube_bore_m > bank.lateral_bore_m:
        yield Problem(
            f"{where}.microtube_bore",
            f"a microtube of {_mm(bank.microtube_bore_m)} is wider than its lateral of {_mm(bank.lateral_bore_m)}",
            f"up to {_mm(bank.lateral_bore_m)}",
            "swap the two, or correct the units",
        )
    nest = (plan.nests or {}).get(bank.nest)
    if nest is not None and known(nest.set_level_m, bank.board_height_m):
        yield from _board(nest, bank, where)
        yield from _fall(plan.tank, bank.board_height_m + nest.set_level_m, where)


def _board(nest: Nest, bank: Bank, where: str) -> Iterator[Problem]:
    if not known(bank.board_slope, bank.lateral_length_m, nest.set_level_m, nest.overflow_height_m, bank.pots):
        return
    measured = bank.board_heights_m
    if measured is not None and len(measured) != bank.pots:
        what = f"{len(measured)} heights are given for {bank.pots} pots"
        yield Problem(f"{where}.board_heights", what, "one height a pot, from the sump outwards", "add or remove some")
        return
    rises = (bank.board_slope * bank.lateral_length_m,) if measured is None else measured
    field = f"{where}.board_slope" if measured is None else f"{where}.board_heights"
    allowed = f"{_cm(nest.set_level_m - nest.overflow_height_m)} to {_cm(nest.set_level_m)} against the sump's board"
    fix = "level the board, or give the pots that differ a bank of their own"
    if max(rises) >= nest.set_level_m:
        what = f"the board rises {_cm(max(rises))}: a pot stands above the level and gets no water"
        yield Problem(field, what, allowed, fix)
    if -min(rises) >= nest.overflow_height_m - nest.set_level_m:
        what = f"the board falls {_cm(-min(rises))}: a pot would spill through its overflow for ever"
        yield Problem(field, what, allowed, fix)


def _fall(tank: Tank, surface_m: float, where: str) -> Iterator[Problem]:
    if tank is not None and known(tank.base_height_m) and tank.base_height_m <= surface_m:
        yield Problem(
            f"{where}.board_height",
            f"the sump's level stands {show(surface_m, 'distance')} above the ground, the tank's floor "
            f"{show(tank.base_height_m, 'distance')}: the last water has no fall from tank to valve",
            "a tank floor above the level in the sump; 0.3 m more is comfortable",
            "raise the tank or lower the board",
        )


def _cm(value_m: float) -> str:
    return show(value_m, "depth")


def _mm(value_m: float) -> str:
    return show(value_m, "bore")
