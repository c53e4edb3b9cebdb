"""What is impossible in a plan: each check names the field, the value, what is allowed and how to mend it.

The checks also run on plans of which only a part could be read (what could not is None), so that a person
sees everything at once.
"""

from __future__ import annotations

from collections.abc import Iterator
from difflib import get_close_matches
from itertools import pairwise
from pathlib import Path
from zoneinfo import ZoneInfo

from wetfoot.errors import Problem
from wetfoot.plan.model import Bank, Nest, Plan, Tank
from wetfoot.quantities import show
from wetfoot.solution.dose import source_water_from_ec, strength_for_ec
from wetfoot.solution.salts import composition_mmol_l, load_salts
from wetfoot.water.medium import load_media
from wetfoot.water.nest import radius_m

LEAST_RING_M = 0.005
PHOSPHATES = ("H2PO4", "HPO4", "PO4")


def refusals(plan: Plan, folder: Path | None = None) -> list[Problem]:
    """Return everything that makes a plan impossible; an empty list for a plan that can be built."""
    problems: list[Problem] = []
    for name, nest in (plan.nests or {}).items():
        problems += _nest(nest, f"nests.{name}")
    for index, bank in enumerate(plan.banks or ()):
        problems += _bank(plan, bank, f"banks[{index}]")
    for check in (_site, _goal, _tank, _solution, _stocks_reach, _dates, _names):
        problems += check(plan)
    return problems + _weather_file(plan, folder)


def _known(*values: object) -> bool:
    return all(value is not None for value in values)


def _nest(nest: Nest, where: str) -> Iterator[Problem]:
    if _known(nest.medium) and nest.medium not in load_media():
        yield _choice(f"{where}.medium", nest.medium, list(load_media()))
    for check in (_pot_in_basin, _dome_in_pot, _fill, _overflow):
        yield from check(nest, where)


def _complete(vessel: object) -> bool:
    fields = ("bottom_diameter_m", "top_diameter_m", "height_m")
    return vessel is not None and _known(*(getattr(vessel, field) for field in fields))


def _pot_in_basin(nest: Nest, where: str) -> Iterator[Problem]:
    if not (_complete(nest.basin) and _complete(nest.pot) and _known(nest.wall_m)):
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
    if not (_complete(nest.dome) and _complete(nest.pot) and _known(nest.wall_m)):
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
    if not _known(fill):
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
    if _known(nest.set_level_m) and nest.set_level_m >= fill:
        yield Problem(
            f"{where}.set_level",
            f"a level of {_cm(nest.set_level_m)} drowns medium filled to {_cm(fill)}: roots and seed would rot",
            f"below {_cm(fill)}; about 5 cm is common",
            "lower the set level",
        )


def _overflow(nest: Nest, where: str) -> Iterator[Problem]:
    level, overflow = nest.set_level_m, nest.overflow_height_m
    if _known(level) and level <= 0:
        yield Problem(f"{where}.set_level", "a level of 0 wets nothing", "above 0 cm", "set about 5 cm")
    if _known(level, overflow) and overflow <= level:
        yield Problem(
            f"{where}.overflow_height",
            f"the overflow at {_cm(overflow)} is not above the set level of {_cm(level)}: the tank would run out there",
            f"above {_cm(level)}; 1 to 2.5 cm above it is common",
            "drill the hole higher or lower the set level",
        )
    if _known(overflow, nest.fill_height_m) and overflow >= nest.fill_height_m:
        yield Problem(
            f"{where}.overflow_height",
            f"the overflow at {_cm(overflow)} is not below the top of the medium at {_cm(nest.fill_height_m)}: "
            "rain would drown the crop before any spills",
            f"below {_cm(nest.fill_height_m)}",
            "drill the hole lower",
        )
    if _known(overflow) and _complete(nest.basin) and overflow >= nest.basin.height_m:
        yield Problem(
            f"{where}.overflow_height",
            f"the overflow at {_cm(overflow)} is not below the basin's rim at {_cm(nest.basin.height_m)}",
            f"below {_cm(nest.basin.height_m)}",
            "drill the hole lower or use a taller basin",
        )


