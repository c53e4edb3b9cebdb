"""Does the water hold: level, sag, tank and overflow through the season."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from wetfoot.answers.trace import Answer, Number, State, worst
from wetfoot.errors import refuse
from wetfoot.plan.model import Plan
from wetfoot.quantities import number_text, show
from wetfoot.season.bench import tank_head_m
from wetfoot.season.bench_lines import lines_of, supply_of
from wetfoot.season.drivers import demand_share
from wetfoot.season.ensemble import Ensemble
from wetfoot.water.bench_parts import BankLines, Supply
from wetfoot.water.network import BankLevels, BenchLevels, NotConvergedError, bench_levels
from wetfoot.water.shims import Change, level_changes, shims
from wetfoot.water.valve import closing_shift_m_per_m

Array = NDArray[np.float64]

SEASON_SOURCE = "season simulation in hourly steps; FAO-56 evapotranspiration (Allen et al. 1998) and crop coefficients"
SPREAD = "8 runs in 10; spread of water use, rain catch and salt uptake from estimates"
NETWORK = (
    "network of tank, valves, lateral and microtubes (laminar below Re 2000, else Darcy-Weisbach with Churchill 1977; "
    "float opening over lever ratio times a quarter of the seat, an estimate)"
)
SHIM_TOLERANCE = 0.1  # of the set level: what shims are to bring every pot within
LEVEL_TOLERANCE = 0.2  # of the set level: beyond this a pot is drowned or starved of its foot (common practice)


def peak_hour_l_h(draw_l_d: float) -> float:
    """Return the draw in the thirstiest hour of a day."""
    share = demand_share()
    return draw_l_d * float(share.max()) * len(share) / 24.0


class PeakBench(NamedTuple):
    """The bench's lines and tank, and what a pot of each bank draws in the thirstiest hour, in litres an hour."""

    banks: tuple[BankLines, ...]
    supply: Supply
    draws_l_h: list[float]


def peak_bench(plan: Plan, ensemble: Ensemble) -> PeakBench:
    """Return the bench as the network solver wants it, at the thirstiest hour."""
    draws = [peak_hour_l_h(peak_draw_l_d(ensemble, bank)) for bank in range(len(plan.banks))]
    return PeakBench(lines_of(plan), supply_of(plan), draws)


def peak_levels(peak: PeakBench) -> BenchLevels:
    """Return the level in every pot at the thirstiest hour, from the whole network of tank, valves and tubes.

    Raises:
        WetfootError: if the network cannot be solved, with the state that was reached.
    """
    try:
        return bench_levels(*peak)
    except NotConvergedError as error:
        fix = "check bores, lengths and heights for a slip of units"
        raise refuse(
            "banks", f"the levels of this bench cannot be solved: {error}", "a bench that can flow", fix
        ) from error


def peak_draw_l_d(ensemble: Ensemble, bank: int) -> float:
    """Return what a pot draws on its thirstiest day, exceeded in one run in ten."""
    return float(np.quantile(ensemble.totals.peak_draw_l_d[:, bank], 0.9))


def water(plan: Plan, ensemble: Ensemble, levels: BenchLevels) -> tuple[Answer, ...]:
    """Return whether the water holds: the tank between visits, then the levels in each bank."""
    banks = enumerate(levels.banks)
    return (_tank(plan, ensemble), *(_bank(plan, ensemble, index, found) for index, found in banks))


def in_ten(values: Array) -> tuple[float, float, float]:
    """Return the middle of the runs, what one in ten stays below, and what one in ten goes above."""
    low, middle, high = np.quantile(values, (0.1, 0.5, 0.9))
    return float(middle), float(low), float(high)


def chance_words(values: Array) -> str:
    """Return in how many of the runs something happened at all."""
    return f"{int((values > 0).sum())} of {len(values)} runs"


def _tank(plan: Plan, ensemble: Ensemble) -> Answer:
    totals, tank = ensemble.totals, plan.tank
    used, used_low, used_high = in_ten(totals.tank_used_l)
    peak = float(np.nanmax(ensemble.draw_l.high))
    usable = tank.volume_l - tank.unusable_l
    lasts = usable / peak if peak > 0 else np.inf
    short = float((totals.tank_short_days > 0).mean())
    every = plan.visits.every_d
    state: State = "no" if short > 0.1 else "watch" if short > 0 or lasts < 1.5 * every else "yes"
    days = (
        f"a full tank lasts {number_text(lasts, 2)} days at the bench's highest draw, a visit comes every {every} days"
    )
    ends = {
        "yes": "the tank holds from visit to visit with room for one that is missed by half.",
        "watch": "the tank just holds: a late visit in hot weather lets the pots run down.",
        "no": "the tank runs dry before a visit: pots fall below their level and growth stops. "
        "A larger tank or shorter visits are needed.",
    }
    return Answer(
        "Does the tank hold from visit to visit?",
        state,
        f"In {chance_words(totals.tank_short_days)} the tank ran out; {days}: {ends[state]}",
        (
            Number("days that a full tank lasts", lasts, "usable volume over the bench's highest daily draw "
                   "(exceeded on one run in ten)", SEASON_SOURCE, unit="days"),
            Number("highest draw of the bench", peak, "largest daily flow from the tank, exceeded in one run in ten",
                   SEASON_SOURCE + "; " + SPREAD, kind="volume"),
            Number("solution drawn in the season", used, "sum over all banks", SEASON_SOURCE + "; " + SPREAD,
                   kind="volume", low=used_low, high=used_high),
        ),
    )  # fmt: skip


