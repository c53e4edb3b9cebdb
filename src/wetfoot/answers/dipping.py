"""The hot-water dip of seed pieces: what reaches the core, whether it kills, how the pieces cool the bath."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from wetfoot import __version__
from wetfoot.answers.trace import Answer, Number, State
from wetfoot.errors import Problem, WetfootError
from wetfoot.quantities import System, number_text, parse, show
from wetfoot.stock.dip import (
    DIFFUSIVITY_M2_S,
    DIFFUSIVITY_SPREAD,
    LONGEST_MIN,
    NEMATODE_LETHAL_MIN,
    Z_C,
    Array,
    bath_after_loading_c,
    dip,
    minutes_needed,
    temperature_c,
)

HEAT_SOURCE = "round piece in a bath, series of J0 (Carslaw & Jaeger 1959, 7.6); heat moves as in water-like tissue"
DEATH_SOURCE = (
    "99 % of eggs of Meloidogyne javanica in 8.3 min at 49 °C and 27.0 min at 48 °C (study on Allium hookeri, 2017, "
    "abstract); log-linear death time (Bigelow 1921)"
)
MIX_SOURCE = "heat balance of water and cold pieces, unheated"
Z_SPREAD_C = (1.5, 2.5)  # about the two published points' 1.95; a guess without a source
MOST_LOAD = 0.6


@dataclass(frozen=True)
class DipWish:
    """What a person asks of a dip.

    Attributes:
        diameter_m: thickness of the pieces; ``spread`` is how much thicker the thickest are, as a fraction.
        bath_c: temperature to which the bath is set.
        minutes: how long.
        load: part of the full vessel's volume that the pieces take.
        piece_c: temperature of the pieces before.
    """

    diameter_m: float = 0.03
    spread: float = 0.15
    bath_c: float = 50.0
    minutes: float = 10.0
    load: float = 0.1
    piece_c: float = 25.0


@dataclass(frozen=True)
class Dipping:
    """What a dip does.

    Attributes:
        wish: what was asked.
        cooled_c: what the bath falls to if it is not heated.
        minutes: of the courses, shape (points,).
        held_c: core with the bath held at its temperature, shape (3, points): slowest, expected, fastest.
        left_c: core with the bath as the load cooled it, expected, shape (points,).
        needed_min: minutes for the lethal dose with the bath held: fastest, expected, slowest; infinity beyond 4 hours.
        answer: question, verdict, numbers.
    """

    wish: DipWish
    cooled_c: float
    minutes: Array
    held_c: Array
    left_c: Array
    needed_min: tuple[float, float, float]
    answer: Answer

    def record(self, system: System = "metric") -> dict[str, Any]:
        """Return the dip for machines."""
        trace = {"wish": vars(self.wish), "wetfoot": __version__}
        course = {"minutes": self.minutes[::4].tolist(), "core_c": self.held_c[:, ::4].round(3).tolist()}
        answer = {**self.answer.record(system), "course": course}
        return {"answer": answer, "units": system, "trace": trace, "warnings": list(self.answer.warnings)}


def dip_wish(diameter: str, spread: str, bath: str, minutes: str, load: str, piece: str) -> DipWish:
    """Return what a person typed as a wish.

    Raises:
        WetfootError: with everything that cannot be read.
    """
    kinds = {"diameter": "depth", "spread": "fraction", "bath": "temperature", "load": "fraction",
             "piece": "temperature"}  # fmt: skip
    typed = {"diameter": diameter, "spread": spread, "bath": bath, "load": load, "piece": piece}
    problems: list[Problem] = []
    read: dict[str, float] = {}
    for name, kind in kinds.items():
        try:
            read[name] = parse(typed[name], kind, name)
        except WetfootError as refused:
            problems += refused.problems
    try:
        read["minutes"] = float(minutes)
    except ValueError:
        problems.append(Problem("minutes", f"{minutes!r} is not a number", "minutes, such as 10", "correct it"))
    if problems:
        raise WetfootError(problems)
    return DipWish(read["diameter"], read["spread"], read["bath"], read["minutes"], read["load"], read["piece"])


def dipping(wish: DipWish, system: System = "metric") -> Dipping:
    """Return what a dip does at the core of the pieces, how sure that is, and how long it would have to be.

    The range goes over thicker and thinner pieces, the speed of heat in tissue, and the slope of the death times.

    Raises:
        WetfootError: with everything in the wish that cannot be.
    """
    _checked(wish)
    radius = wish.diameter_m / 2.0
    cooled = bath_after_loading_c(wish.bath_c, wish.piece_c, wish.load)
    thick, thin = radius * (1.0 + wish.spread), radius * (1.0 - wish.spread)
    cases = ((thick, DIFFUSIVITY_SPREAD[0]), (radius, DIFFUSIVITY_M2_S), (thin, DIFFUSIVITY_SPREAD[1]))
    core = [float(temperature_c(r, wish.minutes, wish.bath_c, wish.piece_c, None, a)) for r, a in cases]
    doses, needed = _doses(wish, cases, wish.bath_c), _needed(wish, cases, wish.bath_c)
    left = _doses(wish, cases, cooled)
    longest = min(max(1.5 * wish.minutes, min(1.2 * needed[1], 3.0 * wish.minutes + 10.0)), LONGEST_MIN)
    times = np.linspace(0.0, longest, 161)
    courses = np.array([temperature_c(r, times, wish.bath_c, wish.piece_c, None, a) for r, a in cases])
    left_course = temperature_c(radius, times, cooled, wish.piece_c)
    needed_left = minutes_needed(radius, cooled, wish.piece_c)
    answer = Answer(
        "Does the dip kill what sits in the core?",
        _state(doses, left),
        _words(wish, doses, left, needed, system),
        _numbers(wish, cooled, core, doses, left[1], needed, needed_left),
        _warnings(wish, cooled, system),
    )
    return Dipping(wish, cooled, times, courses, left_course, needed, answer)


def _checked(wish: DipWish) -> None:
    """Raise everything that cannot be in a wish; bounds are what the model and a kitchen can do."""
    bounds = (
        ("diameter", wish.diameter_m, 0.005, 0.1, "0.5 to 10 cm"),
        ("spread", wish.spread, 0.0, 0.5, "0 to 50 %"),
        ("bath", wish.bath_c, 40.0, 60.0, "40 to 60 °C"),
        ("minutes", wish.minutes, 1.0, LONGEST_MIN, f"1 to {LONGEST_MIN:g}"),
        ("load", wish.load, 0.0, MOST_LOAD, f"0 to {100 * MOST_LOAD:g} %"),
        ("piece", wish.piece_c, 0.0, 40.0, "0 to 40 °C"),
    )
    problems = [
        Problem(name, f"{value:g} is out of what can be reckoned", allowed, "correct it")
        for name, value, least, most, allowed in bounds
        if not least <= value <= most
    ]
    if problems:
        raise WetfootError(problems)


_Cases = tuple[tuple[float, float], ...]


def _doses(wish: DipWish, cases: _Cases, bath_c: float) -> tuple[float, float, float]:
    """Return the dose at the core in minutes at 49 C: least, expected, most."""
    found = [
        dip(r, wish.minutes, bath_c, wish.piece_c, None, a, z).lethality_min
        for r, a in cases
        for z in (Z_C, *Z_SPREAD_C)
    ]
    expected = dip(cases[1][0], wish.minutes, bath_c, wish.piece_c).lethality_min
    return round(min(found), 2), round(expected, 2), round(max(found), 2)


def _needed(wish: DipWish, cases: _Cases, bath_c: float) -> tuple[float, float, float]:
    ends = [
        minutes_needed(r, bath_c, wish.piece_c, None, a, z_c=z) for r, a in (cases[0], cases[2]) for z in Z_SPREAD_C
    ]
    middle = minutes_needed(cases[1][0], bath_c, wish.piece_c)
    return min(*ends, middle), middle, max(*ends, middle)


def _state(doses: tuple[float, float, float], left: tuple[float, float, float]) -> State:
    """Return yes only if the core of the thickest piece has its dose even in the bath that the load cooled."""
    if min(doses[0], left[0]) >= NEMATODE_LETHAL_MIN:
        return "yes"
    return "watch" if doses[1] >= NEMATODE_LETHAL_MIN else "no"


def _words(
    wish: DipWish,
    doses: tuple[float, float, float],
    left: tuple[float, float, float],
    needed: tuple[float, float, float],
    system: System,
) -> str:
    share, least, cooled_share = (100.0 * dose / NEMATODE_LETHAL_MIN for dose in (doses[1], doses[0], left[1]))
    words = (
        f"{number_text(wish.minutes)} minutes at {show(wish.bath_c, 'temperature', system)} give the core "
        f"{_share(share)} of the dose that kills 99 % of root-knot nematode eggs"
    )
    if share >= 1.0:
        words += (
            f", {_share(least)} in the worst case; {_share(cooled_share)} if the bath is left as the pieces cool it"
        )
    words += ". "
    if math.isinf(needed[1]):
        return words + "No dip at this temperature reaches the dose within four hours."
    longest = "over four hours" if math.isinf(needed[2]) else f"{needed[2]:.0f}"
    return words + f"With the bath held it takes {needed[1]:.0f} minutes, {longest} in the worst case."


def _share(percent: float) -> str:
    return "over ten times" if percent > 1000.0 else "less than 1 %" if percent < 1.0 else f"{percent:.0f} %"


def _numbers(
    wish: DipWish,
    cooled: float,
    core: list[float],
    doses: tuple[float, float, float],
    left: float,
    needed: tuple[float, float, float],
    needed_left: float,
) -> tuple[Number, ...]:
    how = f"pieces {1000 * wish.diameter_m:g} mm thick ± {100 * wish.spread:g} %, from {wish.piece_c:g} °C, bath held"
    unheated = f"bath as {100 * wish.load:g} % of cold pieces cool it"
    dose = "minutes at 49 °C that the core's course is worth"
    return (
        Number("bath after loading, unheated", cooled, f"{100 * wish.load:g} % of the volume is pieces at "
               f"{wish.piece_c:g} °C", MIX_SOURCE, kind="temperature"),
        Number("core at the end", core[1], how, HEAT_SOURCE, kind="temperature", low=core[0], high=core[2]),
        Number("dose at the core", doses[1], f"{dose}; {how}", DEATH_SOURCE, unit="min at 49 °C", low=doses[0],
               high=doses[2]),
        Number("dose at the core, bath left to cool", left, f"{dose}; {unheated}", DEATH_SOURCE, unit="min at 49 °C"),
        Number("dose that kills 99 % of eggs", NEMATODE_LETHAL_MIN, "as published", DEATH_SOURCE,
               unit="min at 49 °C"),
        Number("minutes needed, bath held", needed[1], f"until the core has that dose; {how}", DEATH_SOURCE,
               unit="min", low=needed[0], high=needed[2]),
        Number("minutes needed, bath left to cool", needed_left, f"until the core has that dose; {unheated}",
               DEATH_SOURCE, unit="min"),
    )  # fmt: skip


def _warnings(wish: DipWish, cooled: float, system: System) -> tuple[str, ...]:
    found = [
        "Try it on a few pieces first, about 20, and wait until they sprout: how much heat this crop bears beyond "
        "10 minutes at 50 °C is not published.",
        "Hot water scalds: gloves, a basket with a handle, nobody alone. The dose rate grows tenfold with every "
        f"{Z_C:.1f} degrees, so read a thermometer that you have checked.",
        "The death times are of nematode eggs of another crop at two temperatures only. A thermometer stuck into a "
        "thick piece decides, not this. Neither bacterial wilt nor virus is cured by such a dip.",
    ]
    if wish.bath_c - cooled > 0.5:
        falls = show(cooled, "temperature", system)
        found.insert(0, f"The pieces cool the bath to {falls}: bring it back to its temperature, then start the clock; "
                     "or put in less at once.")  # fmt: skip
    return tuple(found)
