"""Does the medium wet to the top, and breathe: the wicking limit, the air, the best set level, and what would help."""

from __future__ import annotations

from dataclasses import dataclass

from wetfoot.answers.trace import Answer, Number, State
from wetfoot.answers.wetting import wetting_numbers
from wetfoot.plan.media import media_of
from wetfoot.plan.model import Nest, Plan
from wetfoot.quantities import System, convert, number_text, show
from wetfoot.water.air_space import Rest, rest
from wetfoot.water.medium import as_wetted
from wetfoot.water.set_level import (
    LevelChoice,
    Remedy,
    Window,
    Wishes,
    level_choices,
    recommended_window,
    what_would_help,
)
from wetfoot.water.wicking import LIMIT_KPA, Span, suction_span_kpa, uptake_span_l_d

SOURCE = (
    "steady upward flow through the ring round the dome (Darcy; van Genuchten 1980, Mualem 1976), roots in the top "
    "10 cm; the range is that of the medium's conductivity, a factor of three either way (estimate)"
)
REST_SOURCE = "water at rest above the level, by the medium's retention curve (van Genuchten 1980), closed form"
LEAST_AIR = 0.10


@dataclass(frozen=True)
class Wicking:
    """A nest's verdict, its table of set levels, and the window of levels that do."""

    answer: Answer
    choices: tuple[LevelChoice, ...]
    window: Window | None


def wicking(plan: Plan, name: str, draw_l_d: float) -> Wicking:
    """Return whether the medium of a nest wets to the top at a pot's highest draw, and breathes."""
    nest = plan.nests[name]
    shape, medium, history = nest.shape, media_of(plan)[nest.medium], nest.wetting
    wishes = Wishes(draw_l_d, least_air=LEAST_AIR)
    limit = uptake_span_l_d(shape, medium, nest.set_level_m, history)
    suction = suction_span_kpa(shape, medium, nest.set_level_m, draw_l_d, history)
    air = rest(shape, as_wetted(medium, history), nest.set_level_m)
    choices = level_choices(shape, medium, nest.overflow_height_m, history)
    window = recommended_window(choices, wishes)
    state = _state(limit, air, draw_l_d)
    remedies = () if state == "yes" else what_would_help(shape, medium, nest.set_level_m, history, wishes)
    answer = Answer(
        f"Does the medium of nest {name} wet to the top, and breathe?",
        state,
        _words(plan, nest, limit, draw_l_d, air, window, remedies),
        (*_numbers(limit, suction, air), *wetting_numbers(plan, name, draw_l_d)),
    )
    return Wicking(answer, choices, window)


def _state(limit: Span, air: Rest, draw_l_d: float) -> State:
    if limit.middle < draw_l_d or air.mean_air_above < LEAST_AIR / 2.0:
        return "no"
    return "watch" if limit.low < draw_l_d or air.mean_air_above < LEAST_AIR else "yes"


def _words(
    plan: Plan, nest: Nest, limit: Span, draw: float, air: Rest, window: Window | None, remedies: tuple[Remedy, ...]
) -> str:
    system = plan.units
    most = f"{show(limit.middle, 'volume', system)} ({_bare(limit.low, system)} to {_bare(limit.high, system)})"
    drawn = show(draw, "volume", system)
    start = f"At most {most} a day can rise to the roots; a pot draws {drawn} on its thirstiest day."

    if limit.middle < draw:
        start += " The top dries on such days, and once dry it wets badly: growth stops first, then leaves wilt."
    elif limit.low < draw:
        start += " If the medium conducts at the low end of what is known, the top dries on such days."
    air_words = f"Air above the water line is {number_text(100 * air.mean_air_above, 2)} % of the medium."
    if air.mean_air_above < LEAST_AIR:
        air_words += " Roots want about 10 %: they rot in wet weeks."
    if window is None:
        fits = "No level below the overflow is sure both to wick and to leave air."
    else:
        fits = f"Levels that do both: {show(window.low_m, 'depth', system)} to {show(window.high_m, 'depth', system)}."
    helps = [f"{remedy.what}: {show(remedy.uptake_l_d.middle, 'volume', system)} a day" for remedy in remedies]
    history = "" if nest.wetting == "wetted from above once" else f" The medium is said to be {nest.wetting}."
    return f"{start}{history} {air_words} {fits}" + (f" What would help: {'; '.join(helps)}." if helps else "")


def _bare(litres: float, system: System) -> str:
    return number_text(float(convert(litres, "volume", system)))


def _numbers(limit: Span, suction: Span, air: Rest) -> tuple[Number, ...]:
    top = "suction at the top of the medium on the thirstiest day, mean of the day"
    return (
        Number("largest daily rise by wicking", limit.middle, f"uptake at which the top reaches {LIMIT_KPA:g} kPa",
               SOURCE, kind="volume", low=limit.low, high=limit.high),
        Number("suction at the top", suction.middle, top, SOURCE, kind="suction", low=suction.low, high=suction.high),
        Number("air above the water line", air.mean_air_above, "mean over the medium above the level, at rest",
               REST_SOURCE, kind="fraction"),
        Number("air at the top", air.top_air, "at rest", REST_SOURCE, kind="fraction"),
        Number("water in the medium", air.water_l, "at rest, with what is below the level", REST_SOURCE, kind="volume"),
    )  # fmt: skip


def level_rows(plan: Plan, found: Wicking) -> list[list[str]]:
    """Return the table of set levels as rows: level, air, store, wicking with its range, room, and whether it does."""
    system = plan.units
    return [
        [
            show(choice.level_m, "depth", system),
            show(choice.mean_air, "fraction", system),
            show(choice.store_l, "volume", system),
            f"{show(choice.uptake_l_d.middle, 'volume', system)} "
            f"({_bare(choice.uptake_l_d.low, system)} to {_bare(choice.uptake_l_d.high, system)})",
            show(choice.room_l, "volume", system),
            "yes" if found.window and found.window.low_m <= choice.level_m <= found.window.high_m else "no",
        ]
        for choice in found.choices
    ]