def _bank(plan: Plan, ensemble: Ensemble, index: int, levels: BankLevels) -> Answer:
    bank, totals = plan.banks[index], ensemble.totals
    level = plan.nests[bank.nest].set_level_m
    lowest, low, high = in_ten(totals.lowest_level_m[:, index])
    spill, spill_low, spill_high = in_ten(totals.overflow_l[:, index])
    stress = float((totals.stress_days[:, index] > 0).mean())
    shallow, deep = int(levels.depth_m.argmin()), int(levels.depth_m.argmax())
    off = float(np.abs(levels.depth_m - level).max()) / level
    states: list[State] = ["no" if stress > 0.1 else "watch" if stress > 0 else "yes"]
    bad = bool(levels.dry.any()) or bool((levels.overflow_l_h > 0).any())
    states.append("no" if bad else "watch" if off > LEVEL_TOLERANCE else "yes")
    sag = levels.float_sag_m + levels.lateral_loss_m[-1] + levels.microtube_loss_m[-1]
    shift = closing_shift_m_per_m(bank.valve_seat_m, bank.float_diameter_m, bank.lever_ratio)

    def depth(name: str, value: float, how: str) -> Number:
        return Number(name, value, f"{how}, at the thirstiest hour", NETWORK, kind="depth")

    return Answer(
        f"Does every pot of bank {bank.name} keep its level?",
        worst(states),
        _bank_words(plan, levels, level, chance_words(totals.stress_days[:, index])),
        (
            Number("draw of a pot on its thirstiest day", peak_draw_l_d(ensemble, index), "transpiration and "
                   "evaporation, exceeded in one run in ten", SEASON_SOURCE, kind="volume"),
            Number("lowest level of the mean pot", lowest, "lowest hour while the supply is open",
                   SEASON_SOURCE + "; " + SPREAD, kind="depth", low=low, high=high),
            depth("depth in the near pot", float(levels.depth_m[0]), "first pot from the sump"),
            depth("depth in the far pot", float(levels.depth_m[-1]), "last pot from the sump"),
            depth("depth in the shallowest pot", float(levels.depth_m[shallow]), f"pot {shallow + 1} from the sump"),
            depth("depth in the deepest pot", float(levels.depth_m[deep]), f"pot {deep + 1} from the sump"),
            Number("sag in float, lateral and microtube", float(sag), "at the far pot, at the thirstiest hour",
                   NETWORK, kind="bore"),
            Number("rise of level from full to empty tank", shift * plan.tank.water_depth_m, "seat area over float "
                   "area and lever ratio, times the tank's water depth", "balance of forces on the float", kind="bore"),
            Number("least head on the valve", tank_head_m(plan, bank, plan.tank.unusable_l), "water left in the tank "
                   "above the sump's level", "plan", kind="distance"),
            Number("spilled per pot in the season", spill, "rain above the overflow", SEASON_SOURCE + "; " + SPREAD,
                   kind="volume", low=spill_low, high=spill_high),
        ),
    )  # fmt: skip


def _bank_words(plan: Plan, levels: BankLevels, level_m: float, dry_runs: str) -> str:
    system = plan.units
    low, high = float(levels.depth_m.min()), float(levels.depth_m.max())
    words = (
        f"At the thirstiest hour pots stand in {show(low, 'depth', system)} to {show(high, 'depth', system)} of "
        f"solution; the float is set to {show(level_m, 'depth', system)}. In {dry_runs} a pot could not drink its fill."
    )
    dry, over = np.flatnonzero(levels.dry) + 1, np.flatnonzero(levels.overflow_l_h > 0) + 1
    if dry.size:
        words += f" Too little water reaches pot {_listed(dry)}: growth stops there on hot days."
    if over.size:
        words += f" Feed runs out of pot {_listed(over)} all day."
    return words


def _listed(pots: NDArray[np.int_]) -> str:
    named = ", ".join(str(pot) for pot in pots[:8])
    return f"{named} and {pots.size - 8} more" if pots.size > 8 else named


def shim_words(plan: Plan, peak: PeakBench) -> tuple[str, ...]:
    """Return which pots to raise or lower so that every one is within a tenth of its level, for banks that need it."""
    least = min(nest.set_level_m for nest in plan.nests.values())
    try:
        found = shims(*peak, SHIM_TOLERANCE * least)
    except ValueError:
        return ("Shims alone cannot bring every pot near its level: level the boards first.",)
    words = []
    for bank, raised in zip(plan.banks, found.raise_m, strict=True):
        moved = [f"pot {pot + 1} by {_moved(plan, raised[pot])}" for pot in np.flatnonzero(raised)]
        if moved:
            more = f" and {len(moved) - 12} more" if len(moved) > 12 else ""
            words.append(f"Bank {bank.name}: move {', '.join(moved[:12])}{more}.")
    return tuple(words)


def _moved(plan: Plan, height_m: float) -> str:
    return f"{show(abs(float(height_m)), 'bore', plan.units)} {'up' if height_m > 0 else 'down'}"


def changes(peak: PeakBench, bank: int) -> tuple[Change, ...]:
    """Return what single changes do to the levels of a bank: a board out of level, other bores, a half-full tank."""
    return level_changes(*peak, bank)
