"""Does the water hold: level, sag, tank and overflow through the season."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from wetfoot.answers.trace import Answer, Number, State, worst
from wetfoot.plan.model import Bank, Plan
from wetfoot.quantities import number_text, show
from wetfoot.season.bench import bank_resistance_m_h_l, tank_head_m
from wetfoot.season.drivers import demand_share
from wetfoot.season.ensemble import Ensemble
from wetfoot.water.lines import bank_loss_m_per_l_h
from wetfoot.water.valve import closing_shift_m_per_m

Array = NDArray[np.float64]

SEASON_SOURCE = "season simulation in hourly steps; FAO-56 evapotranspiration (Allen et al. 1998) and crop coefficients"
SPREAD = "8 runs in 10; spread of water use, rain catch and salt uptake from estimates"
LEVEL_TOLERANCE = 0.2  # of the set level: beyond this a pot is drowned or starved of its foot (common practice)


class PotDepths(NamedTuple):
    """Depth of solution at the thirstiest hour in the first and the last pot of a bank, and the parts of the sag."""

    near_m: float
    far_m: float
    float_sag_m: float
    lateral_sag_m: float
    microtube_sag_m: float
    board_rise_m: float
    tank_shift_m: float


def peak_hour_l_h(draw_l_d: float) -> float:
    """Return the draw in the thirstiest hour of a day."""
    share = demand_share()
    return draw_l_d * float(share.max()) * len(share) / 24.0


def pot_depths(plan: Plan, bank: Bank, draw_l_d: float) -> PotDepths:
    """Return the depth in the near and the far pot of a bank when every pot draws its thirstiest hour.

    Set level less the float's sag, the losses in lateral and microtube (laminar) and the rise of the board.
    """
    flow = peak_hour_l_h(draw_l_d)
    tubes = bank_loss_m_per_l_h(
        bank.pots, bank.lateral_bore_m, bank.lateral_length_m, bank.microtube_bore_m, bank.microtube_length_m
    )
    micro = bank_loss_m_per_l_h(1, bank.lateral_bore_m, 0.0, bank.microtube_bore_m, bank.microtube_length_m)[0]
    float_sag = (bank_resistance_m_h_l(bank, plan) - float(tubes.mean())) * flow
    level, rise = plan.nests[bank.nest].set_level_m, bank.board_slope * bank.lateral_length_m
    shift = closing_shift_m_per_m(bank.valve_seat_m, bank.float_diameter_m, bank.lever_ratio)
    return PotDepths(
        near_m=level - float_sag - float(tubes[0]) * flow,
        far_m=level - float_sag - float(tubes[-1]) * flow - rise,
        float_sag_m=float_sag,
        lateral_sag_m=float(tubes[-1] - micro) * flow,
        microtube_sag_m=float(micro) * flow,
        board_rise_m=rise,
        tank_shift_m=shift * plan.tank.water_depth_m,
    )


def peak_draw_l_d(ensemble: Ensemble, bank: int) -> float:
    """Return what a pot draws on its thirstiest day, exceeded in one run in ten."""
    return float(np.quantile(ensemble.totals.peak_draw_l_d[:, bank], 0.9))


def water(plan: Plan, ensemble: Ensemble) -> tuple[Answer, ...]:
    """Return whether the water holds: the tank between visits, then each bank."""
    return (_tank(plan, ensemble), *(_bank(plan, ensemble, b) for b in range(len(plan.banks))))


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


def _bank(plan: Plan, ensemble: Ensemble, index: int) -> Answer:
    bank, totals = plan.banks[index], ensemble.totals
    level = plan.nests[bank.nest].set_level_m
    draw = peak_draw_l_d(ensemble, index)
    depths = pot_depths(plan, bank, draw)
    lowest, low, high = in_ten(totals.lowest_level_m[:, index])
    stress = float((totals.stress_days[:, index] > 0).mean())
    off = max(abs(depths.far_m - level), abs(depths.near_m - level)) / level
    states: list[State] = ["no" if stress > 0.1 else "watch" if stress > 0 else "yes"]
    states.append("no" if depths.far_m <= 0 else "watch" if off > LEVEL_TOLERANCE else "yes")
    system = plan.units
    far, set_level = show(depths.far_m, "depth", system), show(level, "depth", system)
    sag = f"At the thirstiest hour the far pot stands in {far} of solution; the float is set to {set_level}"
    dry = f"in {chance_words(totals.stress_days[:, index])} a pot could not drink its fill"
    spill, spill_low, spill_high = in_ten(totals.overflow_l[:, index])
    return Answer(
        f"Does every pot of bank {bank.name} keep its level?",
        worst(states),
        f"{sag}; {dry}.",
        (
            Number("draw of a pot on its thirstiest day", draw, "transpiration and evaporation, exceeded in one run "
                   "in ten", SEASON_SOURCE, kind="volume"),
            Number("lowest level of the mean pot", lowest, "lowest hour while the supply is open",
                   SEASON_SOURCE + "; " + SPREAD, kind="depth", low=low, high=high),
            Number("depth in the near pot", depths.near_m, "set level less float sag and tube losses at the "
                   "thirstiest hour", "Hagen-Poiseuille, laminar", kind="depth"),
            Number("depth in the far pot", depths.far_m, "the same at the end of the lateral, less the board's rise",
                   "Hagen-Poiseuille, laminar", kind="depth"),
            Number("sag in float, lateral and microtube", depths.float_sag_m + depths.lateral_sag_m
                   + depths.microtube_sag_m, "at the far pot", "Hagen-Poiseuille; valve opening over lever ratio "
                   "times a quarter of the seat (estimate)", kind="bore"),
            Number("rise of level from full to empty tank", depths.tank_shift_m, "seat area over float area and lever "
                   "ratio, times the tank's water depth", "balance of forces on the float", kind="bore"),
            Number("least head on the valve", tank_head_m(plan, bank, plan.tank.unusable_l), "water left in the tank "
                   "above the sump's level", "plan", kind="distance"),
            Number("spilled per pot in the season", spill, "rain above the overflow", SEASON_SOURCE + "; " + SPREAD,
                   kind="volume", low=spill_low, high=spill_high),
        ),
    )  # fmt: skip