def _bank(plan: Plan, bank: Bank, where: str) -> Iterator[Problem]:
    if _known(bank.nest) and bank.nest not in (plan.nests or {}):
        yield _choice(f"{where}.nest", bank.nest, list(plan.nests or {}))
    if _known(bank.microtube_bore_m, bank.lateral_bore_m) and bank.microtube_bore_m > bank.lateral_bore_m:
        yield Problem(
            f"{where}.microtube_bore",
            f"a microtube of {_mm(bank.microtube_bore_m)} is wider than its lateral of {_mm(bank.lateral_bore_m)}",
            f"up to {_mm(bank.lateral_bore_m)}",
            "swap the two, or correct the units",
        )
    nest = (plan.nests or {}).get(bank.nest)
    if nest is not None and _known(nest.set_level_m, bank.board_height_m):
        yield from _board(nest, bank, where)
        yield from _fall(plan.tank, bank.board_height_m + nest.set_level_m, where)


def _board(nest: Nest, bank: Bank, where: str) -> Iterator[Problem]:
    if not _known(bank.board_slope, bank.lateral_length_m, nest.set_level_m, nest.overflow_height_m):
        return
    rise = bank.board_slope * bank.lateral_length_m
    allowed = f"{_cm(nest.set_level_m - nest.overflow_height_m)} to {_cm(nest.set_level_m)} over its length"
    fix = "level the board, or give the far pots a bank of their own"
    if rise >= nest.set_level_m:
        what = f"the board rises {_cm(rise)} to its far end: the last pot stands above the level and gets no water"
        yield Problem(f"{where}.board_slope", what, allowed, fix)
    if -rise >= nest.overflow_height_m - nest.set_level_m:
        what = f"the board falls {_cm(-rise)} to its far end: the last pot would spill through its overflow for ever"
        yield Problem(f"{where}.board_slope", what, allowed, fix)


def _fall(tank: Tank, surface_m: float, where: str) -> Iterator[Problem]:
    if tank is not None and _known(tank.base_height_m) and tank.base_height_m <= surface_m:
        yield Problem(
            f"{where}.board_height",
            f"the sump's level stands {show(surface_m, 'distance')} above the ground, the tank's floor "
            f"{show(tank.base_height_m, 'distance')}: the last water has no fall from tank to valve",
            "a tank floor above the level in the sump; 0.3 m more is comfortable",
            "raise the tank or lower the board",
        )


def _site(plan: Plan) -> Iterator[Problem]:
    if plan.site is None or not _known(plan.site.zone):
        return
    try:
        ZoneInfo(plan.site.zone)
    except (KeyError, ValueError, OSError):
        yield Problem(
            "site.zone",
            f"{plan.site.zone!r} is not a time zone",
            "a name of the IANA time zone database, such as 'Pacific/Honolulu' or 'America/New_York'",
            "look the name up for your place",
        )


def _goal(plan: Plan) -> Iterator[Problem]:
    goal = plan.goal
    spacings = (goal.row_spacing_m, goal.in_row_spacing_m)
    if (goal.seed_rate_kg_m2 is None) == (None in spacings):
        yield Problem(
            "goal",
            "the seed rate of the field is given twice or not at all",
            "either seed_rate, or row_spacing and in_row_spacing",
            "keep one of the two",
        )


def _tank(plan: Plan) -> Iterator[Problem]:
    tank = plan.tank
    if _known(tank.volume_l, tank.unusable_l) and tank.unusable_l >= tank.volume_l:
        yield Problem(
            "tank.unusable",
            f"{show(tank.unusable_l, 'volume')} below the outlet leaves nothing of {show(tank.volume_l, 'volume')}",
            f"below {show(tank.volume_l, 'volume')}",
            "correct one of the two",
        )


def _solution(plan: Plan) -> Iterator[Problem]:
    solution = plan.solution
    source, low, high = solution.source_ec_ms_cm, solution.ec_low_ms_cm, solution.ec_high_ms_cm
    if _known(low, high) and low >= high:
        yield Problem(
            "solution.ec_low",
            f"the EC band is upside down: low {show(low, 'conductivity')}, high {show(high, 'conductivity')}",
            "ec_low below ec_high; 1.5 to 2.0 mS/cm is common",
            "swap the two",
        )
    elif _known(source, low) and source >= low:
        yield Problem(
            "solution.source_ec",
            f"the source water has {show(source, 'conductivity')} before any feed is added",
            f"below ec_low ({show(low, 'conductivity')})",
            "find cleaner water (rain from a clean roof) or correct the value",
        )
    for stock in ("stock_a", "stock_b"):
        yield from _stock(getattr(solution, stock), f"solution.{stock}")


