"""Which level suits a nest: air, store, wicking and room to the overflow at each level, and what would help."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import floor
from typing import NamedTuple

from wetfoot.water.air_space import ROOTS_WANT_AIR, mean_air_above
from wetfoot.water.medium import Medium, WettingHistory, as_wetted, load_media
from wetfoot.water.nest import Frustum, NestShape, free_solution_l, medium_water_l
from wetfoot.water.wicking import LIMIT_KPA, ROOT_DEPTH_M, Span, uptake_span_l_d

HISTORY_THAT_WICKS: WettingHistory = "wetted from above once"
LEVEL_STEP_M = 0.01
MORE_LEVEL_M = 0.03
SMALLER_DOME = 2.0 / 3.0
ROOTED = "peat with roots"  # what a mix becomes; nobody can fill a pot with it


class LevelChoice(NamedTuple):
    """A nest at one level.

    Attributes:
        level_m: the level.
        mean_air: air in the medium above the water line at rest, as a fraction of that medium.
        store_l: free solution and water in the medium.
        uptake_l_d: largest steady uptake that can wick up, with its range.
        room_l: what the nest takes until the overflow runs.
    """

    level_m: float
    mean_air: float
    store_l: float
    uptake_l_d: Span
    room_l: float


class Wishes(NamedTuple):
    """What a level must give.

    Attributes:
        peak_draw_l_d: what a pot draws on its thirstiest day.
        safety: the middle estimate of the wicking limit must be this many times the draw. The default covers the
            whole range of the library's conductivities, so that their least is enough.
        least_air: mean air above the water line (volume fraction; common practice, no source).
        limit_kpa: suction at the top that the crop should not see.
        root_depth_m: depth of the roots from the top of the medium.
    """

    peak_draw_l_d: float
    safety: float = 3.0
    least_air: float = ROOTS_WANT_AIR
    limit_kpa: float = LIMIT_KPA
    root_depth_m: float = ROOT_DEPTH_M

    def wicks(self, uptake_l_d: float) -> bool:
        """Whether a wicking limit is enough."""
        return uptake_l_d >= self.safety * self.peak_draw_l_d


class Window(NamedTuple):
    """The levels of a table that give all that is wished, from the lowest to the highest."""

    low_m: float
    high_m: float


class Remedy(NamedTuple):
    """One thing that may be changed, the wicking limit and mean air it leads to, and whether both are then enough."""

    what: str
    uptake_l_d: Span
    mean_air: float
    enough: bool


def level_choices(
    nest: NestShape,
    medium: Medium,
    overflow_m: float,
    history: WettingHistory,
    levels_m: Sequence[float] | None = None,
    limit_kpa: float = LIMIT_KPA,
    root_depth_m: float = ROOT_DEPTH_M,
) -> tuple[LevelChoice, ...]:
    """Return the nest at a series of levels, by default each centimetre from 1 cm to the overflow.

    Raises:
        ValueError: an overflow or a level outside the medium, or a level above the overflow.
        RuntimeError: no convergence (see `largest_uptake_l_d`).
    """
    if not 0.0 < overflow_m <= nest.basin.height_m:
        raise ValueError(
            f"overflow_m must be above 0 and at most the basin's {nest.basin.height_m} m, not {overflow_m}"
        )
    levels = _every_centimetre(min(overflow_m, nest.fill_height_m - 1e-3)) if levels_m is None else levels_m
    for level in levels:
        if not 0.0 <= level <= overflow_m:
            raise ValueError(f"levels_m must be from 0 to the overflow at {overflow_m} m, not {level}")
    wetted = as_wetted(medium, history)
    full = _store_l(nest, wetted, overflow_m)
    return tuple(
        LevelChoice(
            level,
            mean_air_above(nest, wetted, level),
            store := _store_l(nest, wetted, level),
            uptake_span_l_d(nest, medium, level, history, limit_kpa, root_depth_m),
            full - store,
        )
        for level in levels
    )


def recommended_window(choices: Sequence[LevelChoice], wishes: Wishes) -> Window | None:
    """Return the longest run of levels that wick and breathe enough, None where no level does both.

    Enough is: middle estimate of the wicking limit >= safety x peak draw, and mean air above the water line >= least
    air. More level wicks more and leaves less air, so there is one run at most but for the step at a dome's crown.
    """
    runs: list[list[float]] = [[]]
    for choice in sorted(choices):
        if wishes.wicks(choice.uptake_l_d.middle) and choice.mean_air >= wishes.least_air:
            runs[-1].append(choice.level_m)
        elif runs[-1]:
            runs.append([])
    longest = max(runs, key=lambda run: run[-1] - run[0] if run else -1.0)
    return Window(longest[0], longest[-1]) if longest else None


def what_would_help(
    nest: NestShape,
    medium: Medium,
    level_m: float,
    history: WettingHistory,
    wishes: Wishes,
    finer: Sequence[Medium] | None = None,
) -> tuple[Remedy, ...]:
    """Return what single changes would do to the wicking limit: more level, one top watering, finer mix, less dome.

    Of the finer media (by default the library's) it is the mildest that is enough, or else the one that wicks most;
    none is named where none wicks more. What does not apply (no dome, wetted already, no depth left) is left out.

    Raises:
        ValueError, RuntimeError: as `largest_uptake_l_d`.
    """
    cases = _changes(nest, medium, level_m, history)
    remedies = [_remedy(what, *case, wishes) for what, case in cases]
    now = _remedy("", nest, medium, level_m, history, wishes)
    pool = finer if finer is not None else [m for name, m in load_media().items() if name != ROOTED]
    others = [_remedy(f"medium: {other.name}", nest, other, level_m, history, wishes) for other in pool]
    better = sorted(
        (o for o in others if o.uptake_l_d.middle > now.uptake_l_d.middle), key=lambda o: o.uptake_l_d.middle
    )
    if better:
        remedies.append(next((one for one in better if one.enough), better[-1]))
    return tuple(remedies)


def _changes(
    nest: NestShape, medium: Medium, level_m: float, history: WettingHistory
) -> Iterator[tuple[str, tuple[NestShape, Medium, float, WettingHistory]]]:
    """Yield each change that applies, in words, with the nest, medium, level and history after it."""
    higher = level_m + MORE_LEVEL_M
    if higher < min(nest.fill_height_m, nest.basin.height_m):
        yield f"level {MORE_LEVEL_M * 100:.0f} cm higher", (nest, medium, higher, history)
    if history != HISTORY_THAT_WICKS:
        yield "one thorough watering from above", (nest, medium, level_m, HISTORY_THAT_WICKS)
    if nest.dome is not None:
        smaller = Frustum(*(SMALLER_DOME * size for size in nest.dome))
        yield "a dome two thirds the size", (nest._replace(dome=smaller), medium, level_m, history)
        yield "no dome", (nest._replace(dome=None), medium, level_m, history)


def _remedy(
    what: str, nest: NestShape, medium: Medium, level_m: float, history: WettingHistory, wishes: Wishes
) -> Remedy:
    span = uptake_span_l_d(nest, medium, level_m, history, wishes.limit_kpa, wishes.root_depth_m)
    air = mean_air_above(nest, as_wetted(medium, history), level_m)
    return Remedy(what, span, air, wishes.wicks(span.middle) and air >= wishes.least_air)


def _store_l(nest: NestShape, wetted: Medium, level_m: float) -> float:
    return float(free_solution_l(nest, level_m)) + medium_water_l(nest, wetted, level_m)


def _every_centimetre(highest_m: float) -> list[float]:
    steps = floor(highest_m / LEVEL_STEP_M + 1e-9)
    return [round(LEVEL_STEP_M * step, 6) for step in range(1, steps + 1)]