def _stock(salts: dict[str, float] | None, where: str) -> Iterator[Problem]:
    unknown = [name for name in salts or {} if name not in load_salts()]
    yield from (_choice(f"{where}.{name}", name, list(load_salts())) for name in unknown)
    if not salts or unknown:
        if salts == {}:
            yield Problem(where, "the stock is empty", "at least one salt", "write the grams of each salt per litre")
        return
    ions = composition_mmol_l(salts)
    partners = [ion for ion in ("SO4", *PHOSPHATES) if ions.get(ion, 0.0) > 0]
    if ions.get("Ca", 0.0) > 0 and partners:
        yield Problem(
            where,
            "calcium stands in one concentrate with sulfate or phosphate: gypsum or calcium phosphate would settle out",
            "calcium salts in one stock, sulfates and phosphates in the other",
            "move the calcium salt, or the sulfates and phosphates, to the other stock",
        )


def _stocks_reach(plan: Plan) -> Iterator[Problem]:
    solution = plan.solution
    salts = {**(solution.stock_a or {}), **(solution.stock_b or {})}
    known = _known(solution.source_ec_ms_cm, solution.ec_low_ms_cm, solution.ec_high_ms_cm, *salts.values())
    if not known or not solution.stock_a or not solution.stock_b or any(name not in load_salts() for name in salts):
        return
    if not solution.source_ec_ms_cm < solution.ec_low_ms_cm < solution.ec_high_ms_cm:
        return
    stock_a, stock_b = composition_mmol_l(solution.stock_a), composition_mmol_l(solution.stock_b)
    source = source_water_from_ec(solution.source_ec_ms_cm)
    try:
        strength_for_ec(solution.target_ec_ms_cm, stock_a, stock_b, source)
    except ValueError as error:
        fix = "make the stocks stronger (100 times the working strength is common) or lower the band"
        yield Problem("solution", str(error), "a band that the two stocks reach", fix)


def _dates(plan: Plan) -> Iterator[Problem]:
    crop, field_planting = plan.crop, plan.goal.field_planting
    if not _known(crop.planting, crop.harvest):
        return
    if crop.harvest <= crop.planting:
        yield Problem(
            "crop.planting",
            f"planting on {crop.planting} comes after harvest on {crop.harvest}",
            "planting before harvest; eight to nine months between them are common",
            "correct one of the two dates",
        )
        return
    yield from _calendar(plan)
    if _known(field_planting) and field_planting <= crop.harvest:
        yield Problem(
            "goal.field_planting",
            f"the field is planted on {field_planting}, before the pots are lifted on {crop.harvest}",
            "a date after crop.harvest",
            "correct one of the two dates",
        )


def _calendar(plan: Plan) -> Iterator[Problem]:
    crop = plan.crop
    days = (crop.harvest - crop.planting).days
    if not 60 <= days <= 365:
        yield Problem(
            "crop.harvest",
            f"{days} days lie between planting and harvest",
            "60 to 365 days",
            "correct one of the two dates",
        )
        return
    order: tuple[tuple[str, int | None], ...] = (
        ("emergence", crop.emergence_d),
        ("half_cover", crop.half_cover_d),
        ("harvest less dry_down", None if crop.dry_down_d is None else days - crop.dry_down_d),
    )
    for (early, first), (late, second) in pairwise(order):
        if first is not None and second is not None and first >= second:
            yield Problem(
                f"crop.{early}",
                f"day {first} is not before day {second} ({late})",
                "emergence, half cover, end of supply in this order",
                "correct the days or the dates",
            )


def _names(plan: Plan) -> Iterator[Problem]:
    names = [bank.name for bank in plan.banks or () if bank.name is not None]
    for name in sorted({name for name in names if names.count(name) > 1 or not name.strip() or name == "tank"}):
        yield Problem(
            "banks",
            f"the name {name!r} cannot tell banks apart",
            "a name for each bank that no other bank has, and not 'tank'",
            "rename one of them",
        )


def _weather_file(plan: Plan, folder: Path | None) -> list[Problem]:
    if folder is None or plan.site is None or not _known(plan.site.weather):
        return []
    path = folder / plan.site.weather
    if path.is_file():
        return []
    what = f"there is no file {plan.site.weather!r} in the season's folder"
    allowed = "a CSV with named columns, a TMY3, an EPW or a GHCN-Daily file"
    return [Problem("site.weather", what, allowed, "copy your weather file there, or correct its name")]


def _choice(where: str, value: str, known: list[str]) -> Problem:
    near = get_close_matches(value, known, n=1, cutoff=0.4)
    fix = f"did you mean {near[0]!r}?" if near else "choose one of those"
    return Problem(where, f"{value!r} is not known", ", ".join(known), fix)


def _cm(value_m: float) -> str:
    return show(value_m, "depth")


def _mm(value_m: float) -> str:
    return show(value_m, "bore")
